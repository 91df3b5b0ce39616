"""A slip in one of the person's own tables is told and stops nothing; once mended the table is used again."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from formsketch.bench.metals import load_metals
from formsketch.bench.tubes import load_tubes
from formsketch.bench.user_tables import user_hammers_file, user_metals_file, user_tubes_file
from formsketch.evaluation.evaluate import evaluate
from formsketch.ui.main import set_aside_faulty_tables
from formsketch.ui.window import Window

Open = Callable[..., Window]

# What the row has to hold is the README's; the metal is invented.
SOUND_METAL = """{"format": "formsketch-metals", "version": 1, "metals": [{"key": "tide",
"name": "Tide metal", "density_g_per_cm3": 9.0, "nickel": false, "zinc": false,
"e_low_gpa": 100, "e_high_gpa": 110, "known": "D",
"source": "invented for this test"}]}"""


@pytest.fixture
def tables(own_tables: Path) -> Path:
    own_tables.mkdir(parents=True)
    return own_tables


def test_without_own_tables_nothing_is_said(tables: Path) -> None:
    assert set_aside_faulty_tables() == []


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("metals.json", "{not json", "metals"),
        ("metals.json", '{"format": "formsketch-metals", "version": 1, "metals": [{"key": "a"}]}', "metals"),
        ("tubes.json", '{"format": "formsketch-tubes", "version": 9, "tubes": []}', "tubes"),
        ("hammers.json", "[]", "hammers"),
    ],
)
def test_a_faulty_table_is_told_and_left_out(
    open_window: Open, tables: Path, name: str, text: str, said: str
) -> None:
    file = tables / name
    file.write_text(text, encoding="utf-8")
    (sentence,) = set_aside_faulty_tables()
    assert sentence.startswith(str(file))
    assert sentence.endswith(f"Until that is mended only the listed {said} are used.")
    window = open_window()
    assert evaluate(window.session.design).cut_length_mm > 0
    assert load_metals(user_metals_file()) == load_metals()
    assert load_tubes(user_tubes_file()) == load_tubes()
    assert file.read_text(encoding="utf-8") == text


def test_a_mended_table_is_used_again_at_once(tables: Path) -> None:
    file = tables / "metals.json"
    file.write_text("{not json", encoding="utf-8")
    assert len(set_aside_faulty_tables()) == 1
    assert user_metals_file() is None
    file.write_text(SOUND_METAL, encoding="utf-8")
    os.utime(file, ns=(1, 1))
    assert user_metals_file() == file
    assert "tide" in load_metals(user_metals_file())
    assert set_aside_faulty_tables() == []


def test_one_faulty_table_leaves_the_others(tables: Path) -> None:
    (tables / "metals.json").write_text(SOUND_METAL, encoding="utf-8")
    (tables / "hammers.json").write_text("[]", encoding="utf-8")
    assert len(set_aside_faulty_tables()) == 1
    assert user_metals_file() is not None
    assert user_hammers_file() is None
