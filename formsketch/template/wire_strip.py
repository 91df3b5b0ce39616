"""The straight wire at true length: where to cut, where to mark, what to bend and how thin to hammer.

In stock coordinates: the unhammered wire, from its cut start. The wire is drawn at its true thickness too,
and a hammered span is grey as far as metal is left, so that the wire itself can be laid on the paper.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise

from formsketch.evaluation.end_marks import end_marks_mm
from formsketch.evaluation.evaluate import Evaluation
from formsketch.forging.ends import EndPiece
from formsketch.template.bench_words import marks_in_words, place_text, spans_in_words
from formsketch.template.drawing import Group
from formsketch.template.lettering import Block, Line, block, wrapped
from formsketch.template.wire_row_drawing import RowDrawing
from formsketch.template.wire_rows import BOLDER_MM, HALF_OVERLAP_MM, Gap, Row, Tiers, break_into_rows
from formsketch.template.words_along import Words
from formsketch.values import Result

TEXT_HEIGHT_MM = 3.0
HEADING_HEIGHT_MM = 3.5
NOTE_HEIGHT_MM = 2.5
_HEADING_PITCH_MM = 6.5
_AFTER_NOTES_MM = 3.0
_ROW_GAP_MM = 5.0
# Simplest first; another has to bring the height down to this share to be taken.
_TIERS = (Tiers(1, 1), Tiers(1, 2), Tiers(2, 2))
_WORTH_TIERS = 0.9


class WireStrip(Result, frozen=True):
    """The wire broken into rows for a given width, ready to be drawn anywhere on a sheet."""

    evaluation: Evaluation
    width_mm: float
    rows: list[Row]

    @cached_property
    def height_mm(self) -> float:
        """Heading, notes and all rows."""
        rows = sum(drawing.height_mm for drawing in self.drawings)
        return self.heading_height_mm + rows + _ROW_GAP_MM * (len(self.rows) - 1)

    @cached_property
    def drawings(self) -> list[RowDrawing]:
        """The rows, each ready to be drawn by itself."""
        return [RowDrawing(self.evaluation, row, number) for number, row in enumerate(self.rows, start=1)]

    @cached_property
    def _notes(self) -> Block:
        text = " ".join(_notes(self.evaluation, self.rows)).replace(" ;", ";").replace(" .", ".")
        return block(wrapped(text, self.width_mm, NOTE_HEIGHT_MM), NOTE_HEIGHT_MM)

    @property
    def heading_height_mm(self) -> float:
        """Heading and notes."""
        return _HEADING_PITCH_MM + self._notes.height_mm + _AFTER_NOTES_MM

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Groups 'wire-heading' and 'wire-row-1' onwards, from this upper left corner."""
        groups = [self.heading(left_mm, top_mm)]
        top_mm += self.heading_height_mm
        shown: set[str] = set()
        for drawing in self.drawings:
            groups.append(drawing.drawn(left_mm, top_mm, shown))
            top_mm += drawing.height_mm + _ROW_GAP_MM
        return groups

    def heading(self, left_mm: float, top_mm: float) -> Group:
        """Group 'wire-heading': what the strip is, and how to read it."""
        heading = Block((Line("The straight wire", HEADING_HEIGHT_MM, True),))
        texts = heading.drawn(left_mm, top_mm, "start")
        return Group(
            "wire-heading", [*texts, *self._notes.drawn(left_mm, top_mm + _HEADING_PITCH_MM, "start")]
        )


def lay_wire(
    evaluation: Evaluation, width_mm: float, text_mm: float = TEXT_HEIGHT_MM, compact: bool = False
) -> WireStrip:
    """The straight wire of an evaluation in rows at most `width_mm` wide, words in letters `text_mm` high.

    Words stand in one tier, or in two where that saves a good deal of height; `compact` takes what is lowest.
    """
    stops = _stops(evaluation, text_mm)
    gaps = _gaps(evaluation, stops, text_mm)
    best: WireStrip | None = None
    for tiers in _TIERS:
        strip = WireStrip(evaluation, width_mm, break_into_rows(stops, gaps, width_mm, tiers, text_mm))
        if best is None or strip.height_mm < (1.0 if compact else _WORTH_TIERS) * best.height_mm:
            best = strip
        if len(best.rows) == 1:
            break
    assert best is not None
    return best


def mark_places_mm(evaluation: Evaluation) -> list[float]:
    """Where each mark is on the straight wire, in mm from its cut start; one more than there are spans."""
    spans = evaluation.spans
    return [*spans.stock_from_mm.tolist(), evaluation.ends[0].stock_mm + evaluation.stock_length_mm]


def _end_stops(evaluation: Evaluation, text_mm: float) -> tuple[list[Words], list[Words]]:
    """The marks inside both ends, with what is written over them."""
    start, finish = evaluation.ends
    marks = (start.marks[::-1], finish.marks)
    found = []
    for name, own, places in zip(("start", "finish"), marks, end_marks_mm(evaluation), strict=True):
        found.append(
            [
                Words(f"end-mark-{name}-{number}", at_mm, block([*mark.words, place_text(at_mm)], text_mm))
                for number, (mark, (_, at_mm)) in enumerate(zip(own, places, strict=True), start=1)
            ]
        )
    return found[0], found[1]


def _stops(evaluation: Evaluation, text_mm: float) -> list[Words]:
    """Both ends of the cut wire and all marks, with what is written over them."""
    start_mm, finish_mm = (end.stock_mm for end in evaluation.ends)
    places = mark_places_mm(evaluation)
    stops = []
    for i, (place_mm, words) in enumerate(
        zip(places, marks_in_words(evaluation, before_turning_over=True), strict=True)
    ):
        if (i == 0 and start_mm == 0) or (i == len(places) - 1 and finish_mm == 0):
            words = [*words, "cut"]
        lines = [Line(word, text_mm) for word in words]
        lines += [Line(str(i + 1), text_mm + BOLDER_MM, True), Line(place_text(place_mm), text_mm)]
        stops.append(Words(f"mark-{i + 1}", place_mm, Block(tuple(lines))))
    in_start, in_finish = _end_stops(evaluation, text_mm)
    stops = [*in_start, *stops, *in_finish]
    if start_mm > 0:
        stops.insert(0, Words("cut-start-words", 0.0, block(["cut", place_text(0.0)], text_mm)))
    if finish_mm > 0:
        cut_mm = evaluation.cut_length_mm
        stops.append(Words("cut-finish-words", cut_mm, block(["cut", place_text(cut_mm)], text_mm)))
    return stops


def _gaps(evaluation: Evaluation, stops: list[Words], text_mm: float) -> list[Gap]:
    """The wire between neighbouring stops: the ends' allowances and the spans."""
    words = [span.lines() for span in spans_in_words(evaluation, before_turning_over=True)]
    names = [f"span-{i + 1}" for i in range(len(words))]
    start, finish = evaluation.ends
    before, after = _allowance(start, "start"), _allowance(finish, "finish")
    words = [*(lines for _, lines in reversed(before)), *words, *(lines for _, lines in after)]
    names = [*(name for name, _ in reversed(before)), *names, *(name for name, _ in after)]
    return [
        Gap(name, stops[i].at_mm, stops[i + 1].at_mm, block(lines, text_mm))
        for i, (name, lines) in enumerate(zip(names, words, strict=True))
    ]


def _allowance(end: EndPiece, name: str) -> list[tuple[str, list[str]]]:
    """Names and words of the wire between the marks inside an end, outward; the longest names the end."""
    if end.stock_mm <= 0:
        return []
    places = [0.0, *(mark.beyond_mm for mark in end.marks), end.stock_mm]
    lengths = [after - before for before, after in pairwise(places)]
    longest = max(range(len(lengths)), key=lengths.__getitem__)
    made = []
    for number, length_mm in enumerate(lengths, start=1):
        if number == longest + 1:
            in_all = f"{place_text(end.stock_mm)} mm" + (" in all" if len(lengths) > 1 else "")
            made.append((f"allowance-{name}", ["for the", end.word, in_all]))
        else:
            made.append((f"allowance-{name}-{number}", [f"{place_text(length_mm)} mm"]))
    return made


def _notes(evaluation: Evaluation, rows: list[Row]) -> Iterator[str]:
    """How to read the strip, as far as this wire needs it."""
    yield "Over the wire: mark, and mm from the start of the cut wire."
    yield "Under it: turn; Ø nearest tube (exact diameter in mm, spring-back allowed for)"
    if evaluation.thinnest_mm < evaluation.diameter_mm:
        yield "; size at the thinnest place once hammered, grey being the metal left"
    over = any("over" in words for words in marks_in_words(evaluation))
    yield f". Left and right going from start to finish{', before the wire is turned over' if over else ''}."
    if any(end.marks for end in evaluation.ends):
        yield "A word in the place of a number: a mark inside an end, where that begins or is made."
    if over:
        yield "Turn over: half a twist in the wire at that mark."
    if len(rows) > 1:
        yield f"Rows overlap by up to {2 * HALF_OVERLAP_MM:.0f} mm: lay {_letters(rows)}."


def _letters(rows: list[Row]) -> str:
    letters = [row.ends.letter for row in rows if row.ends is not None]
    if len(letters) > 2:
        return f"A on A, and so on to {letters[-1]} on {letters[-1]}"
    return ", ".join(f"{letter} on {letter}" for letter in letters)
