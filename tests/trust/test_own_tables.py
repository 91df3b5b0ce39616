"""A maker's own tables that are none: each refused in one line, quickly, whatever it is."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest

from formsketch.bench.metals import load_metals
from formsketch.bench.tables import LARGEST_TABLE_BYTES
from formsketch.bench.tubes import load_tubes
from formsketch.errors import TableError


def refusal(file: Path) -> str:
    with pytest.raises(TableError) as refused:
        load_tubes(file)
    sentence = str(refused.value)
    assert sentence.isprintable()
    assert file.name in sentence
    return sentence


def table(rows: str) -> str:
    return f'{{"format": "formsketch-tubes", "version": 1, "tubes": [{rows}]}}'


@pytest.mark.parametrize("odd", ["\\u0000", "\\u001b[31m", "\\u202e", "\\ud800", "\\n"])
def test_letters_of_the_file_steer_no_terminal(tmp_path: Path, odd: str) -> None:
    file = tmp_path / "tubes.json"
    for rows in (
        f'{{"label": "1", "diameter_mm": 1, "a{odd}b": 2}}',
        f'{{"label": "a{odd}b", "diameter_mm": -1}}',
    ):
        file.write_text(table(rows), encoding="utf-8")
        refusal(file)


def test_a_key_that_stands_twice_among_many_is_found_at_once(tmp_path: Path) -> None:
    # Looked for pair by pair this would take minutes.
    keys = ", ".join(f'"k{number}": 0' for number in range(200_000))
    file = tmp_path / "tubes.json"
    file.write_text(table(f'{{{keys}, "k199999": 1}}'), encoding="utf-8")
    assert '"k199999" stands twice' in refusal(file)


def test_numbers_of_thousands_of_digits_are_refused_in_words(tmp_path: Path) -> None:
    file = tmp_path / "tubes.json"
    file.write_text(table(f'{{"label": "1", "diameter_mm": {"9" * 5_000}}}'), encoding="utf-8")
    assert "ordinary length" in refusal(file)


def test_a_file_larger_than_any_table_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "tubes.json"
    file.write_bytes(b" " * (LARGEST_TABLE_BYTES + 1))
    assert "larger" in refusal(file)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such files")
def test_what_is_no_file_is_not_waited_for(tmp_path: Path) -> None:
    file = tmp_path / "tubes.json"
    os.mkfifo(file)
    assert "no file" in refusal(file)


def test_nesting_without_end_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "metals.json"
    file.write_text("[" * 200_000, encoding="utf-8")
    with pytest.raises(TableError, match=r"metals\.json"):
        load_metals(file)
    file.write_text(json.dumps({"format": "formsketch-metals", "version": 1, "metals": {}}), encoding="utf-8")
    with pytest.raises(TableError, match="a list of rows"):
        load_metals(file)
