"""`python -m tests.benchmarks`: times on this machine, each against the plain way in the same run."""

from __future__ import annotations

import os
import platform
import sys

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from tests.benchmarks.frames import frame_rows
from tests.benchmarks.grid_frames import grid_row
from tests.benchmarks.rows import all_rows, growth

SPANS, GRID_SPANS, SIZES, REPEATS = 60, 12, (10, 100, 1_000), 40
MOVES = 200


def main() -> None:
    """Print the table row by row."""
    print(f"Python {platform.python_version()}, {platform.machine()}, {platform.system()}")
    print("Times in ms; spread is the range of the middle half of the repeats; 'plain' is scipy's quad and")
    print("brentq place by place, and the union of all little quads, for the same work to the same accuracy.")
    print()
    columns = (
        f"{'median':>9} {'spread':>8} {'target':>7} {'plain':>10} {'ratio':>7} {'numbers':>9} {'areas':>9}"
    )
    print(f"{'what':<44} {columns}")
    rows = []
    for row in all_rows(SPANS, GRID_SPANS, SIZES, REPEATS):
        rows.append(row)
        target = "" if row.target_ms is None else f"{row.target_ms:.0f}"
        areas = "" if row.area_difference is None else f"{row.area_difference:.1e}"
        print(
            f"{row.what:<44} {row.median_ms:>9.2f} {row.spread_ms:>8.2f} {target:>7} {row.plain_ms:>10.0f} "
            f"{row.times_as_fast:>7.0f} {row.worst_difference:>9.1e} {areas:>9}",
            flush=True,
        )
    print()
    powers = " and then ".join(f"{power:.2f}" for power in growth(rows, SIZES))
    print(f"Cost grows with the number of spans to the power {powers} (1 is linear).")
    print("'numbers' and 'areas' are the largest relative differences between the two ways.")
    print()
    print_frames()


def print_frames() -> None:
    """Print the second table: frames of a pull in the window."""
    print("From a move of the mouse to the painted window of 1366 x 768, in ms, without a screen; 'bare' is")
    print("one polygon of the same outline in a plain widget, in the same run.")
    print()
    print(f"{'what':<44} {'median':>9} {'95 %':>8} {'worst':>8} {'target':>7} {'bare':>7} {'ratio':>7}")
    for row in frame_rows(MOVES):
        target = "" if row.target_ms is None else f"{row.target_ms:.0f}"
        print(
            f"{row.what:<44} {row.median_ms:>9.2f} {row.p95_ms:>8.2f} {row.worst_ms:>8.2f} {target:>7} "
            f"{row.bare_ms:>7.2f} {row.median_ms / row.bare_ms:>7.1f}",
            flush=True,
        )
    grid = grid_row(GRID_SPANS, MOVES // 4)
    print(
        f"{grid.what:<44} {grid.median_ms:>9.2f} {grid.p95_ms:>8.2f} {'':>8} {grid.target_ms or 0:>7.0f} "
        f"{grid.bare_ms:>7.2f} {grid.median_ms / grid.bare_ms:>7.1f}"
    )
    print(f"{'  the longest the pointer waited in it':<44} {grid.pointer_ms:>27.2f}")


if __name__ == "__main__":
    main()
