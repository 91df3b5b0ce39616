"""Steps from the bare form to the finished piece: ends, seats, true, mark of quality, finish, harden, set."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

import numpy as np

from formsketch.design.model import Worn
from formsketch.errors import InputError
from formsketch.evaluation.bays import wire_places
from formsketch.evaluation.cautions import PRECIOUS_FROM_G_PER_CM3
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.hammer_path import ageing_text
from formsketch.evaluation.set_on import Tie
from formsketch.evaluation.set_report import carat_text, stone_words
from formsketch.evaluation.worn import is_length, size_label, wanted_mm
from formsketch.fitting.quality_mark import USUAL_MARK_MM, room_for_mark
from formsketch.template.bench_words import place_text
from formsketch.template.bench_work import Step, Table, numbers_text, operation
from formsketch.units import band_text, length_text, weight_text

# Common practice, no source: what filing and polish take of a piece forged from wire.
FILED_PERCENT = (1.0, 3.0)
BEAD_WITHIN_MM, END_WITHIN_MM = 0.1, 0.2
_DRILLING = "Clamp the work, never hold it in the fingers; eye protection; hair and sleeves tied back."
_AGEING = "Ask whoever refined the metal; local rules first."


def weight_after_text(e: Evaluation) -> str:
    """What the metal weighs when it is filed and polished."""
    low, high = (e.weight_g * (1 - percent / 100) for percent in reversed(FILED_PERCENT))
    return f"{weight_text(low).removesuffix(' g')} to {weight_text(high)}"


def size_band_texts(e: Evaluation) -> tuple[str, str]:
    """How much longer or shorter, and higher or lower, the form may come out when the wire is cut as said.

    All of it lengthens under the hammer as the spread has it, so it is as uncertain as the cut length is.
    """
    band = e.cut_length_band
    wide, high = (
        band_text(size * band.value / band.high, size * band.value / band.low, size) for size in e.envelope_mm
    )
    return wide, high


def end_steps(e: Evaluation) -> Iterator[Step]:
    """What is done at each end, said by the end itself, under the operations that it takes."""
    wanted: dict[str, list[str]] = {}
    for where, piece in zip(("Start", "Finish"), e.ends, strict=True):
        for work in piece.work:
            wanted.setdefault(work.operation, []).append(f"{where}: {work.text}.")
    for key, lines in wanted.items():
        within = f"bead ± {BEAD_WITHIN_MM:g} mm" if key == "bead" else f"± {END_WITHIN_MM:g} mm"
        cautions = (_DRILLING,) if key == "drill" else ()
        yield operation(key, lines, within, cautions=cautions, heat=key == "bead")


def true_step(e: Evaluation) -> Iterator[Step]:
    """The size the piece is trued to: flat, then worn."""
    wide, high = e.envelope_mm
    band_wide, band_high = size_band_texts(e)
    lines = [
        " ".join(
            f"Flat on the table, {length_text(wide)} {band_wide} × {length_text(high)} {band_high}".split()
        )
        + "; openings even."
    ]
    if e.design.worn is not None:
        lines.append(f"{e.design.worn.kind.capitalize()}, {_worn_text(e.design.worn)}.")
    yield operation("true", lines)


def _worn_text(worn: Worn) -> str:
    """The size to true to, or why the size that the design carries is none."""
    try:
        round_mm, size = wanted_mm(worn), size_label(worn)
    except InputError as fault:
        return f"size not known: {str(fault).rstrip('.')}"
    if is_length(worn):
        return f"{size}: measure it, catch included"
    shape = (
        f"{length_text(round_mm / pi)} across" if worn.aspect == 1.0 else f"an oval of {worn.aspect:g} to 1"
    )
    on = "on its mandrel" if worn.rolled else "in its own plane"
    return f"{size}: true it {on} to {length_text(round_mm)} round inside, {shape}"


def becomes_text(worn: Worn) -> str:
    """What the piece becomes, with its size where that is one."""
    try:
        return f"{worn.kind}, {size_label(worn)}"
    except InputError:
        return worn.kind


def quality_mark_step(e: Evaluation) -> Iterator[Step]:
    """Where the mark goes, or where there is room for one; without a place kept only for precious metal."""
    mark, room = e.design.quality_mark, e.set_on.mark
    if mark is not None and room is not None:
        size = f"{length_text(mark.wide_mm)} × {length_text(mark.long_mm)}"
        yield operation("quality-mark", [f"Strike the mark, {size}, {_place_text(e, room.mark_mm)}."])
    elif e.metal.density_g_per_cm3 > PRECIOUS_FROM_G_PER_CM3:
        size = " × ".join(length_text(side) for side in USUAL_MARK_MM)
        room = room_for_mark(wire_places(e), *USUAL_MARK_MM)
        line = f"No flat of this piece holds a mark of {size}."
        if room is not None:
            line = f"Room for a mark of {size} {_place_text(e, room.mark_mm)}."
        yield operation("quality-mark", [line])


def _place_text(e: Evaluation, stock_mm: float) -> str:
    """A place by its span, and from the start of the cut wire."""
    return f"in {_span_text(e, stock_mm)} ({place_text(stock_mm)} mm of the cut wire)"


def _span_text(e: Evaluation, stock_mm: float) -> str:
    """A place by its span and how far from mark to mark it lies there."""
    begins = e.spans.stock_from_mm
    span = max(0, int(np.searchsorted(begins, stock_mm, side="right")) - 1)
    share = (stock_mm - float(begins[span])) / float(e.spans.stock_length_mm[span])
    return f"span {span + 1}, {min(max(share, 0.0), 1.0):.2f} of the way to mark {span + 2}"


def finish_steps(e: Evaluation) -> Iterator[Step]:
    """File and polish, then harden."""
    lines = [f"File, polish, weigh: {weight_after_text(e)} of metal, {FILED_PERCENT[0]:g} to "
             f"{FILED_PERCENT[1]:g} % less than was cut."]  # fmt: skip
    yield operation("finish", lines)
    if e.metal.age_hardening:
        yield operation("harden", [f"Age-hardens: {e.metal.age_hardening}. {_AGEING}"], heat=True)
    else:
        work = 100 * float(np.max(e.spans.strip_reduction))
        worked = f" It is worked by {work:.0f} % at its thinnest." if work > 0 else ""
        yield operation("harden", [f"{ageing_text(e.metal)}{worked}"])


def seat_step(e: Evaluation) -> Iterator[Step]:
    """Heads and tubes for stones, each where it is joined to the wire."""
    stones = e.set_on.stones
    if not stones:
        return
    rows = []
    for number, placed in enumerate(stones, start=1):
        cold = "" if placed.stone.soldered else ", joined without heat"
        at_mm, seat = placed.seat.mark_mm, length_text(placed.stone.seat_mm)
        where = f"{_span_text(e, at_mm)}{cold}"
        rows.append((f"{placed.stone.setting} {number}", seat, place_text(at_mm), where))
    table = Table(("Seat", "Ø", "at mm of the cut wire", "Where"), tuple(rows))
    hot = any(placed.stone.soldered for placed in stones)
    yield operation("seats", [], f"± {END_WITHIN_MM:g} mm", table=table, heat=hot)


def set_step(e: Evaluation) -> Iterator[Step]:
    """Stones set and pearls bound, when all else is done."""
    alike: dict[str, list[int]] = {}
    for number, placed in enumerate(e.set_on.stones, start=1):
        words = f"{stone_words(placed)}, {placed.stone.cut}, {carat_text(placed.carat)}"
        alike.setdefault(words, []).append(number)
    lines = []
    for words, numbers in alike.items():
        many = len(numbers) > 1
        lines.append(f"Stone{'s' if many else ''} {numbers_text(numbers)}: {words}{' each' if many else ''}.")
    table = _binding_table(e)
    if table is not None:
        binding = e.design.binding
        times = "once" if binding.passes == 1 else f"{binding.passes} times"
        bead = f", a bead of {length_text(binding.bead_mm)} on each end" if binding.bead_mm > 0 else ""
        lines.append(
            f"Binding wire of {length_text(binding.gauge_mm)}: {times} through the hole, "
            f"{binding.wraps} times round the frame on each side{bead}."
        )
    if lines:
        yield operation("set", lines, table=table)


def _binding_table(e: Evaluation) -> Table | None:
    """Each binding wire with its pearls, how long it is and where it is tied; None where there is none."""
    rows = tuple(
        (
            numbers_text([number + 1 for number in tie.pearls]),
            _pearls_text(e, tie),
            length_text(tie.wire_mm),
            " and ".join(map(place_text, tie.marks_mm)),
        )
        for tie in e.set_on.ties
    )
    return Table(("Pearl", "Size", "Binding wire", "Tied at mm of the cut wire"), rows) if rows else None


def _pearls_text(e: Evaluation, tie: Tie) -> str:
    """Shapes and sizes of the pearls on one binding wire."""
    sizes = dict.fromkeys(
        f"{pearl.shape} {pearl.diameter_mm:g} × {pearl.length_mm:g} mm"
        for pearl in (e.design.pearls[number] for number in tie.pearls)
    )
    return ", ".join(sizes)
