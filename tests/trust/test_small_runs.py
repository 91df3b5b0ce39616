"""`python -m tests.trust` in small: every part runs, and finds nothing. In full it takes hours."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks, signals and limits of POSIX systems")

ROOT = Path(__file__).parents[2]
LONGEST_S = 240


def run(part: str, count: int, seed: int = 2) -> str:
    command = [
        sys.executable,
        "-m",
        "tests.trust",
        part,
        "--count",
        str(count),
        "--seed",
        str(seed),
        "--no-clock",
    ]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=LONGEST_S)
    assert done.returncode == 0, done.stdout + done.stderr[-3000:]
    return done.stdout


def test_saves_killed() -> None:
    said = run("saves", 30)
    old, new = (int(number) for number in re.findall(r"(\d+) (?:left the old file|a new one)", said))
    assert old + new == 30


def test_autosaves_killed() -> None:
    assert "0 broken" in run("autosaves", 4)


@pytest.mark.parametrize(
    ("part", "count"), [("designs", 120), ("tables", 100), ("settings", 10), ("pictures", 6)]
)
def test_mutated_files(part: str, count: int) -> None:
    said = run(part, count)
    tried, sound = (
        int(number.replace(",", "")) for number in re.findall(r"([\d,]+) (?:tried|of them)", said)
    )
    assert tried >= count
    # What is only ever refused is no test of what is used.
    assert sound > 0
    assert " 0 faults" in said


def test_edits() -> None:
    assert "Qt objects" in run("edits", 15)
