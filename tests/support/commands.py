"""The commands as they are typed: run in this process, or in one of their own to see what they load."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from formsketch import cli

_ROOT = Path(__file__).parents[2]
_RUN_ALL = """
import json, sys
from formsketch import cli
for arguments in json.loads(sys.argv[1]):
    sys.argv = ["formsketch", *arguments]
    try:
        cli.main()
    except SystemExit as ended:
        assert not ended.code, arguments
print(sorted(name for name in sys.modules if name.startswith(("PySide6", "formsketch.ui"))))
"""


def run_in_process(*arguments: str) -> tuple[int, str, str]:
    """Exit code, stdout and stderr of the command, run through its own entry point in this process."""
    # As the real streams are: what stdout cannot encode fails, stderr writes it with a backslash.
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="strict", newline="")
    err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="backslashreplace", newline="")
    before = sys.argv
    sys.argv = ["formsketch", *arguments]
    try:
        with redirect_stdout(out), redirect_stderr(err), pytest.raises(SystemExit) as ended:
            cli.main()
    finally:
        sys.argv = before
    code = ended.value.code
    texts = []
    for stream in (out, err):
        stream.flush()
        texts.append(stream.buffer.getvalue().decode("utf-8"))  # type: ignore[attr-defined]
    return (code if isinstance(code, int) else 0 if code is None else 1), texts[0], texts[1]


def assert_no_window_loaded(folder: Path, *commands: tuple[str, ...]) -> None:
    """Commands run one after another in one new process in this folder, none of which loads Qt."""
    done = subprocess.run(
        [sys.executable, "-c", _RUN_ALL, json.dumps(commands)],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": str(_ROOT)},
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[-1] == "[]"
