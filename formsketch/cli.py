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
    formsketch template FILE ...   a true-scale template as SVG or PDF
    formsketch compare FILE ...    a design beside its variants, or a grid
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
def measure(file: Path, as_json: bool) -> None:
    """Print all numbers of the design in FILE."""
    from formsketch.evaluation.report import measurement, measurement_text

    evaluation = _evaluated(file)
    if as_json:
        click.echo(json.dumps(measurement(evaluation), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo(measurement_text(evaluation))


@commands.command()
@click.argument("file", type=_FILE)
@click.option(
    "-o", "--output", "output", type=_FILE, required=True, help="Where to write: OUT.svg or OUT.pdf."
)
def template(file: Path, output: Path) -> None:
    """Write the true-scale template of the design in FILE."""
    _require_suffix(output, ".svg", ".pdf")
    from formsketch.template.output import write_drawing
    from formsketch.template.template import template_sheets

    write_drawing(template_sheets(_evaluated(file)), output)
    click.echo(f"{output} written; print it at 100 % and measure the check bar.")


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
