"""Commands without a window, and the one that opens it.

No command but the last loads Qt. A command that fails writes nothing, says why in one line, and ends
with 2 when its input was at fault.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, NoReturn, TypeVar

import click

from formsketch import __version__
from formsketch.errors import FormSketchError

_BAD_INPUT = 2
_COMMAND_HELP = {"help_option_names": ["-h", "--help"], "max_content_width": 100}
_Item = TypeVar("_Item")

_FILE = click.Path(path_type=Path)


class _OpenByDefault(click.Group):
    """`formsketch FILE` opens the window, as `formsketch open FILE` does."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if not args or (args[0] not in self.commands and not args[0].startswith("-")):
            args = ["open", *args]
        return super().parse_args(ctx, args)


@click.group(cls=_OpenByDefault, context_settings=_COMMAND_HELP)
@click.version_option(__version__, prog_name="formsketch")
def commands() -> None:
    """Draw forged wire forms, compare them with real numbers, and take a true-scale template to the bench.

    \b
    formsketch [FILE]              open the window, on FILE if given
    formsketch measure FILE        all numbers of a design
    formsketch hammer ...          the spread of your own hammer, from samples
    formsketch template FILE ...   a true-scale template as SVG, PDF or DXF
    formsketch card FILE ...       a bench card as PDF or HTML
    formsketch cutlist FILE ...    a batch cut from the lengths in the drawer
    formsketch compare FILE ...    a design beside its variants, or a grid
    formsketch price FILE          what it costs to make, at your own rates
    formsketch bays FILE           where balls and pearls fit, and how large
    formsketch fit FILE ...        made to close at a ring, wrist or other size
    formsketch check FILE ...      is it a sound design file?
    """


@commands.command("open")
@click.argument("file", type=_FILE, required=False)
def open_window(file: Path | None) -> None:
    """Open the window, on FILE if given, else on the last design or a demo."""
    from formsketch.ui import import_qt_or_explain

    import_qt_or_explain()
    from formsketch.ui.main import run

    sys.exit(run(file))


@commands.command()
@click.argument("file", type=_FILE)
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
    evaluation = _evaluated(file)
    if as_json:
        numbers = measurement(evaluation) | bench_measurement(evaluation, asked)
        click.echo(json.dumps(numbers, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo(f"{measurement_text(evaluation)}\n\n{bench_text(evaluation, asked)}")


@commands.command()
@click.option("--sample", "samples", multiple=True, metavar="D,T,W", help="Wire, thickness, width.")
@click.option("--piece", type=_FILE, metavar="FILE", help="In place of samples: a design that was made.")
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

    found = calibration_typed(samples, None if piece is None else _loaded(piece), used, finished, reads_to)
    if as_json:
        click.echo(json.dumps(calibration_data(found), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo(calibration_text(found))


@commands.command()
@click.argument("files", nargs=-1, required=True, type=_FILE, metavar="FILE ...")
@click.option(
    "-o",
    "--output",
    type=_FILE,
    required=True,
    help="Where to write: OUT.pdf, .svg, .dxf, .csv, or a folder.",
)
@click.option("--as", "kind", help="Into a folder: pdf (unless said otherwise), svg, dxf or csv.")
@click.option("--paper", help="a4, a3, letter, legal or roll; larger forms are tiled.")
@click.option("--lying", is_flag=True, help="The sheet's long side across.")
@click.option("--parts", help="Some of wire,rule,table,bent,hammered,finished,gauges.")
@click.option("--margin-mm", type=float, help="White margin of each sheet, 3 to 50 mm.")
@click.option("--overlap-mm", type=float, help="Overlap of tiles, 3 to 40 mm.")
@click.option("--bar-across-mm", type=float, help="What the 100 mm bar across measured on your printer.")
@click.option("--bar-down-mm", type=float, help="What the 100 mm bar down measured on your printer.")
@click.option("--mirrored", is_flag=True, help="Mirrored for transfer; lettering stays readable.")
@click.option("--left-handed", is_flag=True, help="The straight wire runs from right to left.")
@click.option("--truing-mm", type=float, help="Inside circumference of a round to true on.")
@click.option("--truing-aspect", type=float, help="Its height over its width, for an oval.")
@click.option("--plain", "layers", help="Lines only: some of outline,centreline,marks,tubes.")
def template(
    files: tuple[Path, ...], output: Path, kind: str | None, layers: str | None, **wanted: Any
) -> None:
    """Write the true-scale template of each design in FILE ...; a folder stands for all designs in it.

    Without options: one sheet, as small as it can be. A name in .csv gives the bends as data, .dxf plain
    geometry.
    """
    from formsketch.template.printed import choice_of
    from formsketch.template.writing import batch_outputs, design_files, write_template

    choice = choice_of(**wanted)
    names = None if layers is None else [name.strip() for name in layers.split(",")]
    designs = design_files(files)
    if output.is_dir() or len(designs) > 1 or kind is not None:
        outputs = batch_outputs(designs, output, f".{kind or 'pdf'}".lower())
    else:
        _require_suffix(output, ".svg", ".pdf", ".dxf", ".csv")
        outputs = [output]
    for file, target in _with_progress(list(zip(designs, outputs, strict=True)), "Writing"):
        for written in write_template(_evaluated(file), target, choice, names):
            drawn = written.suffix.lower() in (".svg", ".pdf") and names is None
            click.echo(
                f"{written} written{'; print it at 100 % and measure the check bar' if drawn else ''}."
            )


@commands.command()
@click.argument("file", type=_FILE)
@click.option("-o", "--output", type=_FILE, required=True, help="Where to write: OUT.pdf or OUT.html.")
@click.option("--paper", default="a4", help="a4, a3, letter or legal.")
def card(file: Path, output: Path, paper: str) -> None:
    """Write the bench card of the design in FILE: picture, order of work with its numbers, boxes to tick."""
    _require_suffix(output, ".pdf", ".html")
    from formsketch.template.writing import write_card

    write_card(_evaluated(file), output, paper)
    click.echo(f"{output} written.")


@commands.command()
@click.argument("files", nargs=-1, required=True, type=_FILE, metavar="FILE ...")
@click.option("-o", "--output", "output", type=_FILE, help="Where to write: OUT.svg, OUT.pdf or OUT.png.")
@click.option("--json", "as_json", is_flag=True, help="Print the numbers and differences as JSON.")
@click.option("--diameters", help="Wire diameters for a grid, such as '1.0,1.3' or '18 ga,16 ga'.")
@click.option("--scales", help="Scales of the form for a grid, such as '0.9,1,1.15'.")
def compare(
    files: tuple[Path, ...], output: Path | None, as_json: bool, diameters: str | None, scales: str | None
) -> None:
    """Set designs and their variants side by side at one scale, or one design in a grid.

    Without --diameters and --scales, each FILE is shown with its variants. With them, the one FILE is
    shown in every diameter and size named.
    """
    if output is None and not as_json:
        raise FormSketchError("compare: expected -o OUT.svg, OUT.pdf or OUT.png, or --json")
    if output is not None:
        _require_suffix(output, ".svg", ".pdf", ".png")
    from formsketch.comparison.grid import grid_candidates, parse_diameters, parse_scales
    from formsketch.comparison.variants import candidates_of, comparison_data

    designs = [_evaluated(file).design for file in files]
    if diameters or scales:
        if len(designs) != 1:
            raise FormSketchError(f"compare: a grid is made of one FILE, got {len(designs)}")
        candidates, columns = grid_candidates(
            designs[0], parse_diameters(diameters or ""), parse_scales(scales or "1")
        )
    else:
        several = len(designs) > 1
        candidates, columns = [c for design in designs for c in candidates_of(design, several)], 0
    for candidate in _with_progress(candidates, "Evaluating"):
        _ = candidate.reason
    if output is not None:
        from formsketch.template.comparison_sheet import comparison_sheet
        from formsketch.template.output import write_drawing

        write_drawing([comparison_sheet(candidates, columns)], output)
    if as_json:
        click.echo(json.dumps(comparison_data(candidates), ensure_ascii=False, indent=1, allow_nan=False))
    elif output is not None:
        click.echo(f"{output} written.")


@commands.command()
@click.argument("file", type=_FILE)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def price(file: Path, as_json: bool) -> None:
    """Print what the design in FILE costs to make, line by line, at your own rates.

    The rates are entered in the window, menu Bench, and kept beside your own metals, never in a design.
    """
    from datetime import date

    from formsketch.bench.rates import load_prices, rates_file
    from formsketch.evaluation.price import price_data, price_of, price_text

    evaluation, today = _evaluated(file), date.today()
    sheet = price_of(evaluation, load_prices(rates_file()), today)
    if as_json:
        data = {"title": evaluation.design.title, **price_data(sheet, today)}
        click.echo(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo(f"{evaluation.design.title or 'Untitled'}\n\n{price_text(sheet)}")


@commands.command("fit")
@click.argument("file", type=_FILE)
@click.option("--ring", metavar="SIZE", help="'US 7', 'UK N½', 'ISO 54' or 'Japan 13'.")
@click.option("--wrist", metavar="LENGTH", help="The wrist measured: a bracelet; a bare number is mm.")
@click.option("--inside", metavar="LENGTH", help="The inside round.")
@click.option("--diameter", metavar="LENGTH", help="The inside diameter.")
@click.option("--length", metavar="LENGTH", help="The length, catch included: a drop, pendant or necklace.")
@click.option("--kind", help="ring, bracelet, bangle, cuff, hoop, drop, necklace or pendant.")
@click.option("--ease", metavar="LENGTH", help="Added to the wrist: 6 to 12 snug, 12 to 25 comfortable.")
@click.option("--aspect", type=float, help="Depth of an oval over its width, 0.3 to 1.")
@click.option("--gap", metavar="LENGTH", help="Left open between the ends; less than 0 is an overlap.")
@click.option("--as-laid", is_flag=True, help="Worn as it is laid, not rolled on a mandrel.")
@click.option("--by", "way", help="Only this way: repeats, size, opening, scale or gauge.")
@click.option("--five-sizes", is_flag=True, help="Five sizes about it, as variants in what is written.")
@click.option("-o", "--output", type=_FILE, help="Write the design fitted: OUT.formsketch.json.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def fit_to_size(
    file: Path, way: str | None, five_sizes: bool, output: Path | None, as_json: bool, **asked: Any
) -> None:
    """Say how the design in FILE is made to close at a size, and write it so.

    Such as: formsketch fit FILE --wrist 170 --ease 15 --by repeats -o OUT.formsketch.json. Without a size
    the one the design carries is taken.
    """
    from formsketch.evaluation.fit_command import fitted, fitting_data, fitting_text

    answer = fitted(_evaluated(file), way, five_sizes, **asked)
    if output is not None:
        from formsketch.design.file_format import save_design

        save_design(output, answer.to_write())
    if as_json:
        click.echo(json.dumps(fitting_data(answer), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo(fitting_text(answer))
        if output is not None:
            click.echo(f"\n{output} written.")


@commands.command()
@click.argument("files", nargs=-1, required=True, type=_FILE, metavar="FILE ...")
@click.option("--each", type=int, default=1, show_default=True, help="Pieces of each FILE.")
@click.option("--drawer", required=True, help="Lengths there are, such as '1000, 500 x 3', mm.")
@click.option("--kerf-mm", type=float, default=0.5, show_default=True, help="Lost in each cut.")
@click.option("--hold-mm", type=float, default=0.0, show_default=True, help="Kept to hold at each end.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")
def cutlist(
    files: tuple[Path, ...], each: int, drawer: str, kerf_mm: float, hold_mm: float, as_json: bool
) -> None:
    """Say which piece is cut from which length in the drawer so that least wire is taken."""
    from formsketch.comparison.batch_cut import batch_cut, batch_data, batch_text, read_drawer

    lengths = read_drawer(drawer)
    cuts = batch_cut([(_evaluated(file), each) for file in files], lengths, kerf_mm, hold_mm)
    click.echo(json.dumps(batch_data(cuts), ensure_ascii=False, indent=1) if as_json else batch_text(cuts))


@commands.command()
@click.argument("file", type=_FILE)
@click.option("--clearance-mm", type=float, default=0.0, help="How far balls stay off the metal.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def bays(file: Path, clearance_mm: float, as_json: bool) -> None:
    """Print the largest ball, and the largest pair of balls, that fit in each bay of the design in FILE."""
    from formsketch.evaluation.bays import bays_data, bays_in, bays_text

    evaluation = _evaluated(file)
    found, title = bays_in(evaluation, clearance_mm), evaluation.design.title
    if as_json:
        data = bays_data(title, found, clearance_mm)
        click.echo(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo(bays_text(title, found, clearance_mm))


@commands.command()
@click.argument("files", nargs=-1, required=True, type=_FILE, metavar="FILE ...")
def check(files: tuple[Path, ...]) -> None:
    """Say whether each FILE is a sound design file; ends with 2 when one is not."""
    faults = 0
    for file in _with_progress(files, "Checking"):
        try:
            evaluation = _evaluated(file)
            stops = [caution.message for caution in evaluation.cautions if caution.weight == "stop"]
            if stops:
                raise FormSketchError(f"{file}: {stops[0]}")
        except FormSketchError as fault:
            click.echo(str(fault), err=True)
            faults += 1
        else:
            click.echo(f"{file}: sound")
    if faults:
        sys.exit(_BAD_INPUT)


def _loaded(file: Path) -> Any:
    from formsketch.design.file_format import load_design

    return load_design(file).design


def _evaluated(file: Path) -> Any:
    from formsketch.errors import DesignFileError
    from formsketch.evaluation.evaluate import UnknownMetal, evaluate

    try:
        return evaluate(_loaded(file))
    except UnknownMetal as fault:
        raise DesignFileError(str(file), fault.place, fault.expected) from None


def _require_suffix(output: Path, *suffixes: str) -> None:
    if output.suffix.lower() not in suffixes:
        wanted = " or ".join(suffixes)
        raise FormSketchError(f"{output}: expected a file name that ends in {wanted}")


def _with_progress(items: Iterable[_Item], label: str) -> Iterator[_Item]:
    """The items one by one, with a progress bar on a terminal and nothing when piped."""
    listed = list(items)
    if len(listed) < 3 or not sys.stderr.isatty():
        yield from listed
        return
    with click.progressbar(listed, label=label, file=sys.stderr) as bar:
        yield from bar


def main() -> NoReturn:
    """Entry point: errors in one line on stderr, ends with 2 for bad input."""
    try:
        commands.main(standalone_mode=False)
        sys.stdout.flush()
    except FormSketchError as fault:
        _fail(str(fault))
    except click.ClickException as fault:
        _fail(f"{fault.format_message()} Try 'formsketch --help'.")
    except click.exceptions.Abort:
        sys.exit(130)
    except BrokenPipeError:
        # The reader went away; keep Python from complaining about it on the way out.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
    sys.exit(0)


def _fail(sentence: str) -> NoReturn:
    click.echo(f"formsketch: {' '.join(sentence.split())}", err=True)
    sys.exit(_BAD_INPUT)
