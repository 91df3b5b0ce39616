"""House rules that no module can keep alone: imports run down, Qt stays in the window, a tidy top level."""

from __future__ import annotations

import ast
import importlib.util
import json
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from formsketch.design.file_format import design_bytes
from formsketch.design.model import Wire
from formsketch.design.starters import make_starter

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "formsketch"

# From the top down; a module may import from its own layer and from those below it.
LAYERS = (
    ("__main__",),
    ("cli",),
    ("ui",),
    ("template",),
    ("comparison",),
    ("evaluation",),
    ("fitting",),
    ("forging",),
    ("geometry",),
    ("bench",),
    ("design",),
    ("files", "units", "shipped", "errors", "values", "__init__"),
)
DEPTH = {name: depth for depth, names in enumerate(LAYERS) for name in names}
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "formsketch",
    "resources",
    "demo_designs",
    "tests",
}
# Libraries of the window and of the tests; never loaded by a command without a window.
WINDOW_LIBRARIES = ("PySide6", "shiboken6")
TEST_LIBRARIES = ("scipy", "hypothesis", "pytest", "pyclothoids", "fluids", "trimesh", "matplotlib", "pandas")

MODULES = sorted(PACKAGE.rglob("*.py"))


def layer_of(module: str) -> str:
    """The layer of a module given by its dotted name, such as formsketch.design.model."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else "__init__"


def name_of(file: Path) -> str:
    parts = ("formsketch", *file.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 2 else parts)


@cache
def imported(file: Path) -> tuple[tuple[int, str], ...]:
    """Line and dotted name of every import, wherever in the file, those by name in a call included."""
    return tuple(_imported(file))


def _imported(file: Path) -> Iterator[tuple[int, str]]:
    package = name_of(file).split(".")
    if file.name != "__init__.py":
        package = package[:-1]
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"), str(file))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            for alias in node.names:
                yield node.lineno, f"{base}.{alias.name}"
        elif isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if called in ("import_module", "__import__"):
                yield node.lineno, str(node.args[0].value)


def test_imports_only_run_down() -> None:
    reaching_up = [
        f"{name_of(file)}:{line} reaches up for {module}"
        for file in MODULES
        for line, module in imported(file)
        if module.split(".")[0] == "formsketch"
        and DEPTH.get(layer_of(module), DEPTH["__init__"]) < DEPTH[layer_of(name_of(file))]
    ]
    assert reaching_up == []


def test_qt_is_imported_in_the_window_only_and_test_libraries_nowhere() -> None:
    out_of_place = [
        f"{name_of(file)}:{line} {module}"
        for file in MODULES
        for line, module in imported(file)
        if module.split(".")[0] in TEST_LIBRARIES
        or (module.split(".")[0] in WINDOW_LIBRARIES and layer_of(name_of(file)) != "ui")
    ]
    assert out_of_place == []


def test_every_part_of_the_package_has_its_layer() -> None:
    found = {item.stem for item in PACKAGE.iterdir() if item.suffix == ".py"}
    found |= {item.name for item in PACKAGE.iterdir() if item.is_dir() and any(item.glob("*.py"))}
    assert found == set(DEPTH)


LOAD_ALL = """
import importlib, pkgutil, sys
import formsketch
loaded = 0
for module in pkgutil.walk_packages(formsketch.__path__, "formsketch."):
    if module.name.startswith("formsketch.ui") or module.name == "formsketch.__main__":
        continue
    importlib.import_module(module.name)
    loaded += 1
print(loaded, sorted({name.split(".")[0] for name in sys.modules}))
"""

RUN_COMMANDS = """
import contextlib, io, json, sys
from formsketch import cli
failed = 0
for arguments in json.loads(sys.argv[1]):
    sys.argv = ["formsketch", *arguments]
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            cli.main()
    except SystemExit as ended:
        failed += bool(ended.code)
print(failed, sorted({name.split(".")[0] for name in sys.modules}))
"""


def libraries_loaded(script: str, *arguments: str) -> tuple[int, set[str]]:
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", script, *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stderr
    number, names = done.stdout.strip().split(" ", 1)
    return int(number), set(ast.literal_eval(names))


def test_loading_every_layer_below_the_window_brings_no_qt() -> None:
    loaded, libraries = libraries_loaded(LOAD_ALL)
    below = [file for file in PACKAGE.rglob("*.py") if layer_of(name_of(file)) not in ("ui", "__main__")]
    # All but the package itself were loaded one by one.
    assert loaded == len(below) - 1
    assert libraries.isdisjoint((*WINDOW_LIBRARIES, *TEST_LIBRARIES))


def test_commands_without_a_window_load_no_qt(tmp_path: Path) -> None:
    file = tmp_path / "hoop.formsketch.json"
    file.write_bytes(design_bytes(make_starter("hoop", Wire(metal="brass-c26000", diameter_mm=1.0))))
    commands = [
        (command, str(file), *options)
        for command, *options in (
            ("measure",),
            ("measure", "--json"),
            ("check",),
            ("price",),
            ("bays",),
            ("template", "-o", str(tmp_path / "template.svg")),
            ("card", "-o", str(tmp_path / "card.html")),
            ("compare", "-o", str(tmp_path / "compare.svg")),
            ("compare", "--json"),
        )
    ]
    failed, libraries = libraries_loaded(RUN_COMMANDS, json.dumps(commands))
    assert failed == 0
    assert libraries.isdisjoint((*WINDOW_LIBRARIES, *TEST_LIBRARIES))


# The house


def test_the_top_level_holds_only_what_it_should() -> None:
    found = {item.name for item in ROOT.iterdir() if not item.name.startswith(".")}
    assert found <= TOP_LEVEL
    for name in TOP_LEVEL:
        assert (ROOT / name).exists(), name


def test_data_that_is_json_is_sound_json() -> None:
    files = [*(ROOT / "resources").rglob("*.json"), *(ROOT / "demo_designs").rglob("*.json")]
    assert files
    for file in files:
        json.loads(file.read_text(encoding="utf-8"))


def ruff(*arguments: str) -> subprocess.CompletedProcess[str]:
    if importlib.util.find_spec("ruff") is None:
        pytest.skip("ruff is not installed")
    command = [sys.executable, "-m", "ruff", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, cwd=ROOT)


def test_the_linter_is_content() -> None:
    done = ruff("check", "--no-cache", ".")
    assert done.returncode == 0, done.stdout[-3_000:] + done.stderr


def test_every_file_is_formatted() -> None:
    done = ruff("format", "--check", "--no-cache", ".")
    assert done.returncode == 0, done.stdout[-3_000:] + done.stderr
