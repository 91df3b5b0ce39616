"""`python -m tests.trust`: files mutated, programs killed, edits by the million; all that was found.

Without arguments everything is run in full, which takes hours; a name and counts run a part of it:
`python -m tests.trust designs --count 2000 --seed 7`. It ends with 1 when anything was found.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

FULL = {
    "saves": 1_000,
    "autosaves": 200,
    "designs": 100_000,
    "tables": 10_000,
    "settings": 2_000,
    "pictures": 2_000,
    "edits": 1_000_000,
}


def run_part(part: str, count: int, seed: int, clock: bool) -> int:
    """Run one part; how many faults it found."""
    with tempfile.TemporaryDirectory() as folder:
        return PARTS[part](Path(folder), count, seed, clock)


def _saves(folder: Path, count: int, seed: int, clock: bool) -> int:
    from tests.trust.kills import kill_during_saves

    return _told(f"{count:,} saves killed (seed {seed})", kill_during_saves(folder, count, seed))


def _autosaves(folder: Path, count: int, seed: int, clock: bool) -> int:
    from tests.trust.kills import kill_during_autosaves

    return _told(f"{count:,} autosaves killed (seed {seed})", kill_during_autosaves(folder, count, seed))


def _told(what: str, found) -> int:  # type: ignore[no-untyped-def]
    print(
        f"{what}: {found.old} left the old file, {found.new} a new one, {len(found.broken)} broken; "
        f"at most {found.most_leftovers} unfinished files at a time, none after the next save"
    )
    for line in found.broken[:10]:
        print("  ", line)
    return len(found.broken)


def _fuzz(module: str) -> Callable[[Path, int, int, bool], int]:
    def fuzz(folder: Path, count: int, seed: int, clock: bool) -> int:
        from importlib import import_module

        from tests.trust.guard import Guard, peak_faults

        loaded = import_module(f"tests.trust.fuzz_{module}")
        findings = getattr(loaded, f"fuzz_{module}")(Guard(folder), count, seed, clock)
        peak_faults(findings)
        print(findings.line())
        for said, times in findings.faults.most_common(20):
            print(f"   {times} x {said}\n      {findings.examples[said][:3000]}")
        return sum(findings.faults.values())

    return fuzz


def _edits(folder: Path, count: int, seed: int, clock: bool) -> int:
    from tests.trust.soak import soak

    found = soak(folder, count, seed)
    print(found.line())
    return len(found.faults)


PARTS: dict[str, Callable[[Path, int, int, bool], int]] = {
    "saves": _saves,
    "autosaves": _autosaves,
    "designs": _fuzz("designs"),
    "tables": _fuzz("tables"),
    "settings": _fuzz("settings"),
    "pictures": _fuzz("pictures"),
    "edits": _edits,
}


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.trust", description=__doc__)
    parser.add_argument(
        "parts", nargs="*", metavar="PART", help=f"any of {', '.join(PARTS)}; all where none is named"
    )
    parser.add_argument("--count", type=int, help="instead of each part's full count")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-clock", action="store_true", help="slowness is printed and is no fault")
    asked = parser.parse_args()
    unknown = [part for part in asked.parts if part not in PARTS]
    if unknown:
        parser.error(f"no such part: {unknown[0]}")
    parts = asked.parts or list(PARTS)
    if len(parts) == 1:
        sys.exit(run_part(parts[0], asked.count or FULL[parts[0]], asked.seed, not asked.no_clock) > 0)
    # Each part in a process of its own: memory is measured, and there is one application in a process.
    import subprocess

    failed = 0
    for part in parts:
        rest = [argument for argument in sys.argv[1:] if argument not in PARTS]
        failed += subprocess.run([sys.executable, "-m", "tests.trust", part, *rest]).returncode != 0
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
