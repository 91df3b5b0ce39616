"""Commands that write what is printed: template, bench card, comparison."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from formsketch.cli.shared import FILE, echo_json, evaluated, require_suffix, with_progress
from formsketch.errors import FormSketchError


@click.command()
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE ...")
@click.option(
    "-o",
    "--output",
    type=FILE,
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
@click.option(
    "--plain",
    "layers",
    help="Lines only: some of outline,centreline,marks,tubes, of the form at another stage with bent- or "
    "hammered- before them; wire-outline,wire-marks,gauges,bars.",
)
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
        require_suffix(output, ".svg", ".pdf", ".dxf", ".csv")
        outputs = [output]
    for file, target in with_progress(list(zip(designs, outputs, strict=True)), "Writing"):
        for written in write_template(evaluated(file), target, choice, names):
            drawn = written.suffix.lower() in (".svg", ".pdf") and names is None
            click.echo(
                f"{written} written{'; print it at 100 % and measure the check bar' if drawn else ''}."
            )


@click.command()
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE ...")
@click.option(
    "-o", "--output", type=FILE, required=True, help="Where to write: OUT.pdf, OUT.html, or a folder."
)
@click.option("--as", "kind", help="Into a folder: pdf (unless said otherwise) or html.")
@click.option("--paper", default="a4", help="a4, a3, letter or legal.")
def card(files: tuple[Path, ...], output: Path, kind: str | None, paper: str) -> None:
    """Write the bench card of each design in FILE ...; a folder stands for all designs in it.

    Picture at true scale, order of work with its numbers in your own way of working, boxes to tick. Into a
    folder cards are named after their designs, such as eddy-bracelet-card.pdf.
    """
    from formsketch.template.writing import (
        CARD_ENDING,
        CARD_SUFFIXES,
        batch_outputs,
        design_files,
        write_card,
    )

    designs = design_files(files)
    if output.is_dir() or len(designs) > 1 or kind is not None:
        suffix = f".{kind or 'pdf'}".lower()
        outputs = batch_outputs(designs, output, suffix, CARD_SUFFIXES, CARD_ENDING)
    else:
        require_suffix(output, *CARD_SUFFIXES)
        outputs = [output]
    for file, target in with_progress(list(zip(designs, outputs, strict=True)), "Writing"):
        write_card(evaluated(file), target, paper)
        click.echo(f"{target} written.")


@click.command()
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE ...")
@click.option("-o", "--output", "output", type=FILE, help="Where to write: OUT.svg, OUT.pdf or OUT.png.")
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
        require_suffix(output, ".svg", ".pdf", ".png")
    from formsketch.comparison.grid import grid_candidates, parse_diameters, parse_scales
    from formsketch.comparison.variants import candidates_of, comparison_data

    designs = [evaluated(file).design for file in files]
    if diameters or scales:
        if len(designs) != 1:
            raise FormSketchError(f"compare: a grid is made of one FILE, got {len(designs)}")
        candidates, columns = grid_candidates(
            designs[0], parse_diameters(diameters or ""), parse_scales(scales or "1")
        )
    else:
        several = len(designs) > 1
        candidates, columns = [c for design in designs for c in candidates_of(design, several)], 0
    for candidate in with_progress(candidates, "Evaluating"):
        _ = candidate.reason
    if output is not None:
        from formsketch.template.comparison_sheet import comparison_sheet
        from formsketch.template.output import write_drawing

        write_drawing([comparison_sheet(candidates, columns)], output)
    if as_json:
        echo_json(comparison_data(candidates))
    elif output is not None:
        click.echo(f"{output} written.")
