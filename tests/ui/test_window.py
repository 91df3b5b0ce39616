"""The window: its menus and keys, files, dialogs, comparing, the template, and how it comes and goes."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, QSettings, Qt
from PySide6.QtGui import QImage, QKeySequence
from PySide6.QtWidgets import QApplication, QLabel, QMenu, QWidget

from formsketch.design.edits import SpanAddress, mirrored, span_at, with_variants
from formsketch.design.file_format import SUFFIX, design_bytes, load_design
from formsketch.design.model import (
    BeadEnd,
    Design,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    PlainEnd,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Variant,
    Wire,
)
from formsketch.design.starters import STARTERS, make_starter
from formsketch.shipped import demo_design_files
from formsketch.ui.bench_commands import BenchCommands
from formsketch.ui.commands import COMMANDS
from formsketch.ui.compare_commands import CompareCommands
from formsketch.ui.design_commands import DesignCommands
from formsketch.ui.ends_dialog import EndsDialog
from formsketch.ui.fields import QuantityField
from formsketch.ui.file_commands import FileCommands
from formsketch.ui.help_commands import HelpCommands
from formsketch.ui.main import opening_session
from formsketch.ui.picture_commands import PictureCommands
from formsketch.ui.recipe import PICTURE_WIDTH_PX, STEPS, picture_name
from formsketch.ui.screen_match import ScreenMatchDialog
from formsketch.ui.session import Session
from formsketch.ui.starter_dialog import StarterDialog
from formsketch.ui.template_commands import TemplateCommands
from formsketch.ui.theme import DARK, LIGHT
from formsketch.ui.variant_dialog import VariantDialog
from formsketch.ui.view_commands import ViewCommands
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import Asked, said, trigger
from tests.support.pixels import colours, number_of
from tests.support.strategies import EVERY_WAY

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
CONTROL = Qt.KeyboardModifier.ControlModifier
Show = Callable[[QWidget], QWidget]


def cuff() -> Design:
    return make_starter("open-cuff", BRASS)


def submenu(window: Window, title: str) -> QMenu:
    return next(menu for menu in window.findChildren(QMenu) if menu.title().replace("&", "") == title)


def write(file: Path, design: Design) -> Path:
    file.write_bytes(design_bytes(design))
    return file


# ---- the table of commands -----------------------------------------------------------------------------


HOLDERS = (
    Window,
    FileCommands,
    DesignCommands,
    PictureCommands,
    BenchCommands,
    CompareCommands,
    TemplateCommands,
    ViewCommands,
    HelpCommands,
)


def test_every_command_has_its_method_in_one_place() -> None:
    for command in COMMANDS:
        holders = [kind for kind in HOLDERS if command.name in kind.__dict__]
        assert len(holders) == 1, command.name
        assert callable(getattr(holders[0], command.name))


def test_no_two_commands_share_a_name_or_keys() -> None:
    assert Counter(c.name for c in COMMANDS).most_common(1)[0][1] == 1
    keys = Counter(QKeySequence(keys).toString() for c in COMMANDS for keys in c.keys)
    assert "" not in keys  # each is understood
    assert keys.most_common(1)[0][1] == 1


def test_every_command_says_what_it_does() -> None:
    for command in COMMANDS:
        assert command.hint.endswith("."), command.name
        assert command.text.replace("&", "")[0].isupper(), command.name


def test_menus_are_made_from_the_table(open_window: Callable[..., Window]) -> None:
    window = open_window()
    titles = [action.text() for action in window.menuBar().actions()]
    assert titles == list(dict.fromkeys(command.menu for command in COMMANDS))
    for top in window.menuBar().actions():
        own = [c for c in COMMANDS if c.menu == top.text()]
        menu = top.menu()
        assert isinstance(menu, QMenu)
        listed = [a for a in menu.actions() if a in window.actions_by_name.values()]
        assert listed == [window.actions_by_name[c.name] for c in own]
        for command, action in zip(own, listed, strict=True):
            assert action.text().startswith(command.text)
            assert action.statusTip() == command.hint
            assert action.isCheckable() == command.checkable
            assert [s.toString() for s in action.shortcuts()] == [
                QKeySequence(keys).toString() for keys in command.keys
            ]
    assert len(window.actions_by_name) == len(COMMANDS)


def test_letter_keys_are_told_apart_within_each_menu(open_window: Callable[..., Window]) -> None:
    window = open_window()
    bars = [window.menuBar().actions(), *(a.menu().actions() for a in window.menuBar().actions())]  # type: ignore[attr-defined]
    for actions in bars:
        letters = [a.text().split("&", 1)[1][0].lower() for a in actions if "&" in a.text()]
        assert len(letters) == len([a for a in actions if not a.isSeparator()])
        assert len(set(letters)) == len(letters), [a.text() for a in actions]


def test_every_command_can_be_chosen_and_left_again(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window(with_variants(cuff(), (Variant(title="light", diameter_mm=1.0),)))
    session, design = window.session, window.session.design
    for command in COMMANDS:
        window.selection.select(2)
        if not window.actions_by_name[command.name].isEnabled() or command.name == "close_window":
            continue
        trigger(window, command.name)
        if command.text.endswith("..."):
            # Those that ask first change nothing when they are thought better of.
            assert session.design is design, command.name
        while session.step_count:
            session.undo()
        assert session.design is design, command.name
    # Some have nothing to do on this form, and say so.
    assert all(sentence.endswith(".") for sentence in asked.explained)
    assert [title for title, _ in asked.pages] == [
        "How it works",
        "A bracelet in a few pulls",
        "Numbers at the bench",
        "Keys",
        "At the bench: cautions",
        "When something goes wrong",
        "About FormSketch",
    ]
    assert window.isVisible()


def test_the_page_of_keys_names_every_command(open_window: Callable[..., Window], asked: Asked) -> None:
    trigger(open_window(), "show_keys")
    ((_, html),) = asked.pages
    for command in COMMANDS:
        assert command.text.replace("&", "") in html
        for keys in command.keys:
            assert keys in html


def test_keys_reach_their_commands(open_window: Callable[..., Window]) -> None:
    window = open_window()
    first = window.session.design
    trigger(window, "mirror_form")
    events.key(window.canvas, Qt.Key.Key_Z, CONTROL)
    assert window.session.design is first
    events.key(window.canvas, Qt.Key.Key_Y, CONTROL)
    assert window.session.undo_name == "Mirror"
    trigger(window, "fit_form")
    scale = window.canvas.view.px_per_mm
    events.key(window.canvas, Qt.Key.Key_Plus, CONTROL)
    assert window.canvas.view.px_per_mm == pytest.approx(1.25 * scale)
    events.key(window.canvas, Qt.Key.Key_Home)
    assert window.canvas.view.px_per_mm == pytest.approx(scale)
    events.key(window.canvas, Qt.Key.Key_F4)
    assert window.pages.currentWidget() is window.compare_view
    events.key(window, Qt.Key.Key_F4)
    assert window.pages.currentIndex() == 0


def test_delete_takes_a_flare_on_the_form_and_letters_in_a_field(open_window: Callable[..., Window]) -> None:
    window = open_window()
    window.selection.select(2)
    field = next(f for f in window.panel.findChildren(QuantityField) if f.accessibleName() == "Turn")
    field.setFocus()
    field.setCursorPosition(0)
    events.key(field, Qt.Key.Key_Delete)
    assert window.session.step_count == 0
    events.key(field, Qt.Key.Key_Home)
    events.key(field, Qt.Key.Key_Right)
    assert window.selection.span == 2
    events.key(field, Qt.Key.Key_Escape)
    window.canvas.setFocus()
    events.key(window.canvas, Qt.Key.Key_Delete)
    assert span_at(window.session.design, SpanAddress(0, 2)).flare is None
    assert window.session.undo_name == "Leave span 3 unhammered"


def test_commands_follow_the_steps_and_the_selection(open_window: Callable[..., Window]) -> None:
    window = open_window(make_starter("row-of-s-forms", BRASS))
    actions = window.actions_by_name
    assert not any(actions[name].isEnabled() for name in ("undo", "redo", "remove_flare", "loosen_run"))
    trigger(window, "mirror_form")
    assert (actions["undo"].text(), actions["undo"].isEnabled()) == ("&Undo: Mirror", True)
    trigger(window, "undo")
    assert (actions["redo"].text(), actions["redo"].isEnabled()) == ("&Redo: Mirror", True)
    assert not actions["undo"].isEnabled()
    window.selection.select(0)  # a half span: not hammered, not repeated
    assert not actions["remove_flare"].isEnabled()
    assert not actions["loosen_run"].isEnabled()
    window.selection.select(3)
    assert actions["remove_flare"].isEnabled()
    assert actions["loosen_run"].isEnabled()
    assert not actions["flare_on_edge"].isChecked()
    trigger(window, "flare_on_edge")
    assert actions["flare_on_edge"].isChecked()
    trigger(window, "loosen_run")
    assert not actions["loosen_run"].isEnabled()


def test_menus_wait_while_the_form_is_pulled(open_window: Callable[..., Window]) -> None:
    window = open_window()
    trigger(window, "mirror_form")
    left, right = window.canvas.wire.mark_edges_mm
    start = window.canvas.view.to_px(complex(left[2] + right[2]) / 2)
    end = start + QPointF(20, 25)
    events.pull(window.canvas, start, end)
    pulled = window.session.design
    for name in ("undo", "mirror_form", "compare_forms", "new_design"):
        trigger(window, name)
        assert window.session.design is pulled
    assert window.pages.currentIndex() == 0
    events.release(window.canvas, end)
    assert window.session.undo_name == "Move mark 3"
    trigger(window, "undo")
    trigger(window, "undo")
    assert design_bytes(window.session.design) == design_bytes(cuff())


def test_title_bar_says_what_is_open_and_whether_it_is_saved(
    open_window: Callable[..., Window], tmp_path: Path
) -> None:
    window = open_window()
    assert window.windowTitle().startswith("Open cuff")
    assert window.isWindowModified()
    window.files.open_file(write(tmp_path / "hoop.formsketch.json", make_starter("hoop", BRASS)))
    assert window.windowTitle().startswith("Hoop")
    assert not window.isWindowModified()
    trigger(window, "mirror_form")
    assert window.isWindowModified()
    trigger(window, "undo")
    assert not window.isWindowModified()


# ---- edits from the menus ------------------------------------------------------------------------------


def test_edits_from_the_menus_are_one_step_each(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window(make_starter("row-of-loops", BRASS))
    session = window.session
    asked.number, asked.texts = 150.0, ("Renamed", "Two\nlines")
    window.selection.select(3)
    for name, step in (
        ("mirror_form", "Mirror"),
        ("scale_form", "Scale to 150 %"),
        ("change_texts", "Title and notes"),
        ("flare_on_edge", "Hammer span 4 on edge"),
        ("flare_on_edge", "Hammer span 4 flat"),
        ("flare_like_spans", "Flares like span 4"),
        ("loosen_run", "Loosen repeats"),
        ("remove_flare", "Leave span 4 unhammered"),
    ):
        before = session.design
        steps = session.step_count
        trigger(window, name)
        assert (session.step_count, session.undo_name) == (steps + 1, step)
        session.undo()
        assert session.design is before
        session.redo()
    assert session.design.title == "Renamed"
    assert session.design.notes == "Two\nlines"
    # Scaled by half as much again, mirrored, hammered alike, and written out.
    row = make_starter("row-of-loops", BRASS)
    loop = span_at(row, SpanAddress(1, 1))
    found = span_at(session.design, SpanAddress(1, 5))
    assert found == replace(loop, length_mm=1.5 * loop.length_mm, turn_deg=-loop.turn_deg)
    assert span_at(session.design, SpanAddress(1, 0)).flare == loop.flare
    assert span_at(session.design, SpanAddress(1, 1)).flare is None
    assert not asked.explained


def test_a_refused_edit_is_explained_and_changes_nothing(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window()
    design = window.session.design
    asked.number = 200_000.0
    trigger(window, "scale_form")
    assert len(asked.explained) == 1
    assert asked.explained[0] == said(window)
    assert window.session.design is design


# ---- new, open, save -----------------------------------------------------------------------------------


@pytest.mark.parametrize("row", range(len(STARTERS)), ids=list(STARTERS))
def test_a_new_design_from_each_starter_form(
    open_window: Callable[..., Window], asked: Asked, row: int
) -> None:
    starter = list(STARTERS.values())[row]
    window = open_window(replace(cuff(), title="Old"))

    def begin(dialog: StarterDialog) -> None:
        dialog.kinds.setCurrentRow(row)
        assert list(dialog.fields) == [number.name for number in starter.numbers]
        labels = [label.text() for label in dialog.findChildren(QLabel)]
        assert {number.label for number in starter.numbers} <= set(labels)
        assert not dialog.grab().isNull()
        dialog.accept()

    asked.drive(StarterDialog, begin)
    trigger(window, "new_design")
    session = window.session
    assert session.design == make_starter(starter.key, BRASS)
    assert (session.file, session.step_count, session.unsaved) == (None, 0, True)
    assert asked.to_save == ["Old"]
    assert not window.grab().isNull()


def test_a_starters_numbers_are_used_and_numbers_that_make_nothing_are_explained(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window()

    def begin(dialog: StarterDialog) -> None:
        dialog.kinds.setCurrentRow(list(STARTERS).index("figure-eight"))
        dialog.fields["between_mm"].setValue(5.0)
        begin_button = next(b for b in dialog._buttons.buttons() if b.text() == "Begin")
        assert not begin_button.isEnabled()
        assert any("at least" in label.text() for label in dialog.findChildren(QLabel))
        dialog.fields["between_mm"].setValue(31.0)
        assert begin_button.isEnabled()
        dialog.accept()

    asked.drive(StarterDialog, begin)
    trigger(window, "new_design")
    assert window.session.design == make_starter("figure-eight", BRASS, numbers={"between_mm": 31.0})


def test_new_can_be_thought_better_of(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window()
    design = window.session.design
    asked.drive(StarterDialog, lambda dialog: dialog.reject())
    trigger(window, "new_design")
    asked.drive(StarterDialog, lambda dialog: dialog.accept())
    asked.save_answer = "cancel"
    trigger(window, "new_design")
    assert window.session.design is design
    asked.save_answer = "discard"


def test_a_design_is_opened_fitted_and_remembered(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    small = window.canvas.view
    file = write(tmp_path / "ring, of 2 & more.formsketch.json", make_starter("s-ring", BRASS))
    asked.file = (str(file), "")
    trigger(window, "open_design")
    assert window.session.design == make_starter("s-ring", BRASS)
    assert window.session.file == file
    assert window.canvas.view != small
    x0, y0, x1, y1 = window.canvas.wire.bounds_mm
    assert window.canvas.rect().contains(window.canvas.view.to_px(complex(x0, y0)).toPoint())
    assert window.canvas.rect().contains(window.canvas.view.to_px(complex(x1, y1)).toPoint())
    assert window.files.recent_files() == [str(file)]
    assert str(file) in said(window)
    assert not asked.explained


@pytest.mark.parametrize("text", ["{", "[1, 2]", '{"format": "formsketch-design", "version": 999}'])
def test_a_bad_file_is_refused_and_what_is_open_stays(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, text: str
) -> None:
    window = open_window()
    trigger(window, "mirror_form")
    design, view = window.session.design, window.canvas.view
    file = tmp_path / "bad.formsketch.json"
    file.write_text(text)
    asked.file = (str(file), "")
    trigger(window, "open_design")
    assert len(asked.explained) == 1
    assert "bad.formsketch.json" in asked.explained[0]
    assert window.session.design is design
    assert (window.session.file, window.session.step_count) == (None, 1)
    assert window.canvas.view == view
    assert window.files.recent_files() == []


def test_opening_asks_about_unsaved_changes_first(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    design = window.session.design
    asked.file = (str(write(tmp_path / "hoop.formsketch.json", make_starter("hoop", BRASS))), "")
    asked.save_answer = "cancel"
    trigger(window, "open_design")
    assert window.session.design is design
    assert asked.starts == []
    asked.save_answer = "discard"
    trigger(window, "open_design")
    assert window.session.title == "Hoop"
    trigger(window, "open_design")
    assert asked.to_save == ["Open cuff", "Open cuff"]  # an unchanged file goes without asking


def test_saving_asks_where_to_once(open_window: Callable[..., Window], asked: Asked, tmp_path: Path) -> None:
    window = open_window(replace(cuff(), title="Cuff 1/2: <wide>"))
    asked.file = (str(tmp_path / "cuff"), "")
    trigger(window, "save_design")
    file = tmp_path / f"cuff{SUFFIX}"
    # A title is no path: what is offered is one name in one folder.
    assert Path(asked.starts[0]).name.startswith("cuff-1-2")
    assert file.read_bytes() == design_bytes(window.session.design)
    assert not window.isWindowModified()
    assert window.files.recent_files() == [str(file)]
    trigger(window, "mirror_form")
    trigger(window, "save_design")
    assert len(asked.starts) == 1
    assert (
        load_design(file).design
        == window.session.design
        == mirrored(replace(cuff(), title="Cuff 1/2: <wide>"))
    )
    assert not asked.explained


def test_saving_keeps_the_view(open_window: Callable[..., Window], asked: Asked, tmp_path: Path) -> None:
    window = open_window()
    events.wheel(window.canvas, (300, 200), 3)
    view = window.canvas.view
    asked.file = (str(tmp_path / "cuff.formsketch.json"), "")
    trigger(window, "save_design")
    window.canvas.grab()
    assert window.canvas.view == view


def test_saving_as_goes_on_with_the_other_file(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    first = write(tmp_path / "first.formsketch.json", cuff())
    window = open_window()
    window.files.open_file(first)
    trigger(window, "mirror_form")
    asked.file = (str(tmp_path / "second.formsketch.json"), "")
    trigger(window, "save_design_as")
    assert asked.starts == [str(first)]
    assert load_design(first).design == cuff()
    assert load_design(tmp_path / "second.formsketch.json").design == mirrored(cuff())
    assert window.session.file == tmp_path / "second.formsketch.json"


def test_a_suffix_that_is_added_replaces_no_file_unasked(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    # The file dialog asked about "cuff", not about the name with its suffix.
    file = write(tmp_path / f"cuff{SUFFIX}", make_starter("hoop", BRASS))
    window = open_window()
    asked.file = (str(tmp_path / "cuff"), "")
    trigger(window, "save_design")
    assert asked.to_replace == [file.name]
    assert load_design(file).design == make_starter("hoop", BRASS)
    assert window.session.unsaved
    asked.replace_answer = True
    trigger(window, "save_design")
    assert load_design(file).design == cuff()


def test_a_save_that_fails_is_explained_and_nothing_is_called_saved(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    asked.file = (str(tmp_path / "missing" / "cuff.formsketch.json"), "")
    trigger(window, "save_design")
    assert "folder does not exist" in asked.explained[0]
    assert window.isWindowModified()
    assert window.files.recent_files() == []
    asked.file = ("", "")
    trigger(window, "save_design")  # thought better of
    assert len(asked.explained) == 1


def test_saving_an_unchanged_foreign_file_keeps_its_bytes(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    file = tmp_path / "foreign.formsketch.json"
    # As another program might write it: one line, keys sorted, numbers with a point, no end of line.
    tree = json.loads(design_bytes(cuff()), parse_int=lambda digits: float(digits))
    tree["version"] = 1
    foreign = json.dumps(tree, sort_keys=True, separators=(",", " : ")).encode()
    assert foreign != design_bytes(cuff())
    file.write_bytes(foreign)
    window = open_window()
    window.files.open_file(file)
    trigger(window, "save_design")
    assert file.read_bytes() == foreign
    trigger(window, "mirror_form")
    trigger(window, "undo")
    trigger(window, "save_design")
    assert file.read_bytes() == foreign
    trigger(window, "mirror_form")
    trigger(window, "save_design")
    assert file.read_bytes() == design_bytes(mirrored(cuff()))


def recent_names(window: Window) -> list[str]:
    menu = submenu(window, "Open recent")
    menu.aboutToShow.emit()
    return [action.text() for action in menu.actions()]


def test_recent_files_stand_in_their_menu_the_last_first(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    assert recent_names(window) == ["None yet"]
    assert not submenu(window, "Open recent").actions()[0].isEnabled()
    files = [
        write(tmp_path / f"design {n}, same.formsketch.json", replace(cuff(), title=str(n)))
        for n in range(10)
    ]
    window.files.open_file(files[0])
    # Read again from the settings' file: one name alone, too.
    window.settings.sync()
    assert QSettings(window.settings.fileName(), QSettings.Format.IniFormat).value(
        "recent_files", type=list
    ) == [str(files[0])]
    for file in files[1:]:
        window.files.open_file(file)
    assert recent_names(window) == [f"design {n}, same" for n in (9, 8, 7, 6, 5, 4, 3, 2)]
    submenu(window, "Open recent").actions()[3].trigger()
    assert window.session.title == "6"
    assert recent_names(window)[:3] == ["design 6, same", "design 9, same", "design 8, same"]
    files[9].unlink()
    submenu(window, "Open recent").actions()[1].trigger()
    assert "no such file" in asked.explained[0]
    assert window.session.title == "6"


def test_demo_designs_open_as_new_ones(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window()
    menu = submenu(window, "Open a demo")
    menu.aboutToShow.emit()
    demos = menu.actions()
    assert len(demos) == len(demo_design_files())
    for action, file in zip(demos, demo_design_files(), strict=True):
        action.trigger()
        assert window.session.design == load_design(file).design
        assert (window.session.file, window.session.unsaved) == (None, False)
        assert action.text() == window.session.title
    assert window.files.recent_files() == []
    assert not asked.explained


# ---- closing and opening again -------------------------------------------------------------------------


def test_closing_asks_about_unsaved_changes(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    asked.save_answer = "cancel"
    trigger(window, "close_window")
    assert window.isVisible()
    assert asked.to_save == ["Open cuff"]
    # To be saved, but then no file is named: nothing is lost.
    asked.save_answer = "save"
    trigger(window, "close_window")
    assert window.isVisible()
    file = tmp_path / "cuff.formsketch.json"
    asked.file = (str(file), "")
    trigger(window, "close_window")
    assert not window.isVisible()
    assert load_design(file).design == cuff()
    assert QSettings().value("last_file", type=str) == str(file)


def test_closing_and_giving_up_the_changes_writes_nothing(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    file = write(tmp_path / "cuff.formsketch.json", cuff())
    window = open_window()
    window.files.open_file(file)
    trigger(window, "mirror_form")
    asked.to_save.clear()
    window.close()
    assert not window.isVisible()
    assert asked.to_save == ["Open cuff"]
    assert file.read_bytes() == design_bytes(cuff())


def test_closing_an_unchanged_file_asks_nothing(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path / "cuff.formsketch.json", cuff())
    monkeypatch.chdir(tmp_path)
    # As named on the command line, from this folder.
    window = open_window(Session(cuff(), Path("cuff.formsketch.json"), load_design("cuff.formsketch.json")))
    window.close()
    assert not window.isVisible()
    assert asked.to_save == []
    monkeypatch.chdir("/")
    session, sentence = opening_session(QSettings(), None, None)
    assert (session.design, sentence) == (cuff(), "")


def test_the_window_opens_where_it_was(open_window: Callable[..., Window]) -> None:
    window = open_window()
    assert (window.width(), window.height()) == (1366, 768)
    window.resize(1100, 700)
    window.close()
    # The offscreen platform's screen is narrower than the window may be, so only its height can be kept.
    assert open_window().height() == 700


def test_what_it_opens_on(tmp_path: Path) -> None:
    settings = QSettings()
    session, sentence = opening_session(settings, None, None)
    assert session.file is None
    assert "demo" in sentence
    assert session.design in [load_design(file).design for file in demo_design_files()]
    named = write(tmp_path / "named.formsketch.json", make_starter("hoop", BRASS))
    session, sentence = opening_session(settings, named, load_design(named))
    assert (session.file, session.title, sentence, session.unsaved) == (named, "Hoop", "", False)
    last = write(tmp_path / "last.formsketch.json", cuff())
    settings.setValue("last_file", str(last))
    session, sentence = opening_session(settings, None, None)
    assert (session.file, session.design, sentence) == (last, cuff(), "")
    last.unlink()
    session, sentence = opening_session(settings, None, None)
    assert session.file is None
    assert "last.formsketch.json" in sentence


# ---- dialogs -------------------------------------------------------------------------------------------

ENDS = {
    "plain": PlainEnd(),
    "tapered": TaperedEnd(length_mm=9.0, tip_diameter_mm=0.6, turn_deg=40.0),
    "bead": BeadEnd(diameter_mm=3.1),
    "hook": HookEnd(inside_diameter_mm=5.0, turn_deg=210.0, straight_mm=3.0, bead_diameter_mm=2.4),
    "eye": EyeEnd(inside_diameter_mm=3.5, side="right"),
    "ear post": PostEnd(length_mm=11.0, diameter_mm=0.9),
}


def set_end(choice: Any, word: str, end: Any) -> None:
    """Choose the kind by its word and fill in its numbers."""
    choice.kind.setCurrentText(word)
    assert choice.kind.currentText() == word
    fields = choice._fields[choice.kind.currentIndex()]
    for name, field in fields.items():
        field.setValue(getattr(end, name))
    if isinstance(end, EyeEnd):
        choice._side.setCurrentText(end.side)


@pytest.mark.parametrize("word", list(ENDS))
def test_ends_are_chosen_in_one_step(open_window: Callable[..., Window], asked: Asked, word: str) -> None:
    window = open_window(
        replace(cuff(), form=Form(runs=(Run(spans=(Span(length_mm=40.0, turn_deg=50.0),)),)))
    )
    first = window.session.design
    other = "bead" if word == "plain" else "plain"

    def choose(dialog: EndsDialog) -> None:
        set_end(dialog.start_choice, word, ENDS[word])
        set_end(dialog.finish_choice, other, ENDS[other])
        assert not dialog.grab().isNull()
        dialog.accept()

    asked.drive(EndsDialog, choose)
    trigger(window, "change_ends")
    form = window.session.design.form
    assert (form.start, form.finish) == (ENDS[word], ENDS[other])
    assert (window.session.step_count, window.session.undo_name) == (1, "Ends")
    assert not window.grab().isNull()
    trigger(window, "undo")
    assert window.session.design is first

    def leave(dialog: EndsDialog) -> None:
        dialog.accept()

    # Opened and used as it stands: no step, and no number is rounded.
    fine = replace(ENDS["bead"], diameter_mm=2.123456)
    window.session.change("Fine", replace(first, form=replace(first.form, start=fine)))
    asked.drive(EndsDialog, leave)
    trigger(window, "change_ends")
    assert window.session.undo_name == "Fine"
    assert window.session.design.form.start == fine


def test_an_end_that_cannot_be_is_explained_in_the_dialog(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window()
    design = window.session.design
    seen: list[str] = []

    def choose(dialog: EndsDialog) -> None:
        set_end(dialog.finish_choice, "bead", BeadEnd(diameter_mm=1.0))
        dialog.accept()
        assert dialog.isVisible()
        seen.extend(
            label.text()
            for label in dialog.findChildren(QLabel)
            if label.objectName() == "caution" and label.isVisible()
        )
        dialog.reject()

    asked.drive(EndsDialog, choose)
    trigger(window, "change_ends")
    assert len(seen) == 1
    assert "thicker" in seen[0]
    assert window.session.design is design


def test_a_variant_is_added_and_taken_out(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window()
    first = window.session.design

    def add(dialog: VariantDialog) -> None:
        dialog.name.setText("light")
        dialog.gauge.setText("18 ga")
        dialog.metal.setCurrentIndex(dialog.metal.findData("sterling-925"))
        dialog.form_size.setValue(80.0)
        dialog.hammer_depth.setValue(50.0)
        assert not dialog.grab().isNull()
        dialog.accept()

    asked.drive(VariantDialog, add)
    trigger(window, "add_variant")
    (variant,) = window.session.design.variants
    # ASTM B258: 18 is 0.0403 in.
    assert variant.diameter_mm == pytest.approx(0.0403 * 25.4, rel=1e-3)
    assert (variant.title, variant.metal, variant.scale, variant.flare_depth) == (
        "light", "sterling-925", 0.8, 0.5,
    )  # fmt: skip
    assert window.session.undo_name == "Variant light"
    asked.choice = 0
    trigger(window, "remove_variant")
    assert window.session.undo_name == "Remove light"
    assert window.session.design == first
    trigger(window, "undo")
    trigger(window, "undo")
    assert window.session.design is first


@pytest.mark.parametrize(("gauge", "depth"), [("thick", 100.0), ("18 ga", 500.0), ("0", 100.0)])
def test_a_variant_that_cannot_be_is_explained_in_the_dialog(
    open_window: Callable[..., Window], asked: Asked, gauge: str, depth: float
) -> None:
    window = open_window()
    design = window.session.design
    seen: list[str] = []

    def add(dialog: VariantDialog) -> None:
        dialog.gauge.setText(gauge)
        dialog.hammer_depth.setValue(depth)
        dialog.accept()
        assert dialog.isVisible()
        seen.extend(
            label.text()
            for label in dialog.findChildren(QLabel)
            if label.objectName() == "caution" and label.isVisible()
        )
        dialog.reject()

    asked.drive(VariantDialog, add)
    trigger(window, "add_variant")
    assert len(seen) == 1
    assert seen[0]
    assert window.session.design is design


def test_matching_the_screen_makes_true_size_true(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window()

    def match(dialog: ScreenMatchDialog) -> None:
        dialog.slider.setValue(5 * 400)
        assert not dialog.grab().isNull()
        dialog.accept()

    asked.drive(ScreenMatchDialog, match)
    trigger(window, "match_screen")
    trigger(window, "show_true_size")
    assert window.canvas.view.px_per_mm == pytest.approx(5.0)


# ---- comparing and the template ------------------------------------------------------------------------


def compared() -> Design:
    """The cuff with a lighter, a smaller and an unhammered variant."""
    return with_variants(
        cuff(),
        (
            Variant(title="light", diameter_mm=1.0),
            Variant(title="small", scale=0.7),
            Variant(title="round", flare_depth=0.0),
        ),
    )


@pytest.mark.parametrize("suffix", ["pdf", "svg"])
def test_the_template_is_written(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, suffix: str
) -> None:
    window = open_window()
    file = tmp_path / f"cuff.{suffix}"
    asked.file = (str(file), "")
    trigger(window, "export_template")
    data = file.read_bytes()
    assert data.startswith(b"%PDF-") if suffix == "pdf" else b"<svg" in data[:500]
    assert Path(asked.starts[0]).name == "open-cuff-template.pdf"
    assert str(file) in said(window)
    assert "check bar" in said(window)
    assert not asked.explained


def test_a_template_without_a_suffix_gets_that_of_its_kind(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    for kind, suffix in (("SVG (*.svg)", "svg"), ("PDF (*.pdf)", "pdf"), ("", "pdf")):
        name = tmp_path / f"for the bench v1.{len(asked.starts)}"
        asked.file = (str(name), kind)
        trigger(window, "export_template")
        assert Path(f"{name}.{suffix}").stat().st_size > 1000
    taken = tmp_path / "taken.svg"
    taken.write_text("mine")
    asked.file = (str(tmp_path / "taken"), "SVG (*.svg)")
    trigger(window, "export_template")
    assert (asked.to_replace, taken.read_text()) == (["taken.svg"], "mine")


def test_an_export_that_cannot_be_is_explained_or_left(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    trigger(window, "export_template")  # no file named
    trigger(window, "export_comparison")
    assert not asked.explained
    asked.file = (str(tmp_path / "missing" / "cuff.pdf"), "")
    trigger(window, "export_template")
    assert "folder does not exist" in asked.explained[0]
    assert list(tmp_path.glob("*.pdf")) == []
    # More than 15 times as wide as thick: shown and measured, but no template is made of it.
    thin = Span(length_mm=40.0, turn_deg=90.0, flare=Flare(thickness=0.13))
    window.session.change(
        "Thin",
        replace(cuff(), form=Form(runs=(Run(spans=(thin,)),)), hammer=replace(cuff().hammer, spread=1.0)),
    )
    assert [caution.weight for caution in window.session.evaluation.cautions].count("stop") == 1
    asked.file = (str(tmp_path / "thin.pdf"), "")
    trigger(window, "export_template")
    assert asked.explained[1].startswith("No template of Open cuff")
    assert not (tmp_path / "thin.pdf").exists()


@pytest.mark.parametrize(("suffix", "begins"), [("pdf", b"%PDF-"), ("svg", b"<"), ("png", b"\x89PNG")])
def test_the_comparison_sheet_is_written(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, suffix: str, begins: bytes
) -> None:
    window = open_window(compared())
    file = tmp_path / f"cuffs.{suffix}"
    asked.file = (str(file), "")
    trigger(window, "export_comparison")
    assert file.read_bytes().startswith(begins)
    assert not asked.explained


# ---- how it looks --------------------------------------------------------------------------------------


def choose_appearance(window: Window, text: str) -> None:
    action = next(a for a in submenu(window, "Appearance").actions() if a.text() == text)
    action.trigger()
    QApplication.processEvents()


@pytest.mark.parametrize(("text", "palette"), [("Light", LIGHT), ("Dark", DARK)])
def test_it_paints_light_and_dark(open_window: Callable[..., Window], text: str, palette: Any) -> None:
    window = open_window(compared())
    window.selection.select(2)
    choose_appearance(window, text)
    assert QSettings().value("appearance", type=str) == text.lower()

    def shares() -> Counter[int]:
        return Counter(colours(window.grab().toImage())[::3, ::3].ravel().tolist())

    found = shares()
    assert found.most_common(1)[0][0] == number_of(palette.paper)
    assert found[number_of(palette.panel)] > 0.05 * found.total()
    assert found[number_of(palette.accent_wash)] > 50  # the selected span, on the straight wire
    trigger(window, "compare_forms")
    found = shares()
    assert found[number_of(palette.paper)] > 0.3 * found.total()
    other = DARK if palette is LIGHT else LIGHT
    assert found[number_of(other.paper)] + found[number_of(other.panel)] < 0.01 * found.total()


def test_the_appearance_chosen_is_kept(open_window: Callable[..., Window]) -> None:
    window = open_window()
    choose_appearance(window, "Dark")
    window.close()
    again = open_window()
    checked = [a.text() for a in submenu(again, "Appearance").actions() if a.isChecked()]
    assert checked == ["Dark"]
    seen = colours(again.canvas.grab().toImage())[40, 30:]
    assert number_of(DARK.paper) in seen
    assert number_of(LIGHT.paper) not in seen


def test_the_least_size_holds_everything(open_window: Callable[..., Window]) -> None:
    window = open_window(make_starter("row-of-s-forms", BRASS))
    window.selection.select(4)
    window.resize(window.minimumSize())
    QApplication.processEvents()
    inner = window.panel.widget()
    assert inner is not None
    assert inner.width() <= window.panel.viewport().width()
    assert window.strip.height() >= window.strip.minimumHeight()
    assert window.canvas.height() >= 200
    for field in window.panel.findChildren(QuantityField):
        assert field.geometry().right() <= inner.width()
    assert not window.grab().isNull()


def test_a_form_of_many_spans_is_shown(open_window: Callable[..., Window]) -> None:
    window = open_window(make_starter("row-of-s-forms", BRASS, numbers={"times": 300}))
    assert not window.grab().isNull()
    trigger(window, "mirror_form")
    trigger(window, "undo")


@pytest.mark.skipif(not EVERY_WAY, reason="the window and the recipe it shows have tests of their own")
def test_the_pictures_of_the_readme_are_grabbed_without_asking(tmp_path: Path) -> None:
    code = "import sys; from tests.support import pictures as p; p.take_pictures(p.Path(sys.argv[1]))"
    folder = tmp_path / "pictures"
    subprocess.run(
        [sys.executable, "-c", code, str(folder)], check=True, timeout=60, cwd=Path(__file__).parents[2]
    )
    large = ["compare-dark.png", "compare.png", "grid.png", "window-dark.png", "window.png"]
    small = [picture_name(number) for number in range(1, len(STEPS) + 1)]
    assert sorted(file.name for file in folder.iterdir()) == sorted(large + small)
    for name in large:
        image = QImage(str(folder / name))
        assert (image.width(), image.height()) == (1366, 768)
    for name in small:
        assert QImage(str(folder / name)).width() == PICTURE_WIDTH_PX
