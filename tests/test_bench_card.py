"""The bench card and the maker's own order of work."""

from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest

from formsketch.bench.working_order import OPERATIONS, load_order, save_order, usual_order
from formsketch.design.file_format import load_design
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.shipped import demo_design_files
from formsketch.template.bench_card import card_sheets
from formsketch.template.bench_card_html import card_html
from formsketch.template.bench_steps import bench_steps, tubes_to_fetch
from formsketch.template.drawing import Text, text_box, walk
from formsketch.template.pdf import pdf_bytes
from formsketch.units import length_text, weight_text

DEMOS = demo_design_files()


def demo(file: Path) -> Evaluation:
    return evaluate(load_design(file).design)


class _Reader(HTMLParser):
    """Every tag closed in its turn, and the words."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ("meta", "input"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_the_card_is_a_page_or_two_and_says_what_the_numbers_say(file: Path) -> None:
    evaluation = demo(file)
    sheets = card_sheets(evaluation)
    assert 1 <= len(sheets) <= 2
    document = pdfium.PdfDocument(pdf_bytes(sheets))
    printed = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)
    assert length_text(evaluation.cut_length_mm) in printed and weight_text(evaluation.weight_g) in printed
    for sheet in sheets:
        boxes = np.array([text_box(item) for item in walk(sheet.groups) if isinstance(item, Text)])
        assert boxes.min() > 0 and boxes[:, 2].max() < sheet.width_mm and boxes[:, 3].max() < sheet.height_mm
    assert pdf_bytes(card_sheets(evaluation)) == pdf_bytes(sheets)


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_the_page_is_whole_and_says_the_same(file: Path) -> None:
    evaluation = demo(file)
    page = card_html(evaluation)
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    words = " ".join(reader.words)
    for step in bench_steps(evaluation):
        assert step.title in words
        assert all(line in words for line in step.lines)
    assert "<svg" in page and 'height="' in page and page == card_html(evaluation)


def test_markup_in_a_title_is_only_text() -> None:
    import msgspec

    design = load_design(DEMOS[0]).design
    page = card_html(evaluate(msgspec.structs.replace(design, title="<b>&x", notes="<script>1</script>")))
    assert "&lt;b&gt;&amp;x" in page and "<script>" not in page


def test_steps_keep_the_makers_order_and_leave_out_what_is_not_needed() -> None:
    evaluation = demo(next(file for file in DEMOS if "eddy" in file.name))
    usual = [step.key for step in bench_steps(evaluation)]
    assert usual == [key for key in OPERATIONS if key in usual] and "post" not in usual
    own = tuple(reversed(usual_order()))
    assert [step.key for step in bench_steps(evaluation, own)] == list(reversed(usual))


def test_every_bend_has_its_tube_to_fetch() -> None:
    evaluation = demo(next(file for file in DEMOS if "eddy" in file.name))
    named = " ".join(tubes_to_fetch(evaluation))
    assert "Ø" in named and "spans 3, 17" in named


def test_an_own_order_is_kept_and_a_bad_one_refused(tmp_path: Path) -> None:
    file = tmp_path / "own" / "working-order.json"
    assert load_order(file) == usual_order()
    own = ("cut", "straighten", *usual_order()[2:])
    save_order(own, file)
    assert load_order(file) == own
    before = file.read_bytes()
    for bad, says in ((("cut",), "once"), ((*own, "cut"), "once"), ((*own[1:], "dance"), "dance")):
        with pytest.raises(FormSketchError, match=says):
            save_order(bad, file)
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    "text",
    ["", "[", "{}", "[" * 5000, '{"format": "formsketch-working-order", "version": 1, "operations": [1]}'],
)
def test_a_bad_file_is_explained(tmp_path: Path, text: str) -> None:
    file = tmp_path / "working-order.json"
    file.write_text(text)
    with pytest.raises(FormSketchError, match="expected"):
        load_order(file)
