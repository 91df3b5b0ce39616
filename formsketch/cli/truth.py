"""The command that says whether a piece is true."""

from __future__ import annotations

from pathlib import Path

import click

from formsketch.cli.shared import FILE, echo_json, evaluated


@click.command("true")
@click.argument("file", type=FILE)
@click.option(
    "--tolerance-mm", type=float, default=0.2, show_default=True, help="What still counts as equal."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def true(file: Path, tolerance_mm: float, as_json: bool) -> None:
    """Say whether the design in FILE is true: openings even, sides equal, nothing together when rolled.

    What it becomes and its size are those that the design carries.
    """
    from formsketch.evaluation.true_checks import checked_tolerance, true_checks
    from formsketch.evaluation.true_report import true_data, true_text

    checked_tolerance(tolerance_mm)
    checks = true_checks(evaluated(file))
    if as_json:
        echo_json(true_data(checks, tolerance_mm))
    else:
        click.echo(true_text(checks, tolerance_mm))
