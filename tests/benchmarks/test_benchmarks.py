"""The benchmarks run, and both ways they compare come to the same numbers. No clock can fail a test."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks.rows import Row, all_rows, growth, repeated_loops
from tests.benchmarks.starting import start_rows
from tests.benchmarks.templates import template_rows

SIZES = (3, 8)
ROWS = list[Row]


@pytest.fixture(scope="module")
def rows() -> ROWS:
    return list(all_rows(spans=8, grid_spans=3, sizes=SIZES, repeats=2))


def test_the_fast_way_and_the_plain_way_agree(rows: ROWS) -> None:
    assert sum(math.isfinite(row.plain_ms) for row in rows) >= len(rows) - 4
    for row in rows:
        if math.isnan(row.plain_ms):
            continue
        # Lengths, weight and envelope: the quadratures' own accuracy.
        assert row.worst_difference < 1e-8, row.what
        # Areas: the plain way's polygons leave the edges by 0.003 mm.
        assert row.area_difference is None or row.area_difference < 3e-3, row.what


def test_every_row_has_its_times_and_its_ratio(rows: ROWS) -> None:
    assert len({row.what for row in rows}) >= len(rows) - 1 >= 12 + len(SIZES)
    for row in rows:
        assert row.median_ms > 0 and row.spread_ms >= 0 and not row.plain_ms <= 0
    assert math.isfinite(growth(rows, SIZES))


def test_starts_and_templates_are_timed() -> None:
    for start in start_rows(1, windows=False):
        assert start.median_ms > 0 and start.bare_ms > 0
    for row in template_rows(repeated_loops(3), 2):
        assert row.median_ms > 0 and row.spread_ms >= 0


# A program of its own: there can be only one application in a process.
FRAMES = """
import dataclasses, json
from tests.benchmarks.frames import frame_row
print(json.dumps([dataclasses.asdict(frame_row(spans, moves=4)) for spans in (5, 12)]))
"""
GRID = """
import dataclasses, json
from tests.benchmarks.grid_frames import grid_row, large_grid_row
print(json.dumps([dataclasses.asdict(row) for row in (grid_row(5, moves=3), large_grid_row(5, 2, side=3))]))
"""


def test_frames_of_a_pull_are_timed() -> None:
    frames = printed_by(FRAMES)
    assert len(frames) == 2
    for row in frames:
        assert 0 < row["median_ms"] <= row["p95_ms"] <= row["worst_ms"]
        assert row["bare_ms"] > 0


def test_redraws_of_the_grid_are_timed() -> None:
    pulled, typed = printed_by(GRID)
    for row in pulled, typed:
        assert 0 < row["median_ms"] <= row["p95_ms"]
        assert row["pointer_ms"] > 0
    assert pulled["bare_ms"] > 0


def printed_by(code: str) -> list[dict[str, float]]:
    ran = subprocess.run(
        [sys.executable, "-c", code],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
        check=True,
        capture_output=True,
        timeout=60,
    )
    rows: list[dict[str, float]] = json.loads(ran.stdout)
    return rows
