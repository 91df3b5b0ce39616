"""The open design and its steps: previews, steps, going back and forth, opening and saving."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from formsketch.design.edits import change_span, change_wire, mirrored, scaled, span_at
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import Design, Wire
from formsketch.design.starters import make_starter
from formsketch.errors import DesignFileError, FormSketchError
from formsketch.ui.pose import Pose
from formsketch.ui.session import Session

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)


def cuff() -> Design:
    return make_starter("open-cuff", BRASS)


class Watched:
    """A session and how often each of its signals was sent."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.told: list[str] = []
        for name in ("changed", "steps_changed", "file_changed"):
            getattr(session, name).connect(lambda name=name: self.told.append(name))

    def during(self, act: Callable[[], object]) -> list[str]:
        self.told.clear()
        act()
        return list(self.told)


def where(session: Session) -> tuple[bytes, Pose, str, str, int]:
    return (
        design_bytes(session.design),
        session.pose,
        session.undo_name,
        session.redo_name,
        session.step_count,
    )


def mark_on_table(session: Session, mark: int) -> complex:
    return session.pose.to_table(session.wire.mark_mm(mark))


def test_a_session_begins_with_its_design_level_and_no_steps() -> None:
    design = cuff()
    session = Session(design)
    assert session.design is design
    assert (session.undo_name, session.redo_name, session.step_count) == ("", "", 0)
    first, last = mark_on_table(session, 0), mark_on_table(session, session.wire.span_count)
    assert first == 0
    assert last.imag == pytest.approx(0.0, abs=1e-9)


def test_a_change_is_one_step_with_its_name_and_is_told() -> None:
    watched = Watched(Session(cuff()))
    session = watched.session
    other = mirrored(session.design)
    assert watched.during(lambda: session.change("Mirror", other)).count("steps_changed") == 1
    assert (session.undo_name, session.redo_name, session.step_count) == ("Mirror", "", 1)
    assert session.design is other
    assert session.evaluation.design is other


def test_undo_and_redo_go_back_and_forth_to_the_very_designs() -> None:
    session = Session(cuff())
    designs, places = [session.design], [where(session)[:2]]
    for name, edit in (("Mirror", mirrored), ("Scale", lambda d: scaled(d, 1.3)), ("Again", mirrored)):
        session.change(name, edit(session.design), 2)
        designs.append(session.design)
        places.append(where(session)[:2])
    for at in (2, 1, 0):
        session.undo()
        assert session.design is designs[at]
        assert where(session)[:2] == places[at]
        assert session.step_count == at
    assert (session.undo_name, session.redo_name) == ("", "Mirror")
    for at in (1, 2, 3):
        session.redo()
        assert session.design is designs[at]
        assert where(session)[:2] == places[at]
    assert (session.undo_name, session.redo_name) == ("Again", "")


def test_undo_and_redo_stop_at_both_ends() -> None:
    session = Session(cuff())
    before = where(session)
    session.undo()
    session.redo()
    assert where(session) == before


def test_a_new_step_forgets_what_was_undone() -> None:
    session = Session(cuff())
    session.change("Mirror", mirrored(session.design))
    session.undo()
    session.change("Scale", scaled(session.design, 2))
    assert (session.undo_name, session.redo_name) == ("Scale", "")
    session.redo()
    assert session.undo_name == "Scale"


def test_a_change_that_changes_nothing_is_no_step() -> None:
    session = Session(cuff())
    design = session.design
    session.change("Nothing", replace(design, title=design.title))
    assert session.step_count == 0
    assert session.design is design


def test_previews_show_and_make_no_step() -> None:
    watched = Watched(Session(cuff()))
    session = watched.session
    shown = []
    session.changed.connect(lambda: shown.append(session.design))
    for scale in (1.1, 1.2, 1.3):
        assert watched.during(lambda scale=scale: session.preview(scaled(cuff(), scale))) == ["changed"]
    assert [d.form.runs[0].spans[2].length_mm for d in shown] == pytest.approx(
        [s * cuff().form.runs[0].spans[2].length_mm for s in (1.1, 1.2, 1.3)]
    )
    assert session.step_count == 0
    session.commit("Larger")
    assert (session.step_count, session.undo_name) == (1, "Larger")
    session.undo()
    assert design_bytes(session.design) == design_bytes(cuff())


def test_a_preview_keeps_a_mark_where_it_lay_and_the_way_it_pointed() -> None:
    session = Session(cuff())
    mark = 3
    at, wire = mark_on_table(session, mark), session.wire
    way = session.pose.angle_rad + wire.heading_from_rad(mark)
    address = wire.address(0)
    bent = change_span(session.design, address, turn_deg=span_at(session.design, address).turn_deg + 40)
    session.preview(bent, mark)
    assert mark_on_table(session, mark) == pytest.approx(at, abs=1e-9)
    assert session.pose.angle_rad + session.wire.heading_from_rad(mark) == pytest.approx(way, abs=1e-12)
    assert abs(mark_on_table(session, 0)) > 1


def test_cancel_puts_back_exactly_what_stood_there() -> None:
    session = Session(cuff())
    session.change("Mirror", mirrored(session.design))
    session.change("Scale", scaled(session.design, 1.5))
    session.undo()
    design, before = session.design, where(session)
    session.preview(scaled(design, 3), 2)
    session.preview(scaled(design, 4), 1)
    assert where(session)[:2] != before[:2]
    session.cancel()
    assert session.design is design
    assert where(session) == before  # what can be redone too
    session.redo()
    assert session.undo_name == "Scale"


def test_no_undo_in_the_middle_of_a_preview() -> None:
    session = Session(cuff())
    session.change("Mirror", mirrored(session.design))
    larger = scaled(session.design, 2)
    session.preview(larger)
    session.undo()
    assert session.design is larger
    session.cancel()
    session.undo()
    assert session.step_count == 0


def test_a_preview_that_cannot_be_evaluated_changes_nothing() -> None:
    session = Session(cuff())
    design, before = session.design, where(session)
    unknown = change_wire(design, metal="no-such-metal")
    for act in (session.preview, lambda d: session.change("Metal", d)):
        with pytest.raises(FormSketchError, match="no-such-metal"):
            act(unknown)
        assert session.design is design
        assert where(session) == before
    session.change("Mirror", mirrored(design))
    session.undo()
    assert session.design is design


def test_laying_level_is_no_step_and_is_kept_by_redo() -> None:
    session = Session(make_starter("row-of-s-forms", BRASS))  # start and finish are its far ends
    address = session.wire.address(0)
    session.change("Turn", change_span(session.design, address, turn_deg=120.0), 3)
    tilted = session.pose
    session.lay_level()
    level = session.pose
    assert level != tilted
    assert mark_on_table(session, session.wire.span_count).imag == pytest.approx(0.0, abs=1e-9)
    assert session.step_count == 1
    session.undo()
    session.redo()
    assert session.pose == level


# ---- opening and saving --------------------------------------------------------------------------------


def test_opening_has_no_steps_behind_it_and_nothing_to_save(tmp_path: Path) -> None:
    file = tmp_path / "hoop.formsketch.json"
    file.write_bytes(design_bytes(make_starter("hoop", BRASS)))
    watched = Watched(Session(cuff()))
    session = watched.session
    session.change("Mirror", mirrored(session.design))
    assert session.unsaved
    assert watched.during(lambda: session.open(file)) == ["changed", "steps_changed", "file_changed"]
    assert (session.file, session.title, session.unsaved) == (file, "Hoop", False)
    assert (session.undo_name, session.redo_name, session.step_count) == ("", "", 0)
    assert session.design == load_design(file).design


@pytest.mark.parametrize("text", ["", "{", '{"format": "formsketch-design", "version": 1}', "[]"])
def test_a_bad_file_leaves_what_is_open(tmp_path: Path, text: str) -> None:
    file = tmp_path / "bad.formsketch.json"
    file.write_text(text)
    session = Session(cuff())
    session.change("Mirror", mirrored(session.design))
    design, before = session.design, where(session)
    with pytest.raises(DesignFileError, match=r"bad\.formsketch\.json"):
        session.open(file)
    assert session.design is design
    assert where(session) == before
    assert session.file is None


def test_a_file_in_an_unknown_metal_leaves_what_is_open(tmp_path: Path) -> None:
    file = tmp_path / "unknown.formsketch.json"
    file.write_bytes(design_bytes(replace(cuff(), wire=Wire(metal="unobtainium", diameter_mm=1.0))))
    session = Session(cuff())
    design, before = session.design, where(session)
    with pytest.raises(FormSketchError, match="unobtainium"):
        session.open(file)
    assert session.design is design
    assert where(session) == before


def test_a_new_design_is_unsaved_until_it_is_saved(tmp_path: Path) -> None:
    session = Session(cuff())
    assert session.unsaved
    file = tmp_path / "cuff.formsketch.json"
    session.save(file)
    assert not session.unsaved
    assert session.file == file
    assert file.read_bytes() == design_bytes(cuff())
    session.change("Mirror", mirrored(session.design))
    assert session.unsaved
    session.undo()
    assert not session.unsaved  # back at what the file holds
    session.redo()
    session.save(file)
    assert not session.unsaved
    session.undo()
    assert session.unsaved


def test_saving_during_a_preview_writes_the_last_step(tmp_path: Path) -> None:
    session = Session(cuff())
    session.preview(scaled(session.design, 2))
    session.save(tmp_path / "cuff.formsketch.json")
    assert load_design(tmp_path / "cuff.formsketch.json").design == cuff()


def test_a_save_that_fails_leaves_the_design_unsaved(tmp_path: Path) -> None:
    session = Session(cuff())
    with pytest.raises(FormSketchError, match="folder does not exist"):
        session.save(tmp_path / "missing" / "cuff.formsketch.json")
    assert session.unsaved
    assert session.file is None


def test_an_unchanged_design_keeps_its_files_bytes_and_a_changed_one_does_not(tmp_path: Path) -> None:
    file = tmp_path / "foreign.formsketch.json"
    foreign = design_bytes(cuff()).replace(b"\n", b"\r\n  ").rstrip() + b"\n\n"
    file.write_bytes(foreign)
    session = Session(make_starter("hoop", BRASS))
    session.open(file)
    session.save(file)
    assert file.read_bytes() == foreign
    session.change("Mirror", mirrored(session.design))
    session.save(file)
    assert file.read_bytes() == design_bytes(mirrored(cuff()))
