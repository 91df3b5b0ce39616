"""What a template costs beyond starting, beside svgpathtools writing no more than the outline's own lines."""

from __future__ import annotations

import itertools
import tempfile
from dataclasses import dataclass
from pathlib import Path

from formsketch.design.model import Design
from formsketch.evaluation.evaluate import evaluate
from formsketch.template.writing import write_template
from tests.benchmarks.rows import METALS, slightly_changed, timed_ms


@dataclass(frozen=True)
class TemplateRow:
    """Median and middle-half range of writing a template; None for the plain way without svgpathtools."""

    what: str
    median_ms: float
    spread_ms: float
    target_ms: float
    plain_ms: float | None


def template_rows(design: Design, repeats: int) -> list[TemplateRow]:
    """A template of a design, evaluated and written as SVG and as PDF."""
    designs = [slightly_changed(design, number) for number in range(repeats)]
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        plain_ms = _plain_ms(design, Path(folder) / "plain.svg")
        for suffix, target_ms in (("svg", 150.0), ("pdf", 300.0)):
            file = Path(folder) / f"template.{suffix}"
            _, median, spread = timed_ms(
                lambda one, file=file: write_template(evaluate(one, METALS), file), designs
            )
            rows.append(
                TemplateRow(
                    f"template as {suffix.upper()}, {design.title}", median, spread, target_ms, plain_ms
                )
            )
    return rows


def _plain_ms(design: Design, file: Path) -> float | None:
    """The union of all pieces and the centreline written by svgpathtools, line by line."""
    try:
        from svgpathtools import Line, wsvg
        from svgpathtools import Path as Drawn
    except ImportError:
        return None

    def write(changed: Design) -> None:
        evaluation = evaluate(changed, METALS)
        rings = [
            part.exterior.coords
            for part in getattr(evaluation.outline.silhouette, "geoms", [evaluation.outline.silhouette])
        ]
        lines = [[complex(x, y) for x, y in ring] for ring in rings] + [evaluation.trace.z_mm.tolist()]
        paths = [Drawn(*(Line(a, b) for a, b in itertools.pairwise(line) if a != b)) for line in lines]
        wsvg(paths, filename=str(file))

    return timed_ms(write, [design] * 3)[1]
