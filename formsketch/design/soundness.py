"""Is a design sound? Bounds on each number, and the few rules that tie numbers together."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import msgspec

from formsketch.design.model import (
    BeadEnd,
    Design,
    DrilledEnd,
    EarWireEnd,
    Flare,
    HookEnd,
    PostEnd,
    SHookEnd,
    TaperedEnd,
)
from formsketch.design.picture_path import picture_path_fault
from formsketch.design.transforms import applied
from formsketch.errors import FormSketchError

# A form beyond these is no jewellery, and would only make the program slow.
MOST_SPANS = 20_000
LONGEST_FORM_MM = 20_000.0
MOST_TURNING_DEG = 1_000_000.0
# Room for a flare to ease in and out: hammering cannot begin at full depth on a mark.
LEAST_EASE = 0.02
# A span shows at least this part of a flare.
LEAST_FLARE_PART = 1e-3
# The edge that uneven blows hammer deepest, as a fraction of the wire's diameter: thinner it is a knife.
LEAST_EDGE = 0.05
# What rounding may take from a bound when a flare is cut or turned round.
_FLARE_ROUNDING = 1e-12
_ROUNDING_MM = 1e-9

_MSGSPEC_PLACE = re.compile(r"^(?P<what>.*?)(?: - at `(?P<place>[^`]*)`)?$", re.DOTALL)
# What the converter says, and how a person would: kinds first, then bounds, then keys.
_WORDS = (
    (r"`float`", "a number"),
    (r"`int`", "a whole number"),
    (r"`str`", "text"),
    (r"`bool`", "true or false"),
    (r"`array`", "a list"),
    (r"`object`", "an object"),
    (r"`null`", "null"),
    (r" of length >= 1$", " with something in it"),
    (r" of length <= (\d+)$", r" with at most \1 in it"),
    (r" >= (\S+)$", r" of at least \1"),
    (r" <= (\S+)$", r" of at most \1"),
    (r"^Number out of range$", "expected a number of ordinary size"),
    (r"^Object contains unknown field `(.*)`$", r'expected no key "\1" here'),
    (r"^Object missing required field `(.*)`$", r'expected the key "\1"'),
)
_CHOICES = {
    ".face": '"flat" or "edge"',
    ".side": '"left" or "right"',
    "worn.kind": '"ring", "bracelet", "bangle", "cuff", "hoop", "drop", "necklace" or "pendant"',
    ".shape": '"round", "button" or "rice"',
    ".setting": '"tube" or "head"',
    ".cut": '"brilliant", "faceted" or "cabochon"',
    "].kind": 'a kind of stone such as "diamond" or "garnet"',
    "worn.standard": '"iso", "us", "uk", "japan", "wrist", "inside", "diameter" or "length"',
    ".kind": '"plain", "rounded", "tapered", "bead", "hook", "s-hook", "eye", "drilled", "ear-wire" or '
    '"post"',
}
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff]")


class Unsound(FormSketchError):
    """A value that is not a sound design: the place inside it and what was expected."""

    def __init__(self, place: str, expected: str) -> None:
        self.place, self.expected = place, expected
        super().__init__(f"{place}: {expected}")


def design_from_builtins(data: Any) -> Design:
    """Strictly convert plain dicts and lists to a sound design; raises `Unsound`."""
    try:
        design = msgspec.convert(data, Design, strict=True)
    except msgspec.ValidationError as fault:
        raise _in_words(str(fault)) from None
    _check_rules(design)
    return design


def _in_words(fault: str) -> Unsound:
    """A fault as the converter tells it, `Expected `float`, got `str` - at `$.title``, in plain words."""
    match = _MSGSPEC_PLACE.match(fault)
    what, place = (match["what"], match["place"] or "$") if match else (fault, "$")
    for pattern, words in _WORDS:
        what = re.sub(pattern, words, what, flags=re.DOTALL)
    choices = next((words for ending, words in _CHOICES.items() if place.endswith(ending)), "")
    what = re.sub(r"^Invalid (?:enum )?value (.*)$", rf"expected {choices}, got \1", what, flags=re.DOTALL)
    return Unsound(place, what[:1].lower() + what[1:])


def sound(design: Design) -> Design:
    """The design itself when it is sound; raises `Unsound` otherwise. Edits end with this."""
    # Only the types and bounds are looked at; the design's own objects are kept.
    design_from_builtins(msgspec.to_builtins(design))
    return design


def _check_rules(design: Design) -> None:
    _check_text(design)
    _check_picture(design)
    _check_metals(design)
    _check_hammer(design)
    _check_set(design)
    _check_form(design, "")
    for i, variant in enumerate(design.variants):
        made = applied(design, variant)
        made_by = f"$.variants[{i}]"
        try:
            msgspec.convert(msgspec.to_builtins(made), Design, strict=True)
            _check_form(made, made_by)
        except msgspec.ValidationError as fault:
            raise Unsound(made_by, f"expected a form within bounds, but it makes {fault}") from None


def _check_crossings(design: Design) -> None:
    numbers = design.form.swapped_crossings
    for i, (number, following) in enumerate(pairwise(numbers)):
        if following <= number:
            raise Unsound(
                f"$.form.swapped_crossings[{i + 1}]",
                f"expected numbers in rising order, each once, got {following} after {number}",
            )


def _check_form(design: Design, made_by: str) -> None:
    """The rules that tie numbers together; `made_by` is the place of the variant that made this form."""
    try:
        _check_crossings(design)
        _check_size(design)
        _check_flares(design)
        _check_ends(design)
    except Unsound as fault:
        if made_by:
            raise Unsound(made_by, f"{fault.expected} (at {fault.place})") from None
        raise


def _check_text(design: Design) -> None:
    texts = [("$.title", design.title), ("$.notes", design.notes), ("$.wire.metal", design.wire.metal)]
    texts.append(("$.hammer.name", design.hammer.name))
    if design.picture is not None:
        texts.append(("$.picture.file", design.picture.file))
    for i, metal in enumerate(design.metals):
        texts += [(f"$.metals[{i}].key", metal.key), (f"$.metals[{i}].name", metal.name)]
    for i, variant in enumerate(design.variants):
        texts += [(f"$.variants[{i}].title", variant.title), (f"$.variants[{i}].metal", variant.metal or "")]
    for place, text in texts:
        if _UNPRINTABLE.search(text):
            raise Unsound(place, "expected text without control characters")
        if place != "$.notes" and re.search(r"[\r\n\t]", text):
            raise Unsound(place, "expected text on one line")


def _check_picture(design: Design) -> None:
    fault = "" if design.picture is None else picture_path_fault(design.picture.file)
    if fault:
        raise Unsound("$.picture.file", fault)


def _check_size(design: Design) -> None:
    spans = turning = length = 0.0
    for run in design.form.runs:
        spans += run.times * len(run.spans)
        largest = max(1.0, run.ends_scale)
        length += run.times * largest * sum(s.length_mm for s in run.spans)
        turning += run.times * sum(abs(s.turn_deg) + abs(s.skew_deg) for s in run.spans)
    if spans > MOST_SPANS:
        raise Unsound("$.form.runs", f"expected at most {MOST_SPANS:,} spans with repeats, got {spans:,.0f}")
    if length > LONGEST_FORM_MM:
        raise Unsound(
            "$.form.runs",
            f"expected a form of at most {LONGEST_FORM_MM / 1000:.0f} m, got {length / 1000:.1f} m",
        )
    if turning > MOST_TURNING_DEG:
        raise Unsound(
            "$.form.runs", f"expected at most {MOST_TURNING_DEG:,.0f} degrees of turning, got {turning:,.0f}"
        )


def _check_flares(design: Design) -> None:
    for r, run in enumerate(design.form.runs):
        for s, span in enumerate(run.spans):
            flare = span.flare
            if flare is None:
                continue
            before, after = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
            if min(before, 1 - after) < LEAST_EASE - _FLARE_ROUNDING:
                raise Unsound(
                    f"$.form.runs[{r}].spans[{s}].flare",
                    f"expected centre - hold/2 >= {LEAST_EASE} and centre + hold/2 <= {1 - LEAST_EASE}, so "
                    f"that the flare eases in and out inside the span, got {before:.4g} and {after:.4g}",
                )
            if flare.end - flare.begin < LEAST_FLARE_PART - _FLARE_ROUNDING:
                raise Unsound(
                    f"$.form.runs[{r}].spans[{s}].flare",
                    f"expected end - begin, the part of the flare shown, to be at least "
                    f"{LEAST_FLARE_PART:g}, got {flare.end - flare.begin:.4g}",
                )
            if flare.bias:
                _check_bias(flare, f"$.form.runs[{r}].spans[{s}].flare")


def _check_bias(flare: Flare, place: str) -> None:
    if flare.face == "edge":
        raise Unsound(
            f"{place}.bias",
            "expected even blows, a bias of 0, on a span hammered on edge; uneven ones would turn it out of "
            f"the plane of the form, got {flare.bias:g}",
        )
    edge = 1 - (1 - flare.thickness) * (1 + abs(flare.bias))
    if edge < LEAST_EDGE - _FLARE_ROUNDING:
        raise Unsound(
            f"{place}.bias",
            f"expected blows that leave the heavier edge at least {LEAST_EDGE:g} of the wire thick, got "
            f"{edge:.3g} with a thickness of {flare.thickness:.4g} and a bias of {flare.bias:.4g}",
        )


def _check_ends(design: Design) -> None:
    wire_mm = design.wire.diameter_mm
    wire = f"the {wire_mm:g} mm wire"
    for name in ("start", "finish"):
        end = getattr(design.form, name)
        place = f"$.form.{name}"
        if isinstance(end, BeadEnd) and end.diameter_mm <= wire_mm:
            raise Unsound(f"{place}.diameter_mm", f"expected a bead thicker than {wire}")
        if isinstance(end, HookEnd) and 0 < end.bead_diameter_mm <= wire_mm:
            raise Unsound(f"{place}.bead_diameter_mm", f"expected 0 (no bead) or a bead thicker than {wire}")
        if isinstance(end, TaperedEnd) and end.tip_diameter_mm > wire_mm:
            raise Unsound(f"{place}.tip_diameter_mm", f"expected a tip no thicker than {wire}")
        if isinstance(end, PostEnd) and end.diameter_mm > wire_mm:
            raise Unsound(f"{place}.diameter_mm", f"expected a post no thicker than {wire}")
        if isinstance(end, SHookEnd | EarWireEnd) and end.turn_deg == 0:
            # The curl and the kick go to the other side, and there would be none.
            raise Unsound(
                f"{place}.turn_deg", "expected a turn to the left, above 0, or to the right, below 0"
            )
        if isinstance(end, EarWireEnd) and end.diameter_mm > wire_mm:
            raise Unsound(f"{place}.diameter_mm", f"expected an ear wire no thicker than {wire}")
        if isinstance(end, DrilledEnd):
            # The half round at its tip reaches at least half the wire further than the length.
            there_is = end.length_mm + wire_mm / 2
            if end.from_end_mm + end.hole_diameter_mm > there_is + _ROUNDING_MM:
                raise Unsound(
                    f"{place}.length_mm",
                    f"expected an end long enough for its hole: {end.from_end_mm:g} mm to the edge and "
                    f"{end.hole_diameter_mm:g} mm of hole reach past {there_is:.4g} mm",
                )


def _check_set(design: Design) -> None:
    """What is set: a pearl hangs between two places, a bead holds its wire, a tube goes round its stone."""
    for i, pearl in enumerate(design.pearls):
        if not pearl.from_share < pearl.to_share:
            raise Unsound(
                f"$.pearls[{i}].to_share",
                f"expected a place beyond from_share, {pearl.from_share:g}, got {pearl.to_share:g}",
            )
    binding = design.binding
    if 0 < binding.bead_mm <= binding.gauge_mm:
        raise Unsound(
            "$.binding.bead_mm",
            f"expected 0 (no bead) or a bead thicker than the {binding.gauge_mm:g} mm binding wire",
        )
    for i, stone in enumerate(design.stones):
        if stone.setting == "tube" and stone.seat_mm < stone.size_mm:
            raise Unsound(
                f"$.stones[{i}].seat_mm",
                f"expected a tube at least as wide as its stone, {stone.size_mm:g} mm, got {stone.seat_mm:g}",
            )


def _check_metals(design: Design) -> None:
    keys = [metal.key for metal in design.metals]
    for i, key in enumerate(keys):
        if key in keys[:i]:
            raise Unsound(f"$.metals[{i}].key", f"expected each metal once, got {key!r} again")


def _check_hammer(design: Design) -> None:
    """A band has two ends with the spread between them."""
    hammer = design.hammer
    if hammer.low is None and hammer.high is None:
        return
    if hammer.low is None or hammer.high is None:
        missing = "low" if hammer.low is None else "high"
        raise Unsound(f"$.hammer.{missing}", "expected low and high of the hammer's band, or neither")
    if not hammer.low <= hammer.spread <= hammer.high:
        raise Unsound(
            "$.hammer.spread",
            f"expected a spread within its band, {hammer.low:g} to {hammer.high:g}, got {hammer.spread:g}",
        )
