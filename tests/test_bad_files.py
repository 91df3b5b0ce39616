"""Files that are no sound designs: each is refused in one line, saying which file, where, what was expected.

Most go through the command's own entry point in this process, a dozen through a real one. The places and
reasons expected here are those of the file's definition, not of the program's messages.
"""

from __future__ import annotations

import copy
import json
import os
import re
import stat
import subprocess
import sys
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from formsketch.design.file_format import load_design
from formsketch.errors import DesignFileError
from tests.support.commands import run_in_process

LONGEST_LINE = 2_000

# A design that uses every key a file may hold.
RICH: dict[str, Any] = {
    "format": "formsketch-design",
    "version": 1,
    "title": "Eddy bracelet",
    "notes": "first sample\nsecond",
    "wire": {"metal": "brass-c26000", "diameter_mm": 1.290846},
    "hammer": {"spread": 0.75},
    "form": {
        "start": {"kind": "bead", "diameter_mm": 2.6},
        "finish": {
            "kind": "hook",
            "inside_diameter_mm": 5,
            "turn_deg": 190,
            "straight_mm": 3,
            "bead_diameter_mm": 2,
        },
        "runs": [
            {
                "times": 4,
                "turned_over": True,
                "ends_scale": 0.8,
                "spans": [
                    {
                        "length_mm": 20.94,
                        "turn_deg": 240,
                        "skew_deg": 10,
                        "corner_deg": 5,
                        "turned_over": True,
                        "flare": {
                            "thickness": 0.45,
                            "centre": 0.4,
                            "hold": 0.1,
                            "face": "edge",
                            "begin": 0.1,
                            "end": 0.9,
                        },
                    },
                    {"length_mm": 7.5},
                ],
            },
            {"spans": [{"length_mm": 12}]},
        ],
    },
    "metals": [
        {"key": "mine", "name": "Mine", "density_g_per_cm3": 9, "yield_mpa": 100, "e_gpa": 100},
    ],
    "variants": [
        {"title": "light", "diameter_mm": 1.02, "metal": "mine", "scale": 0.9, "flare_depth": 0.5},
    ],
}
OTHER_ENDS: dict[str, dict[str, Any]] = {
    "tapered": {"kind": "tapered", "length_mm": 8, "tip_diameter_mm": 0.6, "turn_deg": 90},
    "eye": {"kind": "eye", "inside_diameter_mm": 4, "side": "right"},
    "post": {"kind": "post", "length_mm": 10, "diameter_mm": 0.8},
}

Path_ = tuple[str | int, ...]


def put(path: Path_, value: Any, base: dict[str, Any] = RICH) -> dict[str, Any]:
    """A copy of a tree with one value replaced or added."""
    tree = copy.deepcopy(base)
    at: Any = tree
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    return tree


def without(path: Path_) -> dict[str, Any]:
    tree = copy.deepcopy(RICH)
    at: Any = tree
    for step in path[:-1]:
        at = at[step]
    del at[path[-1]]
    return tree


def place_of(path: Path_) -> str:
    """The path as messages write it, such as $.form.runs[0].spans[1].length_mm."""
    return "$" + "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)


def walk(value: Any, path: Path_ = ()) -> Iterator[tuple[Path_, Any]]:
    """Every value in a tree of objects and lists, with its path; containers before what they hold."""
    yield path, value
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, item in items:
        yield from walk(item, (*path, step))


def utf8(tree: Any) -> bytes:
    return json.dumps(tree).encode()


def text(tree: Any, token: str) -> bytes:
    """JSON with the placeholder "@" replaced by text that is no sound JSON value."""
    data = json.dumps(tree)
    assert data.count('"@"') == 1
    return data.replace('"@"', token).encode()


Case = tuple[str, bytes, str]  # name, what stands in the file, the place to be named ("" for the whole file)


def wrong_types() -> Iterator[Case]:
    for path, value in walk(RICH):
        if not path:
            continue
        wrong = {str: 7, bool: 1, int: "7", float: "7", dict: [1], list: {"a": 1}}[type(value)]
        yield f"type-{place_of(path)}", utf8(put(path, wrong)), place_of(path)
    for path, value in walk(RICH):
        if isinstance(value, int | float) and not isinstance(value, bool):
            yield f"true-{place_of(path)}", utf8(put(path, True)), place_of(path)
        if isinstance(value, dict | list) and path and path[-1] != "flare":  # no flare is null
            yield f"null-{place_of(path)}", utf8(put(path, None)), place_of(path)


def wrong_numbers() -> Iterator[Case]:
    """Too small, too large and huge, for every number of a file; none of these is a size of any jewellery."""
    counts = (("version",), ("form", "runs", 0, "times"))
    for path, value in walk(RICH):
        if not isinstance(value, int | float) or isinstance(value, bool):
            continue
        for name, token in (("huge", "1e999"), ("minus-huge", "-1e999"), ("digits", "9" * 400)):
            if path not in counts or name == "digits":
                yield f"{name}-{place_of(path)}", text(put(path, "@"), token), place_of(path)
        for bad in (-99_999, 99_999):
            yield f"{bad}-{place_of(path)}", utf8(put(path, bad)), place_of(path)
    for path in (
        ("wire", "diameter_mm"),
        ("form", "runs", 0, "times"),
        ("form", "runs", 1, "spans", 0, "length_mm"),
    ):
        yield f"zero-{place_of(path)}", utf8(put(path, 0)), place_of(path)
    yield "times-half", utf8(put(("form", "runs", 0, "times"), 2.5)), "$.form.runs[0].times"
    yield "thousands-of-digits", text(put(("wire", "diameter_mm"), "@"), "9" * 6_000), ""
    for token in ("NaN", "Infinity", "-Infinity"):
        for path in (("wire", "diameter_mm"), ("hammer", "spread"), ("title",)):
            yield f"{token}-{place_of(path)}", text(put(path, "@"), token), ""


def wrong_keys() -> Iterator[Case]:
    for path, value in walk(RICH):
        if isinstance(value, dict):
            yield f"unknown-key-{place_of(path)}", utf8(put((*path, "colour"), "red")), place_of(path)
    for path in (
        ("title",),
        ("wire",),
        ("form",),
        ("wire", "metal"),
        ("wire", "diameter_mm"),
        ("form", "runs"),
        ("form", "start", "kind"),
        ("form", "start", "diameter_mm"),
        ("form", "runs", 0, "spans"),
        ("form", "runs", 1, "spans", 0, "length_mm"),
        ("form", "runs", 0, "spans", 0, "flare", "thickness"),
        ("metals", 0, "density_g_per_cm3"),
        ("variants", 0, "title"),
    ):
        yield f"missing-{place_of(path)}", utf8(without(path)), place_of(path[:-1])
    data = json.dumps(RICH)
    for key, value in (
        ("title", '"x"'),
        ("version", "1"),
        ("diameter_mm", "1.0"),
        ("length_mm", "5"),
        ("kind", '"bead"'),
    ):
        # The key stands in front of its first self once more.
        doubled = data.replace(f'"{key}":', f'"{key}": {value}, "{key}":', 1)
        yield f"twice-{key}", doubled.encode(), ""
    yield "twice-same-value", b'{"format": "formsketch-design", "format": "formsketch-design"}', ""


def wrong_headers() -> Iterator[Case]:
    for value in (0, -1, 2, 999, 10**30, 1.5, "1", None, True, [1]):
        yield f"version-{value!r}", utf8(put(("version",), value)), "$.version"
    for value in ("formsketch", "", 1, None, "FORMSKETCH-DESIGN", "formsketch-metals"):
        yield f"format-{value!r}", utf8(put(("format",), value)), "$.format"
    yield "no-version", utf8(without(("version",))), "$.version"
    yield "no-format", utf8(without(("format",))), "$.format"
    for value in ([], [RICH], 1, "design", None, True, {}):
        yield f"top-{str(value)[:10]}", utf8(value), "$"


def wrong_forms() -> Iterator[Case]:
    """Numbers within their bounds that do not go together."""
    wire = 1.290846
    span = ("form", "runs", 0, "spans", 0)
    flare = (*span, "flare")
    yield "no-runs", utf8(put(("form", "runs"), [])), "$.form.runs"
    yield "no-spans", utf8(put(("form", "runs", 0, "spans"), [])), "$.form.runs[0].spans"
    yield "flare-at-its-mark", utf8(put((*flare, "centre"), 0)), place_of(flare)
    yield "flare-at-the-next-mark", utf8(put((*flare, "centre"), 1)), place_of(flare)
    yield "flare-held-throughout", utf8(put((*flare, "hold"), 1)), place_of(flare)
    yield "flare-shown-backwards", utf8(put((*flare, "begin"), 0.95)), place_of(flare)
    yield "flare-shown-nowhere", utf8(put((*flare, "begin"), 0.9)), place_of(flare)
    yield "flare-face", utf8(put((*flare, "face"), "side")), f"{place_of(flare)}.face"
    yield "bead-in-the-wire", utf8(put(("form", "start", "diameter_mm"), 1.0)), "$.form.start.diameter_mm"
    yield "bead-as-the-wire", utf8(put(("form", "start", "diameter_mm"), wire)), "$.form.start.diameter_mm"
    yield "hook-bead", utf8(put(("form", "finish", "bead_diameter_mm"), 1)), "$.form.finish.bead_diameter_mm"
    yield "end-kind", utf8(put(("form", "start", "kind"), "clasp")), "$.form.start"
    for kind, key, bad in (
        ("tapered", "tip_diameter_mm", 1.5),
        ("tapered", "length_mm", 0),
        ("tapered", "turn_deg", 5_000),
        ("eye", "side", "up"),
        ("eye", "inside_diameter_mm", -1),
        ("post", "diameter_mm", 1.9),
        ("post", "length_mm", 100),
    ):
        end = {**OTHER_ENDS[kind], key: bad}
        yield f"{kind}-{key}", utf8(put(("form", "start"), end)), f"$.form.start.{key}"
    many = [{"length_mm": 1}] * 9_000
    yield "too-many-spans", utf8(put(("form", "runs", 0, "spans"), many)), "$.form.runs"
    yield "too-long", utf8(put((*span, "length_mm"), 9_999)), "$.form.runs"
    coils = {"times": 900, "spans": [{"length_mm": 1, "turn_deg": 7_000}]}
    yield "too-much-turning", utf8(put(("form", "runs", 0), coils)), "$.form.runs"
    mine = RICH["metals"][0]
    yield "own-metal-twice", utf8(put(("metals",), [mine, mine])), "$.metals[1].key"
    yield "unknown-metal", utf8(put(("wire", "metal"), "unobtainium")), "$.wire.metal"
    yield "empty-metal", utf8(put(("wire", "metal"), "")), "$.wire.metal"
    yield "variant-bead", utf8(put(("variants", 0, "diameter_mm"), 4)), "$.variants[0]"
    yield "variant-deep", utf8(put(("variants", 0, "flare_depth"), 5)), "$.variants[0]"
    yield "variant-large", utf8(put(("variants", 0), {"title": "x", "scale": 20})), "$.variants[0]"
    yield "variant-metal", utf8(put(("variants", 0, "metal"), "unobtainium")), "$.variants[0]"
    yield "long-title", utf8(put(("title",), "x" * 500)), "$.title"
    yield "long-notes", utf8(put(("notes",), "x" * 100_000)), "$.notes"


def wrong_texts() -> Iterator[Case]:
    """Lone surrogates, control characters, line breaks where one line is meant."""
    for name, escape in (
        ("surrogate", "\\ud800"),
        ("low-surrogate", "\\udc00"),
        ("nul", "\\u0000"),
        ("escape", "\\u001b[31m"),
        ("delete", "\\u007f"),
        ("bell", "\\u0007"),
        ("c1-csi", "\\u009b31m"),
        ("next-line", "\\u0085"),
    ):
        for path in (
            ("title",),
            ("notes",),
            ("wire", "metal"),
            ("metals", 0, "name"),
            ("variants", 0, "title"),
        ):
            yield f"{name}-in-{place_of(path)}", text(put(path, "@"), f'"a{escape}b"'), place_of(path)
        yield f"{name}-in-key", json.dumps(put(("KEY",), 1)).replace("KEY", f"a{escape}b").encode(), "$"
        twice = f'{{"a{escape}b": 1, "a{escape}b": 2}}'
        yield f"{name}-in-key-twice", twice.encode(), ""
    for name, break_ in (("newline", "\\n"), ("return", "\\r"), ("line-separator", "\\u2028")):
        yield f"{name}-in-title", text(put(("title",), "@"), f'"a{break_}b"'), "$.title"
        yield f"{name}-in-key", json.dumps(put(("KEY",), 1)).replace("KEY", f"a{break_}b").encode(), "$"
    yield "key-of-100000-letters", utf8(put(("k" * 100_000,), 1)), "$"
    yield "raw-control-character", utf8(RICH).replace(b"Eddy", b"Ed\x01dy"), "line 1"
    yield "raw-newline-in-text", utf8(RICH).replace(b"Eddy", b"Ed\ndy"), "line 1"


def wrong_bytes() -> Iterator[Case]:
    data = utf8(RICH)
    yield "empty", b"", ""
    yield "blank", b" \n\t ", ""
    yield "bom", b"\xef\xbb\xbf" + data, ""
    yield "utf-16", json.dumps(RICH).encode("utf-16"), ""
    yield "utf-32", json.dumps(RICH).encode("utf-32"), ""
    yield "latin-1", json.dumps(put(("title",), "é"), ensure_ascii=False).encode("latin-1"), ""
    yield "cesu-surrogates", data.replace(b"Eddy", b"\xed\xa0\x80"), ""
    yield "overlong", data.replace(b"Eddy", b"\xc0\xaf"), ""
    yield "last-byte-missing", data.replace(b"Eddy", "é".encode()[:1]), ""
    yield "nul-bytes", b"\x00" * 64, ""
    yield "nul-after", data + b"\x00", ""
    yield "picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256)), ""
    yield "svg", b'<svg xmlns="http://www.w3.org/2000/svg"/>', "line 1"
    yield "two-designs", data + data, "line 1"
    yield "after-it", data + b" x", "line 1"
    yield "comment", b"// a bracelet\n" + data, "line 1"
    yield "trailing-comma", data[:-1] + b",}", "line 1"
    yield "single-quotes", str(RICH).encode(), "line 1"
    yield "bare-word", b"hello", "line 1"
    yield "plus-sign", text(put(("wire", "diameter_mm"), "@"), "+1"), "line 1"
    yield "leading-zero", text(put(("wire", "diameter_mm"), "@"), "01"), "line 1"
    yield "decimal-comma", text(put(("wire", "diameter_mm"), "@"), "1,29"), "line 1"
    yield "hexadecimal", text(put(("wire", "diameter_mm"), "@"), "0x1"), "line 1"
    yield "bad-escape", text(put(("title",), "@"), '"\\x41"'), "line 1"
    yield "half-escape", text(put(("title",), "@"), '"\\u12"'), "line 1"
    for count in (1, 997, 5_000, 100_000):
        for name, opening, closing in (("lists", "[", "]"), ("objects", '{"a":', "}")):
            inner = "1" if closing == "}" else ""
            yield f"{count}-{name}", (opening * count + inner + closing * count).encode(), ""
            yield f"{count}-{name}-open", (opening * count).encode(), ""
    yield "nested-notes", text(put(("notes",), "@"), "[" * 100_000 + "]" * 100_000), ""
    yield "nested-spans", text(put(("form", "runs"), "@"), "[" * 400 + "]" * 400), "$.form.runs"


def truncated() -> Iterator[Case]:
    """The rich design cut off after so many bytes, as a full disk or a pulled stick leaves it."""
    data = json.dumps(RICH, indent=1).encode()
    for place in range(1, len(data), max(1, len(data) // 60)):
        yield f"first-{place}-bytes", data[:place], "line "


CASES = [
    case
    for make in (
        wrong_types,
        wrong_numbers,
        wrong_keys,
        wrong_headers,
        wrong_forms,
        wrong_texts,
        wrong_bytes,
        truncated,
    )
    for case in make()
]


def assert_one_clear_line(line: str, name: str, place: str) -> None:
    """One line, printable, that names the file and the place and says what was expected."""
    assert line.endswith("\n") and line.count("\n") == 1, line
    sentence = line[:-1]
    assert all(unicodedata.category(letter)[0] != "C" for letter in sentence), ascii(sentence[:300])
    assert "Traceback" not in sentence and "Error" not in sentence
    assert len(sentence) <= LONGEST_LINE
    assert name in sentence
    assert place in sentence
    assert re.search("expected|required", sentence, re.IGNORECASE), sentence


def test_the_rich_design_itself_is_sound(tmp_path: Path) -> None:
    for name, end in {"rich": RICH["form"]["start"], **OTHER_ENDS}.items():
        path = tmp_path / f"{name}.formsketch.json"
        path.write_bytes(utf8(put(("form", "start"), end)))
        code, out, err = run_in_process("check", str(path))
        assert (code, out, err) == (0, f"{path}: sound\n", "")


def test_there_are_at_least_two_hundred_different_bad_files() -> None:
    assert len({data for _, data, _ in CASES}) >= 200
    assert len({name for name, _, _ in CASES}) == len(CASES)


@pytest.mark.parametrize(("data", "place"), [pytest.param(d, p, id=n) for n, d, p in CASES])
def test_a_bad_file_is_refused_in_one_line(data: bytes, place: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.formsketch.json"
    path.write_bytes(data)
    for command in (("measure", str(path), "--json"), ("check", str(path))):
        code, out, err = run_in_process(*command)
        assert (code, out) == (2, ""), err
        assert_one_clear_line(err, path.name, place)
    assert path.read_bytes() == data


# What the disk can do


def a_folder(folder: Path) -> Path:
    return folder


def missing(folder: Path) -> Path:
    return folder / "missing.formsketch.json"


def missing_folder(folder: Path) -> Path:
    return folder / "none" / "missing.formsketch.json"


def a_file_as_folder(folder: Path) -> Path:
    (folder / "plain").write_text("x")
    return folder / "plain" / "missing.formsketch.json"


def a_name_too_long(folder: Path) -> Path:
    return folder / ("n" * 400 + ".formsketch.json")


def a_link_to_itself(folder: Path) -> Path:
    path = folder / "loop.formsketch.json"
    path.symlink_to(path)
    return path


def a_link_to_nothing(folder: Path) -> Path:
    path = folder / "dangling.formsketch.json"
    path.symlink_to(folder / "gone")
    return path


def twenty_five_megabytes(folder: Path) -> Path:
    path = folder / "large.formsketch.json"
    path.write_bytes(utf8(put(("notes",), "x" * 25_000_000)))
    return path


def twenty_five_megabytes_of_blanks(folder: Path) -> Path:
    path = folder / "blank.formsketch.json"
    path.write_bytes(utf8(RICH) + b" " * 25_000_000)
    return path


def without_end(folder: Path) -> Path:
    if not Path("/dev/zero").exists():
        pytest.skip("this system has no file without end")
    return Path("/dev/zero")


def escape_in_the_name(folder: Path) -> Path:
    return folder / "a\x1b[31mb.formsketch.json"


def newline_in_the_name(folder: Path) -> Path:
    return folder / "a\nb.formsketch.json"


def bytes_in_the_name(folder: Path) -> Path:
    return folder / os.fsdecode(b"a\xff.formsketch.json")


@pytest.mark.skipif(sys.platform == "win32", reason="names and links of POSIX systems")
@pytest.mark.parametrize("command", ["measure", "check"])
@pytest.mark.parametrize(
    "make",
    [
        a_folder,
        missing,
        missing_folder,
        a_file_as_folder,
        a_name_too_long,
        a_link_to_itself,
        a_link_to_nothing,
        twenty_five_megabytes,
        twenty_five_megabytes_of_blanks,
        without_end,
        escape_in_the_name,
        newline_in_the_name,
        bytes_in_the_name,
    ],
)
def test_a_file_that_cannot_be_read(make: Callable[[Path], Path], command: str, tmp_path: Path) -> None:
    path = make(tmp_path)
    code, out, err = run_in_process(command, str(path))
    assert (code, out) == (2, ""), err
    name = path.name if path.name.isascii() and path.name.isprintable() else ""
    assert_one_clear_line(err, name[:200], "")


def test_a_nul_in_the_path() -> None:
    # No command line can carry one, a window's field can.
    with pytest.raises(DesignFileError) as refused:
        load_design("a\0b.formsketch.json")
    assert_one_clear_line(f"{refused.value}\n", "b.formsketch.json", "name")


def test_an_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "locked.formsketch.json"
    path.write_bytes(utf8(RICH))
    path.chmod(0)
    if os.access(path, os.R_OK):  # root reads everything: let the system's own refusal stand in

        def refused(*_: Any, **__: Any) -> Any:
            raise PermissionError(13, "Permission denied", str(path))

        monkeypatch.setattr("builtins.open", refused)
    code, out, err = run_in_process("measure", str(path))
    monkeypatch.undo()
    path.chmod(stat.S_IRUSR | stat.S_IWUSR)
    assert (code, out) == (2, "")
    assert_one_clear_line(err, path.name, "permission")


def test_one_bad_file_among_good_ones_is_named_and_the_others_are_checked(tmp_path: Path) -> None:
    good, bad, last = (tmp_path / f"{name}.formsketch.json" for name in ("good", "bad", "last"))
    good.write_bytes(utf8(RICH))
    last.write_bytes(utf8(RICH))
    bad.write_bytes(utf8(put(("wire", "diameter_mm"), -1)))
    code, out, err = run_in_process("check", str(good), str(bad), str(last))
    assert code == 2
    assert out == f"{good}: sound\n{last}: sound\n"
    assert_one_clear_line(err, bad.name, "$.wire.diameter_mm")


# No file is left behind, in this process or in one of its own

LEAVING_NOTHING = (
    "type-$.wire.diameter_mm",
    "huge-$.wire.diameter_mm",
    "digits-$.form.runs[0].spans[0].length_mm",
    "NaN-$.hammer.spread",
    "unknown-key-$.form.runs[0].spans[0].flare",
    "twice-diameter_mm",
    "version-2",
    "unknown-metal",
    "surrogate-in-key",
    "escape-in-key",
    "surrogate-in-$.title",
    "latin-1",
    "bom",
    "empty",
    "100000-lists",
    "100000-objects-open",
)


def bad_and_out(case: str, folder: Path) -> tuple[Path, Path, str]:
    _, data, place = next(made for made in CASES if made[0] == case)
    path = folder / "bad.formsketch.json"
    path.write_bytes(data)
    return path, folder / "out.svg", place


@pytest.mark.parametrize("case", LEAVING_NOTHING)
def test_a_bad_file_leaves_no_file_behind(case: str, tmp_path: Path) -> None:
    path, out, place = bad_and_out(case, tmp_path)
    code, printed, said = run_in_process("template", str(path), "-o", str(out))
    assert (code, printed) == (2, ""), said
    assert_one_clear_line(said, path.name, place)
    assert [item.name for item in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("case", LEAVING_NOTHING[:2])
def test_nor_does_it_in_a_real_process(case: str, tmp_path: Path) -> None:
    path, out, place = bad_and_out(case, tmp_path)
    command = [sys.executable, "-W", "error", "-m", "formsketch", "template", str(path), "-o", str(out)]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=60)
    assert (done.returncode, done.stdout) == (2, ""), done.stderr
    assert_one_clear_line(done.stderr, path.name, place)
    assert [item.name for item in tmp_path.iterdir()] == [path.name]
