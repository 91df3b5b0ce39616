"""The template in the window: chosen, seen, saved, printed; the bench card and its order of work."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from formsketch.bench import user_tables
from formsketch.bench.working_order import load_order
from formsketch.design.edits import change_run
from formsketch.design.file_format import load_design
from formsketch.design.transforms import scaled_form
from formsketch.evaluation.evaluate import evaluate
from formsketch.shipped import demo_design_files
from formsketch.template.drawing import Text, walk
from formsketch.template.printed import PART_WORDS, Choice, printed_sheets
from formsketch.ui.card_dialog import CardDialog
from formsketch.ui.paint_sheet import paint_sheet
from formsketch.ui.plain_lines_dialog import PlainLinesDialog
from formsketch.ui.template_dialog import TemplateDialog, paint_on_printer
from formsketch.ui.window import Window
from formsketch.ui.working_order_dialog import WorkingOrderDialog
from tests.support.asked import Asked, trigger

pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

# Half of it has as many parts and is laid out in half the time.
EDDY = change_run(
    load_design(next(file for file in demo_design_files() if "eddy" in file.name)).design, 1, times=7
)
MM_PER_POINT = 25.4 / 72


def click(button: QPushButton) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def tick(box: object) -> None:
    box.setFocus()  # type: ignore[attr-defined]
    QTest.keyClick(box, Qt.Key.Key_Space)  # type: ignore[arg-type]
    QApplication.processEvents()


def test_parts_and_paper_are_chosen_seen_and_saved(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window(EDDY)
    file = tmp_path / "eddy.pdf"
    asked.file = (str(file), "")
    pages: list[int] = []

    def choose(dialog: TemplateDialog) -> None:
        assert dialog.paper.currentData() in ("a4", "letter") and dialog.parts["rule"].isEnabled()
        dialog.paper.setFocus()
        QTest.keyClicks(dialog.paper, "one")
        assert len(dialog.sheets) == 1 and not dialog.parts["rule"].isEnabled()
        QTest.keyClick(dialog.paper, Qt.Key.Key_Home)
        assert dialog.paper.currentData() == "a4"
        tick(dialog.parts["rule"])
        pages.append(len(dialog.sheets))
        assert dialog.number.text() == f"1 of {pages[0]}" and pages[0] > 1
        click(dialog.after)
        assert dialog.number.text() == f"2 of {pages[0]}"
        assert "sheet 2 of" in dialog.preview.accessibleDescription()
        shown = dialog.preview.grab().toImage()
        dark = [shown.pixelColor(x, y).lightness() for x in range(40, 430) for y in range(60, 500, 7)]
        assert min(dark) < 60
        click(dialog.save_button)
        assert dialog.result()

    asked.drive(TemplateDialog, choose)
    before = window.session.design
    trigger(window, "lay_out_template")
    assert len(pdfium.PdfDocument(file)) == pages[0] and window.session.design is before
    # The next time it opens as it was left.
    asked.drive(TemplateDialog, lambda dialog: pages.append(len(dialog.sheets)))
    trigger(window, "lay_out_template")
    assert pages == [pages[0]] * 2


def test_a_bar_that_measured_otherwise_is_put_right_or_explained(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    def choose(dialog: TemplateDialog) -> None:
        QTest.keyClicks(dialog.paper, "A4")
        for typed, faulty in (("50", True), ("99", False), ("fish", True)):
            dialog.across.setFocus()
            dialog.across.selectAll()
            QTest.keyClicks(dialog.across, typed)
            QTest.keyClick(dialog.across, Qt.Key.Key_Return)
            assert dialog.fault.isVisible() == faulty, typed
            QTest.keyClick(dialog.across, Qt.Key.Key_Escape)
        words = " ".join(item.text for item in walk(dialog.sheets[0].groups) if isinstance(item, Text))
        assert "99.0 mm across" in words

    asked.drive(TemplateDialog, choose)
    trigger(open_window(EDDY), "lay_out_template")


def test_margins_and_overlaps_are_typed_or_explained(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    def choose(dialog: TemplateDialog) -> None:
        QTest.keyClicks(dialog.paper, "A4")
        for field, typed, faulty in (
            (dialog.margin, "1/2 in", False),
            (dialog.margin, "80", True),
            (dialog.overlap, "1", True),
            (dialog.overlap, "15", False),
        ):
            field.setFocus()
            field.selectAll()
            QTest.keyClicks(field, typed)
            QTest.keyClick(field, Qt.Key.Key_Return)
            assert dialog.fault.isVisible() == faulty, typed
            QTest.keyClick(field, Qt.Key.Key_Escape)
        assert (dialog.margin.text(), dialog.overlap.text()) == ("12.70 mm", "15.00 mm")
        heading = next(item for item in walk(dialog.sheets[0].groups) if isinstance(item, Text))
        assert heading.position[0] >= 12.7

    asked.drive(TemplateDialog, choose)
    trigger(open_window(EDDY), "lay_out_template")


def test_nothing_chosen_is_explained_and_cannot_be_saved(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    def choose(dialog: TemplateDialog) -> None:
        QTest.keyClicks(dialog.paper, "A4")
        for box in dialog.parts.values():
            if box.isChecked():
                tick(box)
        assert "expected some of" in dialog.fault.text() and not dialog.save_button.isEnabled()

    asked.drive(TemplateDialog, choose)
    trigger(open_window(EDDY), "lay_out_template")


def test_several_sheets_as_svg_ask_before_replacing(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window(EDDY)
    asked.file = (str(tmp_path / "eddy.svg"), "")
    (tmp_path / "eddy-2.svg").write_text("mine")

    def choose(dialog: TemplateDialog) -> None:
        QTest.keyClicks(dialog.paper, "A4")
        click(dialog.save_button)

    asked.drive(TemplateDialog, choose)
    trigger(window, "lay_out_template")
    assert asked.to_replace == ["eddy-2.svg"] and (tmp_path / "eddy-2.svg").read_text() == "mine"
    asked.replace_answer = True
    trigger(window, "lay_out_template")
    assert "<svg" in (tmp_path / "eddy-2.svg").read_text()


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_printer_prints_at_true_size(qapp: QApplication, tmp_path: Path, paper: str) -> None:
    # Qt prints into a PDF; PDFium reads it back: a bar of 100 mm is 100 mm long [PDF unit 1/72 inch].
    from formsketch.template.papers import paper_named

    chosen = paper_named(paper)
    sheets = printed_sheets(evaluate(EDDY), Choice(tuple(PART_WORDS), chosen))
    file = tmp_path / "printed.pdf"
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(file))
    paint_on_printer(printer, sheets)
    document = pdfium.PdfDocument(file)
    assert len(document) == len(sheets)
    width, height = document[0].get_size()
    assert (width * MM_PER_POINT, height * MM_PER_POINT) == pytest.approx(
        (chosen.width_mm, chosen.height_mm), abs=0.3
    )
    per_mm = 10.0
    picture = document[0].render(scale=per_mm * MM_PER_POINT, grayscale=True).to_numpy().squeeze()
    rows = picture[int(0.85 * len(picture)) :] < 100
    # The bar 100 mm long is the longest run of ink but one: the 4 inch bar under it.
    runs = sorted({_longest_run(row) / per_mm for row in rows}, reverse=True)
    assert any(abs(run - 100.0) < 0.8 for run in runs) and any(abs(run - 101.6) < 0.8 for run in runs)


def _longest_run(row: np.ndarray) -> int:  # type: ignore[type-arg]
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
    return int(np.max(edges[1::2] - edges[::2])) if len(edges) else 0


def test_the_preview_is_clipped_at_a_tiles_window(qapp: QApplication) -> None:
    wide = evaluate(scaled_form(load_design(_demo("spring-tide")).design, 6.0))
    sheets = printed_sheets(wide, Choice(("finished",)))
    sheet = next(sheet for sheet in sheets if any(g.name == "tile" for g in sheet.groups))
    clip = next(g for g in sheet.groups if g.name == "tile").clip
    assert clip is not None
    image = QImage(int(3 * sheet.width_mm), int(3 * sheet.height_mm), QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    paint_sheet(painter, sheet, 3.0)
    painter.end()
    beyond = int(clip[2] * 3 + 8)
    column = [
        image.pixelColor(beyond, y).lightness() for y in range(int(clip[1] * 3) + 40, int(clip[3] * 3) - 20)
    ]
    assert min(column) > 200


def _demo(name: str) -> Path:
    return next(file for file in demo_design_files() if name in file.name)


@pytest.mark.parametrize(("suffix", "begins"), [("pdf", b"%PDF-"), ("html", b"<!DOCTYPE html>")])
def test_the_bench_card_is_written(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, suffix: str, begins: bytes
) -> None:
    file = tmp_path / f"card.{suffix}"
    asked.file = (str(file), "")
    asked.drive(CardDialog, lambda dialog: click(dialog.save_button))
    trigger(open_window(EDDY), "export_card")
    assert file.read_bytes().startswith(begins)


def test_the_bench_card_is_seen_printed_and_set_anew_for_another_paper_and_order(
    open_window: Callable[..., Window], asked: Asked, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("formsketch.bench.working_order.user_tables_folder", lambda: tmp_path)
    printed: list[str] = []
    monkeypatch.setattr(
        "formsketch.ui.template_dialog.print_sheets",
        lambda parent, sheets: not printed.extend(sheet.title for sheet in sheets),
    )
    window = open_window(EDDY)

    def add(dialog: WorkingOrderDialog) -> None:
        click(dialog.add)
        dialog.accept()

    def look(dialog: CardDialog) -> None:
        QTest.keyClicks(dialog.paper, "Let")
        assert dialog.paper.currentData() == "letter" and dialog.sheets[0].height_mm == pytest.approx(279.4)
        assert dialog.pages.number.text() == "1 of 2"
        click(dialog.pages.after)
        assert "sheet 2 of 2" in dialog.pages.preview.accessibleDescription()
        asked.drive(WorkingOrderDialog, add)
        click(dialog.order_button)
        words = [
            item.text for sheet in dialog.sheets for item in walk(sheet.groups) if isinstance(item, Text)
        ]
        assert "2. Step of my own" in words
        click(dialog.print_button)
        assert dialog.result()

    asked.drive(CardDialog, look)
    trigger(window, "export_card")
    assert len(printed) == 2 and printed[0].startswith("Bench card: Eddy bracelet")
    asked.drive(CardDialog, lambda dialog: printed.append(dialog.paper.currentData()))
    trigger(window, "export_card")
    assert printed[-1] == "letter"


@pytest.mark.parametrize("suffix", ["svg", "dxf"])
def test_plain_lines_and_bends_are_written(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, suffix: str
) -> None:
    window = open_window(EDDY)
    asked.file = (str(tmp_path / f"lines.{suffix}"), "")

    def choose(dialog: PlainLinesDialog) -> None:
        assert dialog.layers == ("outline", "centreline", "marks")
        for name in dialog.layers:
            tick(dialog.boxes[name])
        assert not dialog.save.isEnabled()
        tick(dialog.boxes["bent-outline"])
        tick(dialog.boxes["bars"])
        click(dialog.save)
        assert dialog.result()

    asked.drive(PlainLinesDialog, choose)
    trigger(window, "export_geometry")
    written = (tmp_path / f"lines.{suffix}").read_text().lower()
    assert "bent-outline" in written and "bars" in written and "centreline" not in written
    # The next time it opens as it was left.
    asked.drive(PlainLinesDialog, lambda dialog: kept.append(dialog.layers))
    kept: list[tuple[str, ...]] = []
    trigger(window, "export_geometry")
    assert kept == [("bent-outline", "bars")]
    asked.file = (str(tmp_path / "bends.csv"), "")
    trigger(window, "export_bends")
    assert (tmp_path / "bends.csv").read_text().startswith("bend,kind")


def test_the_order_of_work_is_changed_and_kept(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(user_tables, "user_tables_folder", lambda: tmp_path)
    monkeypatch.setattr("formsketch.bench.working_order.user_tables_folder", lambda: tmp_path)
    window = open_window(EDDY)

    def leave(dialog: WorkingOrderDialog) -> None:
        click(dialog.later)
        dialog.reject()

    asked.drive(WorkingOrderDialog, leave)
    trigger(window, "change_working_order")
    usual = load_order()

    def swap(dialog: WorkingOrderDialog) -> None:
        assert not dialog.earlier.isEnabled()
        click(dialog.later)
        dialog.accept()

    asked.drive(WorkingOrderDialog, swap)
    trigger(window, "change_working_order")
    assert load_order() == (usual[1], usual[0], *usual[2:])


def test_a_form_that_cannot_be_made_is_explained(open_window: Callable[..., Window], asked: Asked) -> None:
    from msgspec.structs import replace

    from formsketch.design.model import Flare, Form, Run, Span

    flat = Span(length_mm=40.0, flare=Flare(thickness=0.1))
    window = open_window(replace(EDDY, form=Form(runs=(Run(spans=(flat,)),))))
    for name in ("lay_out_template", "export_card", "export_geometry", "export_bends"):
        trigger(window, name)
        assert asked.explained.pop().startswith("No template of")


def test_settings_that_are_odd_are_passed_over(qapp: QApplication) -> None:
    settings = QSettings()
    settings.setValue("template/paper", "papyrus")
    dialog = TemplateDialog(None, evaluate(EDDY), settings, lambda sheets: None, lambda parent, sheets: False)
    assert dialog.paper.currentData() in ("a4", "letter") and dialog.sheets
    dialog.deleteLater()
