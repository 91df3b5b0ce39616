"""The bench card on sheets: what is to be known, the picture at true scale, the steps with boxes to tick."""

from __future__ import annotations

from collections.abc import Sequence

from formsketch.bench.working_order import WorkStep
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_card_text import CardText, Section, card_text
from formsketch.template.bench_section import CardHead, Lettering, SectionPart, section_part
from formsketch.template.drawing import Sheet
from formsketch.template.form_part import FormPart
from formsketch.template.pages import sheets_of
from formsketch.template.papers import A4_UPRIGHT, Paper
from formsketch.template.sheet_style import SheetStyle
from formsketch.template.template import FINISHED_HEADING
from formsketch.template.tiling import Part

MOST_SHEETS = 2
_ABOVE_FOOT_MM = 2.0
_ELSEWHERE = "Larger than this sheet: it stands at true size on the sheets after these words."
# A section up to this height is not parted.
_KEPT_MM = 22.0
# Heights of capitals to try, largest first: read at arm's length, down to the smallest there is.
_LETTERING = tuple(Lettering(text_mm) for text_mm in (3.5, 3.3, 3.1, 2.9, 2.8, 2.7, 2.6, 2.5))
# For a card that takes more sheets whatever its lettering.
_LONG_CARD = Lettering(3.1)


def card_sheets(
    evaluation: Evaluation, order: Sequence[WorkStep] | None = None, paper: Paper = A4_UPRIGHT
) -> list[Sheet]:
    """The card on two sheets at most, in the largest lettering that allows it; a very long one on more.

    A form larger than a sheet stands on sheets of its own after these, at true size too. Raises
    `FormSketchError` when the form cannot be made as it is.
    """
    text = card_text(evaluation, order)
    picture = FormPart("form", FINISHED_HEADING, evaluation)
    for lettering in (*_LETTERING, _LONG_CARD):
        style = SheetStyle(f"Bench card: {text.title}", paper, gap_mm=lettering.gap_mm)
        parts, sheets = _parts(text, picture, lettering, style)
        if sheets <= MOST_SHEETS:
            break
    return sheets_of(parts, style)


def _parts(
    text: CardText,
    picture: FormPart,
    lettering: Lettering,
    style: SheetStyle,
) -> tuple[list[Part], int]:
    """All of the card in this lettering, and how many sheets it takes without a picture of its own."""
    width_mm = style.body_width_mm
    fits = picture.width_mm <= width_mm and picture.height_mm <= style.body_height_mm - _ABOVE_FOOT_MM
    elsewhere = Section("form-where", FINISHED_HEADING, (_ELSEWHERE,))
    parts: list[Part] = [
        CardHead(text.title, text.cut, width_mm, lettering),
        section_part(text.facts, width_mm, lettering),
        picture if fits else section_part(elsewhere, width_mm, lettering),
        *(section_part(section, width_mm, lettering) for section in text.sections),
    ]
    set_parts, sheets = parted_at_sheets(parts, style)
    return set_parts if fits else [*set_parts, picture], sheets


def parted_at_sheets(parts: Sequence[Part], style: SheetStyle) -> tuple[list[Part], int]:
    """The parts in order, each long section parted where a sheet ends; and how many sheets they take.

    It counts as `sheets_of` does, but for a little air above the foot. Only a section may be higher than a
    sheet.
    """
    y, sheet_mm = 0.0, style.body_height_mm - _ABOVE_FOOT_MM
    placed: list[Part] = []
    sheets = 1
    for whole in parts:
        part: Part | None = whole
        while part is not None:
            room = sheet_mm - y
            parted = None
            if isinstance(part, SectionPart) and part.height_mm > room:
                parted = part.parted(room, min(_KEPT_MM, sheet_mm))
            if parted is not None:
                placed.append(parted[0])
                part, y, sheets = parted[1], 0.0, sheets + 1
            elif part.height_mm > room and y > 0.0:
                y, sheets = 0.0, sheets + 1
            else:
                placed.append(part)
                y += part.height_mm + style.gap_mm
                part = None
    return placed, sheets
