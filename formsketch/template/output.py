"""Drawings to files: the kind goes by the name, and nothing is written unless all of it can be."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from formsketch.errors import FormSketchError
from formsketch.files import write_all_atomically, write_atomically
from formsketch.template.drawing import Sheet
from formsketch.template.pdf import pdf_bytes
from formsketch.template.png import png_bytes
from formsketch.template.svg import svg_text

SUFFIXES = (".svg", ".pdf", ".png")


def write_drawing(sheets: Sequence[Sheet], path: Path | str) -> None:
    """Write the sheets as SVG, PDF or PNG, whichever the name ends in; only a PDF takes more than one.

    The file is drawn in memory first. Raises `FormSketchError`, and `DrawingError` for what cannot be
    drawn; an old file then stays whole.
    """
    suffix = Path(path).suffix.lower()
    if suffix not in SUFFIXES:
        raise FormSketchError(f"{path}: expected a name that ends in .svg, .pdf or .png")
    if not sheets:
        raise FormSketchError(f"{path}: expected at least one sheet, got none")
    if suffix != ".pdf" and len(sheets) > 1:
        kind = suffix[1:].upper()
        raise FormSketchError(
            f"{path}: a {kind} file holds one sheet, got {len(sheets)}; a PDF holds them all"
        )
    write_atomically(path, _drawn(sheets, suffix))


def write_drawings(sheets: Sequence[Sheet], paths: Sequence[Path]) -> None:
    """Write each sheet to a file of its own, all of them or none. Raises as `write_drawing` does."""
    drawn = [_drawn([sheet], path.suffix.lower()) for sheet, path in zip(sheets, paths, strict=True)]
    write_all_atomically(list(zip(paths, drawn, strict=True)))


def _drawn(sheets: Sequence[Sheet], suffix: str) -> bytes:
    if suffix == ".pdf":
        return pdf_bytes(sheets)
    if suffix == ".png":
        return png_bytes(sheets[0])
    return svg_text(sheets[0]).encode("utf-8")
