"""The rolled piece in space and its views, against closed forms, and drawn for the sheet.

All [D]: a band of round wire rolled up is a torus, its views those of a torus.
"""

from __future__ import annotations

from math import pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from formsketch.design.file_format import load_design
from formsketch.design.model import (
    BeadEnd,
    Design,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    Run,
    Span,
    Wire,
    Worn,
)
from formsketch.errors import InputError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.rolled import rolled
from formsketch.evaluation.rolled_views import SHEET_STEP_WIDTHS, PieceViews, View, in_space, piece_views
from formsketch.shipped import demo_design_files
from formsketch.template.drawing import MultiPath, Sheet, bounds, walk
from formsketch.template.png import png_bytes
from formsketch.template.rolled_part import rolled_views
from formsketch.template.svg import svg_text

D_MM = 1.6
WIRE = Wire(metal="brass-c26000", diameter_mm=D_MM)
RING = Worn(kind="ring", standard="iso", size=54.0)
RADIUS_MM = 54.0 / (2 * pi)


def band(length_mm: float = 54.0 + pi * D_MM, *flares: Flare | None, **ends: Any) -> Design:
    each = flares or (None,)
    spans = tuple(Span(length_mm=length_mm / len(each), flare=flare) for flare in each)
    return Design(title="Band", wire=WIRE, form=Form(runs=(Run(spans=spans),), **ends), worn=RING)


def views(design: Design, worn: Worn | None = None) -> dict[str, View]:
    asked = worn or design.worn
    assert asked is not None
    return {view.side: view for view in piece_views(evaluate(design), asked, SHEET_STEP_WIDTHS).views}


def size_mm(shape: Any) -> tuple[float, float]:
    x0, y0, x1, y1 = shapely.bounds(shape)
    return float(x1 - x0), float(y1 - y0)


def test_a_plain_band_is_a_torus() -> None:
    seen = views(band())
    across = 2 * (RADIUS_MM + D_MM)
    assert size_mm(seen["top"].near) == pytest.approx((across, across), abs=0.02)
    # A ring of metal round the inside.
    assert shapely.area(seen["top"].near) == pytest.approx(
        pi * ((RADIUS_MM + D_MM) ** 2 - RADIUS_MM**2), rel=5e-3
    )
    (hole,) = shapely.get_rings(seen["top"].near)[1:]
    assert shapely.area(shapely.polygons(hole)) == pytest.approx(pi * RADIUS_MM**2, rel=3e-3)
    for side in ("front", "side", "back"):
        assert size_mm(seen[side].near) == pytest.approx((across, D_MM), abs=0.03)
        # A torus seen from its side: a bar with half round ends, and the far half behind it all.
        assert shapely.area(seen[side].near) == pytest.approx(
            (across - D_MM) * D_MM + pi * D_MM**2 / 4, rel=0.01
        )
        assert shapely.area(seen[side].beyond) < 0.05
    assert size_mm(seen["flat"].near)[1] == pytest.approx(D_MM, abs=0.005)


@pytest.mark.parametrize("aspect", [0.8, 0.5])
def test_an_oval_has_its_inside(aspect: float) -> None:
    seen = views(band(), replace(RING, aspect=aspect))
    piece = piece_views(evaluate(band()), replace(RING, aspect=aspect)).rolled
    assert piece is not None
    hole = shapely.get_rings(seen["top"].near)[1]
    assert size_mm(hole) == pytest.approx((piece.inside.width_mm, piece.inside.depth_mm), abs=0.03)
    assert piece.inside.depth_mm == pytest.approx(aspect * piece.inside.width_mm)
    assert size_mm(seen["side"].near)[0] == pytest.approx(piece.inside.depth_mm + 2 * D_MM, abs=0.03)


def test_a_hammered_face_is_thinner_and_wider() -> None:
    # The front half flat, the back round: from above the front wall is as thin as the flat, from the front as
    # high as the flat is wide.
    flat = Flare(thickness=0.5, hold=0.6)
    design = band(58.0, None, flat, None)
    e = evaluate(design)
    seen = views(design)
    thin, wide = float(e.spans.thinnest_mm[1]), float(e.spans.widest_mm[1])
    assert thin == pytest.approx(D_MM / 2)
    x = size_mm(seen["top"].near)[0] * 0.06
    front = shapely.intersection(seen["top"].near, shapely.linestrings([(x, -30), (x, 0)]))
    back = shapely.intersection(seen["top"].near, shapely.linestrings([(x, 0), (x, 30)]))
    assert shapely.length(front) == pytest.approx(thin, abs=0.03)
    assert shapely.length(back) == pytest.approx(D_MM, abs=0.03)
    assert size_mm(seen["front"].near)[1] == pytest.approx(wide, abs=0.02)


@pytest.mark.parametrize("gap_mm", [3.0, 8.0])
def test_a_gap_is_seen_at_the_back(gap_mm: float) -> None:
    worn = replace(RING, gap_mm=gap_mm)
    design = band(54.0 + pi * D_MM - gap_mm)
    seen = views(design, worn)
    piece = rolled(evaluate(design), 1.0, gap_mm)
    assert piece.inside.circumference_mm == pytest.approx(54.0, abs=0.01)
    # The ends stand gap apart along the middle line, so the chord between them is less.
    middle = RADIUS_MM + D_MM / 2
    ends = piece.at(np.array([0.0, piece.band.length_mm]), D_MM / 2)
    assert abs(ends[1] - ends[0]) == pytest.approx(2 * middle * np.sin(gap_mm / middle / 2), abs=0.01)
    assert np.all(ends.imag > 0)
    assert abs(ends[0].real + ends[1].real) < 1e-6
    assert f"open {gap_mm:.2f} mm" in seen["back"].words
    assert len(shapely.get_rings(seen["top"].near)) == 1


def test_an_overlap_and_a_catch_are_said() -> None:
    assert "ends lap 6.00 mm" in views(band(54.0 + pi * D_MM + 6.0), replace(RING, gap_mm=-6.0))["back"].words
    ends = {"start": HookEnd(inside_diameter_mm=3.0), "finish": EyeEnd(inside_diameter_mm=3.0)}
    assert "hook in eye" in views(band(60.0, **ends))["back"].words
    assert "hook in hook" in views(band(60.0, start=ends["start"], finish=ends["start"]))["back"].words
    assert "ends meet" in views(band())["back"].words


def test_what_lies_in_front_and_what_is_seen_beyond() -> None:
    # A bead at each end stands at the back: behind the band from the front, before it from the back.
    design = band(54.0 + pi * D_MM, start=BeadEnd(diameter_mm=4.0), finish=BeadEnd(diameter_mm=4.0))
    seen = views(design)
    assert size_mm(seen["back"].near)[1] == pytest.approx(4.0, abs=0.05)
    assert size_mm(seen["front"].near)[1] == pytest.approx(D_MM, abs=0.03)
    assert size_mm(seen["front"].beyond)[1] == pytest.approx(4.0, abs=0.05)
    assert shapely.area(shapely.intersection(seen["front"].near, seen["front"].beyond)) < 1e-6


def test_a_crossing_is_lifted_over() -> None:
    # A loop that crosses itself: over the crossing the metal is two wires thick.
    loop = Span(length_mm=26.0, turn_deg=360.0)
    design = Design(
        title="",
        wire=WIRE,
        form=Form(runs=(Run(spans=(Span(length_mm=26.0), loop, Span(length_mm=26.0))),)),
        worn=RING,
    )
    e = evaluate(design)
    assert len(e.crossings) == 1
    space = in_space(e, rolled(e))
    inside = rolled(e).inside
    out = np.abs(space.seen_from_above_mm) - inside.half_width_mm
    assert float(out.min()) == pytest.approx(0.0, abs=0.01)
    assert float(out.max()) == pytest.approx(2 * D_MM, abs=0.05)


def test_worn_as_laid_is_only_seen_flat() -> None:
    seen = piece_views(evaluate(band()), Worn(kind="pendant", standard="length", size=50.0))
    assert [view.side for view in seen.views] == ["flat"]
    assert seen.rolled is None
    assert rolled_views(evaluate(replace(band(), worn=None))) is None
    assert rolled_views(evaluate(band()), Worn(kind="pendant", standard="length", size=50.0)) is None


def test_too_short_to_close_is_told() -> None:
    with pytest.raises(InputError, match="too short to close"):
        piece_views(evaluate(band(4.0)), RING)


def test_the_drawing_for_the_sheet_is_at_true_size() -> None:
    e = evaluate(band())
    group = rolled_views(e)
    assert group is not None
    across = 2 * (RADIUS_MM + D_MM)
    by_name = {item.name: item for item in group.items if hasattr(item, "name")}
    assert set(by_name) == {"rolled-top", "rolled-front", "rolled-side", "rolled-back"}
    x0, y0, x1, y1 = bounds([by_name["rolled-top"]])
    assert (x1 - x0, y1 - y0) == pytest.approx((across, across), abs=0.02)
    # Third angle: the front stands under the view from above, the side beside it.
    fx0, fy0, fx1, _ = bounds([by_name["rolled-front"]])
    assert (fx0 + fx1) / 2 == pytest.approx((x0 + x1) / 2, abs=0.01)
    assert fy0 > y1
    assert bounds([by_name["rolled-side"]])[0] > fx1


@pytest.mark.parametrize("name", ["curlew-s-ring", "sandbar-zigzag"])
def test_demo_designs_are_drawn(name: str) -> None:
    (path,) = [path for path in demo_design_files() if path.name.startswith(name)]
    group = rolled_views(evaluate(load_design(Path(path)).design))
    assert group is not None
    x0, y0, x1, y1 = bounds([group])
    assert min(x0, y0) > -0.5
    sheet = Sheet(x1 + 5, y1 + 5, "Rolled", [group])
    assert "rolled-front" in svg_text(sheet)
    assert png_bytes(sheet, 2.0).startswith(b"\x89PNG")
    assert any(isinstance(item, MultiPath) for item in walk([group]))


def test_every_view_holds_all_of_the_piece() -> None:
    # Near and beyond together reach as far from every side.
    path = next(path for path in demo_design_files() if path.name.startswith("eddy-bracelet"))
    design = load_design(path).design
    assert design.worn is not None
    seen: PieceViews = piece_views(evaluate(design), design.worn)
    by_side = {view.side: shapely.union(view.near, view.beyond) for view in seen.views}
    wide, deep = size_mm(by_side["top"])
    assert size_mm(by_side["front"]) == pytest.approx((wide, size_mm(by_side["side"])[1]), abs=0.02)
    assert size_mm(by_side["back"]) == pytest.approx(size_mm(by_side["front"]), abs=0.02)
    assert size_mm(by_side["side"])[0] == pytest.approx(deep, abs=0.02)
