"""Commands that print numbers of a design, and the one that says whether its file is sound."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from formsketch.cli.shared import BAD_INPUT, FILE, echo_json, evaluated, loaded, with_progress
from formsketch.errors import FormSketchError


@click.command()
@click.argument("file", type=FILE)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
@click.option("--coil-mm", type=float, help="Length of the coil or stock the pieces are cut from.")
@click.option("--hold-mm", type=float, help="Wire to hold at each end, trimmed off afterwards.")
@click.option("--kerf-mm", type=float, help="Wire lost per cut.")
@click.option("--pieces", type=int, help="How many pieces are made.")
def measure(file: Path, as_json: bool, **order: Any) -> None:
    """Print all numbers of the design in FILE."""
    from formsketch.evaluation.bench_report import bench_measurement, bench_text
    from formsketch.evaluation.report import measurement, measurement_text
    from formsketch.evaluation.wire_account import WireOrder

    asked = WireOrder(**{name: value for name, value in order.items() if value is not None})
    evaluation = evaluated(file)
    if as_json:
        numbers = measurement(evaluation) | bench_measurement(evaluation, asked)
        echo_json(numbers)
    else:
        click.echo(f"{measurement_text(evaluation)}\n\n{bench_text(evaluation, asked)}")


@click.command()
@click.option("--sample", "samples", multiple=True, metavar="D,T,W", help="Wire, thickness, width.")
@click.option("--piece", type=FILE, metavar="FILE", help="In place of samples: a design that was made.")
@click.option("--used", metavar="LENGTH", help="With --piece: the wire cut, both ends included.")
@click.option("--finished", metavar="LENGTH", help="With --piece: its length, finished, without the ends.")
@click.option("--reads-to", metavar="LENGTH", help="How closely you read: 0.02 mm, or 0.5 mm for a piece.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def hammer(
    samples: tuple[str, ...],
    piece: Path | None,
    used: str | None,
    finished: str | None,
    reads_to: str | None,
    as_json: bool,
) -> None:
    """Find the spread of your own hammer, with its band, from what it has hammered.

    Such as: formsketch hammer --sample 1,0.5,1.5 --sample '18 ga,0.6 mm,1.4 mm'
    """
    from formsketch.fitting.calibration_report import calibration_data, calibration_text, calibration_typed

    found = calibration_typed(samples, None if piece is None else loaded(piece), used, finished, reads_to)
    if as_json:
        echo_json(calibration_data(found))
    else:
        click.echo(calibration_text(found))


@click.command()
@click.argument("file", type=FILE)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def price(file: Path, as_json: bool) -> None:
    """Print what the design in FILE costs to make, line by line, at your own rates.

    The rates are entered in the window, menu Bench, and kept beside your own metals, never in a design.
    """
    from datetime import date

    from formsketch.bench.rates import load_prices, rates_file
    from formsketch.evaluation.price import price_data, price_of, price_text

    evaluation, today = evaluated(file), date.today()
    sheet = price_of(evaluation, load_prices(rates_file()), today)
    if as_json:
        data = {"title": evaluation.design.title, **price_data(sheet, today)}
        echo_json(data)
    else:
        click.echo(f"{evaluation.design.title or 'Untitled'}\n\n{price_text(sheet)}")


@click.command()
@click.argument("file", type=FILE)
@click.option("--clearance-mm", type=float, default=0.0, help="How far balls stay off the metal.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def bays(file: Path, clearance_mm: float, as_json: bool) -> None:
    """Print the largest ball, and the largest pair of balls, that fit in each bay of the design in FILE."""
    from formsketch.evaluation.bays import bays_data, bays_in, bays_text

    evaluation = evaluated(file)
    found, title = bays_in(evaluation, clearance_mm), evaluation.design.title
    if as_json:
        data = bays_data(title, found, clearance_mm)
        echo_json(data)
    else:
        click.echo(bays_text(title, found, clearance_mm))


@click.command()
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE ...")
def check(files: tuple[Path, ...]) -> None:
    """Say whether each FILE is a sound design file; ends with 2 when one is not."""
    faults = 0
    for file in with_progress(files, "Checking"):
        try:
            evaluation = evaluated(file)
            stops = [caution.message for caution in evaluation.cautions if caution.weight == "stop"]
            if stops:
                raise FormSketchError(f"{file}: {stops[0]}")
        except FormSketchError as fault:
            click.echo(str(fault), err=True)
            faults += 1
        else:
            click.echo(f"{file}: sound")
    if faults:
        sys.exit(BAD_INPUT)
