"""One template to a file of the kind its name says: sheets, plain geometry, or bends as data."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.files import write_atomically
from formsketch.template.drawing import Sheet
from formsketch.template.output import write_drawing, write_drawings
from formsketch.template.printed import Choice, printed_sheets
from formsketch.template.template import refuse_stopped, template_sheets

SUFFIXES = (".svg", ".pdf", ".dxf", ".csv")
CARD_SUFFIXES, CARD_ENDING = (".pdf", ".html"), "-card"
DESIGN_SUFFIX = ".formsketch.json"


def write_template(
    evaluation: Evaluation, output: Path, choice: Choice | None = None, layers: Sequence[str] | None = None
) -> list[Path]:
    """Write the template, and return the files written.

    Without a choice it is set on one sheet as small as it can be. A name in .svg takes one sheet; several
    go into numbered files beside it. `layers` asks for plain geometry; .dxf holds nothing else, .csv the
    bends in order. Raises `FormSketchError`; files are written whole or not at all.
    """
    suffix = output.suffix.lower()
    if suffix == ".csv":
        from formsketch.template.bending_data import bending_csv

        refuse_stopped(evaluation)
        write_atomically(output, bending_csv(evaluation).encode("utf-8"))
        return [output]
    if suffix == ".dxf" or layers is not None:
        return [_write_plain(evaluation, output, layers)]
    sheets = template_sheets(evaluation) if choice is None else printed_sheets(evaluation, choice)
    return write_sheets(sheets, output)


def write_sheets(sheets: Sequence[Sheet], output: Path) -> list[Path]:
    """Write all sheets, into one PDF or an SVG each, and return the files written."""
    files = sheet_files(output, len(sheets))
    if len(files) == 1:
        write_drawing(sheets, output)
    else:
        write_drawings(sheets, files)
    return files


def sheet_files(output: Path, count: int) -> list[Path]:
    """The files that so many sheets go into: numbered ones where a file holds one sheet only."""
    if count == 1 or output.suffix.lower() == ".pdf":
        return [output]
    return [output.with_name(f"{output.stem}-{at}{output.suffix}") for at in range(1, count + 1)]


def _write_plain(evaluation: Evaluation, output: Path, layers: Sequence[str] | None) -> Path:
    from formsketch.template.plain import LAYERS, dxf_text, plain_layers

    suffix = output.suffix.lower()
    if suffix not in (".svg", ".dxf"):
        raise FormSketchError(f"{output}: expected a name that ends in .svg or .dxf for plain geometry")
    refuse_stopped(evaluation)
    plain = plain_layers(evaluation, LAYERS if layers is None else layers)
    if suffix == ".dxf":
        write_atomically(output, dxf_text(plain).encode("utf-8"))
    else:
        write_drawing([plain.sheet()], output)
    return output


def write_card(evaluation: Evaluation, output: Path, paper: str = "a4") -> None:
    """Write the bench card as PDF or HTML, in the maker's own order of work. Raises `FormSketchError`."""
    from formsketch.bench.working_order import load_order

    order = load_order()
    if output.suffix.lower() == ".html":
        from formsketch.template.bench_card_html import card_html

        write_atomically(output, card_html(evaluation, order).encode("utf-8"))
    else:
        from formsketch.template.bench_card import card_sheets
        from formsketch.template.papers import paper_named

        write_drawing(card_sheets(evaluation, order, paper_named(paper)), output)


def design_files(files: Sequence[Path]) -> list[Path]:
    """The files named, each folder in its place as the designs in it. Raises when a folder holds none."""
    found: list[Path] = []
    for file in files:
        if not file.is_dir():
            found.append(file)
            continue
        inside = sorted(file.glob(f"*{DESIGN_SUFFIX}"))
        if not inside:
            raise FormSketchError(f"{file}: expected designs ({DESIGN_SUFFIX}) in this folder, found none")
        found += inside
    return found


def batch_outputs(
    files: Sequence[Path],
    folder: Path,
    suffix: str,
    suffixes: Sequence[str] = SUFFIXES,
    ending: str = "",
) -> list[Path]:
    """One output a design in `folder`, named after the design and `ending`.

    Raises when two would have one name, and for a suffix that is none of `suffixes`.
    """
    if suffix not in suffixes:
        raise FormSketchError(
            f"--as: expected one of {', '.join(s[1:] for s in suffixes)}, got {suffix[1:]!r}"
        )
    if not folder.is_dir():
        raise FormSketchError(f"{folder}: expected a folder to write several files into")
    outputs = [folder / f"{file.name.removesuffix(DESIGN_SUFFIX)}{ending}{suffix}" for file in files]
    if len(set(outputs)) < len(outputs):
        twice = next(output for output in outputs if outputs.count(output) > 1)
        raise FormSketchError(f"{twice}: two of the designs would be written to it; expected different names")
    return outputs
