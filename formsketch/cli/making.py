"""Commands that say how a piece is made: to a size, and cut from the lengths in the drawer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from formsketch.cli.shared import FILE, echo_json, evaluated, require_suffix


@click.command("fit")
@click.argument("file", type=FILE)
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
@click.option("-o", "--output", type=FILE, help="Write the design fitted: OUT.formsketch.json.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
def fit_to_size(
    file: Path, way: str | None, five_sizes: bool, output: Path | None, as_json: bool, **asked: Any
) -> None:
    """Say how the design in FILE is made to close at a size, and write it so.

    Such as: formsketch fit FILE --wrist 170 --ease 15 --by repeats -o OUT.formsketch.json. Without a size
    the one the design carries is taken.
    """
    from formsketch.evaluation.fit_command import fitted, fitting_data, fitting_text

    answer = fitted(evaluated(file), way, five_sizes, **asked)
    if output is not None:
        from formsketch.design.file_format import save_design

        save_design(output, answer.to_write())
    if as_json:
        echo_json(fitting_data(answer))
    else:
        click.echo(fitting_text(answer))
        if output is not None:
            click.echo(f"\n{output} written.")


@click.command()
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE ...")
@click.option(
    "--each", default="1", show_default=True, help="Pieces of each FILE, or a number for each: '3, 1'."
)
@click.option("--drawer", required=True, help="Lengths there are, such as '1000, 500 x 3', mm.")
@click.option("--kerf-mm", type=float, default=0.5, show_default=True, help="Lost in each cut.")
@click.option("--hold-mm", type=float, default=0.0, show_default=True, help="Kept to hold at each end.")
@click.option("-o", "--output", type=FILE, help="Where to write as well: OUT.csv, .txt or .pdf.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")
def cutlist(
    files: tuple[Path, ...],
    each: str,
    drawer: str,
    kerf_mm: float,
    hold_mm: float,
    output: Path | None,
    as_json: bool,
) -> None:
    """Say which piece is cut from which length in the drawer so that least wire is taken.

    A folder stands for all designs in it.
    """
    from formsketch.comparison.batch_cut import batch_cut, batch_data, batch_text, read_counts, read_drawer
    from formsketch.template.cut_list_sheet import SUFFIXES, write_cut_list
    from formsketch.template.writing import design_files

    if output is not None:
        require_suffix(output, *SUFFIXES)

    lengths, designs = read_drawer(drawer), design_files(files)
    counts = read_counts(each, len(designs))
    pieces = [(evaluated(file), count) for file, count in zip(designs, counts, strict=True)]
    cuts = batch_cut(pieces, lengths, kerf_mm, hold_mm)
    if output is not None:
        write_cut_list(cuts, output)
    if as_json:
        echo_json(batch_data(cuts))
    else:
        click.echo(batch_text(cuts))
        if output is not None:
            click.echo(f"{output} written.")
