"""`python -m tests.benchmarks`: times on this machine, each against the plain way in the same run."""

from __future__ import annotations

import os
import platform
import sys
from datetime import date
from pathlib import Path

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from tests.benchmarks.frames import frame_rows
from tests.benchmarks.grid_frames import LARGE_SIDE, grid_row, large_grid_row
from tests.benchmarks.rows import all_rows, growth, repeated_loops
from tests.benchmarks.starting import start_rows
from tests.benchmarks.templates import template_rows

SPANS, GRID_SPANS, SIZES, REPEATS = 60, 12, (10, 30, 100, 300, 1_000, 3_000), 40
MOVES, STARTS = 200, 9


def main() -> None:
    """Print the tables row by row."""
    print(f"{date.today():%d %B %Y}, Python {platform.python_version()}, {platform.system()}, {_processor()}")
    print("Times of the processor in ms: best and median, and spread as the range of the middle half of the")
    print("repeats; a machine that others share shows in the spread, and least in the best.")
    print(
        "'plain' is scipy's quad and brentq place by place, and the union of all little quads by shapely, for"
    )
    print(
        "the same numbers to the same accuracy; 'numbers' and 'areas' are the largest relative differences."
    )
    print()
    heads = ("best", "median", "spread", "target", "plain", "ratio", "numbers", "areas")
    print(f"{'what':<46} " + " ".join(f"{head:>8}" for head in heads))
    rows = []
    for row in all_rows(SPANS, GRID_SPANS, SIZES, REPEATS):
        rows.append(row)
        cells = [f"{value:.2f}" for value in (row.best_ms, row.median_ms, row.spread_ms)]
        cells += [_said(value) for value in (row.target_ms, row.plain_ms, row.times_as_fast)]
        cells += [_said(value, ".1e") for value in (row.worst_difference, row.area_difference)]
        print(f"{row.what:<46} " + " ".join(f"{cell:>8}" for cell in cells), flush=True)
    print()
    power = growth(rows, SIZES)
    print(f"Cost grows with the number of spans to the power {power:.2f}, {SIZES[0]} to {SIZES[-1]:,}.")
    print_starts()
    print_frames()


def print_starts() -> None:
    """Print the second table: starting, and templates beyond it."""
    print()
    print(f"{'what':<48} {'median':>9} {'spread':>8} {'target':>7} {'bare':>10} {'ratio':>7}")
    for start in start_rows(STARTS):
        print(
            f"{start.what:<48} {start.median_ms:>9.0f} {start.spread_ms:>8.0f} "
            f"{start.target_ratio:>6.1f}x {start.bare_ms:>10.0f} {start.median_ms / start.bare_ms:>7.1f}",
            flush=True,
        )
    for one in template_rows(repeated_loops(SPANS), REPEATS // 4):
        plain = "" if one.plain_ms is None else f"{one.plain_ms:>10.0f} {one.plain_ms / one.median_ms:>7.1f}"
        print(
            f"{one.what:<48} {one.median_ms:>9.0f} {one.spread_ms:>8.0f} {one.target_ms:>7.0f} {plain}",
            flush=True,
        )
    print("'bare' imports no more than it cannot do without and, for the window, shows an empty one; of a")
    print("template it is svgpathtools writing the silhouette and the centreline alone, ratio plain / own.")


def print_frames() -> None:
    """Print the third table: frames of a pull in the window."""
    print()
    print("From a move of the mouse to the painted window of 1366 x 768, without a screen; 'bare' is one")
    print("polygon of the same outline in a plain widget, in the same run.")
    print()
    print(f"{'what':<48} {'median':>9} {'95 %':>8} {'target':>7} {'bare':>10} {'ratio':>7}")
    for row in frame_rows(MOVES):
        print(
            f"{row.what:<48} {row.median_ms:>9.2f} {row.p95_ms:>8.2f} {_said(row.target_ms):>7} "
            f"{row.bare_ms:>10.2f} {row.median_ms / row.bare_ms:>7.1f}",
            flush=True,
        )
    grid = grid_row(GRID_SPANS, MOVES // 4)
    print(
        f"{grid.what:<48} {grid.median_ms:>9.2f} {grid.p95_ms:>8.2f} {_said(grid.target_ms):>7} "
        f"{grid.bare_ms:>10.2f} {grid.median_ms / grid.bare_ms:>7.1f}"
    )
    print(f"{'  the longest the pointer waited in it':<48} {grid.pointer_ms:>18.2f} {16:>7}")
    large = large_grid_row(SPANS, MOVES // LARGE_SIDE**2 + 3)
    print(f"{large.what:<48} {large.median_ms:>9.2f} {large.p95_ms:>8.2f} {_said(large.target_ms):>7}")
    print(f"{'  the longest the pointer waited in it':<48} {large.pointer_ms:>18.2f} {16:>7}")


def _said(value: float | None, form: str = ".0f") -> str:
    return "" if value is None or value != value else format(value, form)


def _processor() -> str:
    """What the system calls its processor, and how many there are."""
    info = Path("/proc/cpuinfo")
    lines = info.read_text().splitlines() if info.exists() else []
    name = next((line.split(":")[1].strip() for line in lines if line.startswith("model name")), "")
    return f"{name or platform.processor() or platform.machine()}, {os.cpu_count()} cores"


if __name__ == "__main__":
    main()
