"""Files of every released version open for ever; files of later ones are refused and left as they are.

The files in `released/` are kept as the version named wrote them. A new version of the file adds its own and
changes none: their digests stand here.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from formsketch.bench.metals import load_metals
from formsketch.design.file_format import design_bytes, load_design, read_design, save_design
from formsketch.design.migrations import CURRENT_VERSION
from formsketch.errors import DesignFileError
from formsketch.evaluation.evaluate import evaluate

RELEASED = Path(__file__).parent / "released"
# Version of the program, version of its files, digest, and what the file says when it is read by eye:
# title, spans with repeats, variants.
WRITTEN = {
    "0.1.0-bracelet": (
        1,
        "ba2ef0a6de36659c7a770dbc33d505112fcd4f6630fc52e9fbb418d878d0a644",
        "Eddy bracelet",
        19,
        4,
    ),
    "0.1.0-every-key": (
        1,
        "5c7fc51c0645496c0bd965bd07ae326431fb943dbf9b315117be8206853cccd0",
        "Every key",
        9,
        2,
    ),
}


@pytest.mark.parametrize("name", WRITTEN)
def test_a_file_of_every_version_opens_for_ever(name: str, tmp_path: Path) -> None:
    version, digest, title, spans, variants = WRITTEN[name]
    file = RELEASED / f"{name}.formsketch.json"
    data = file.read_bytes()
    assert hashlib.sha256(data).hexdigest() == digest
    assert json.loads(data)["version"] == version
    loaded = load_design(file)
    design = loaded.design
    assert (design.title, design.wire.diameter_mm, len(design.variants)) == (title, 1.290846, variants)
    assert sum(run.times * len(run.spans) for run in design.form.runs) == spans
    # Unchanged it is saved as it was; written anew it says the same.
    copy = tmp_path / file.name
    assert save_design(copy, design, loaded).data == copy.read_bytes() == data
    assert read_design(design_bytes(design), "again").design == design
    assert evaluate(design, load_metals()).weight_g > 0


def test_every_version_of_the_file_is_kept_here() -> None:
    assert {version for version, *_ in WRITTEN.values()} == set(range(1, CURRENT_VERSION + 1))
    assert {file.name.removesuffix(".formsketch.json") for file in RELEASED.iterdir()} == set(WRITTEN)


@pytest.mark.parametrize("later", [CURRENT_VERSION + 1, 99])
def test_a_file_of_a_later_version_is_refused_and_left_as_it_is(tmp_path: Path, later: int) -> None:
    tree = json.loads((RELEASED / "0.1.0-bracelet.formsketch.json").read_bytes())
    # With things in it that this version cannot know.
    data = json.dumps({**tree, "version": later, "enamel": {"colour": "blue"}}).encode()
    file = tmp_path / "later.formsketch.json"
    file.write_bytes(data)
    with pytest.raises(DesignFileError, match=rf"\$\.version.*written by a later program \({later}\)"):
        load_design(file)
    assert file.read_bytes() == data
