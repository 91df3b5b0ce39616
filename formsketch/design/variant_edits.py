"""Edits across a design and its variants: a pull on one given to all or kept, pinning, and swapping.

A variant is a difference from the base: its form is the base's, scaled and hammered deeper or less. So what
is done to a variant's form is done to the base's with scale and depth taken out again. The base is numbered
None, variants are numbered from 0.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf, isclose, nextafter
from typing import Any

from msgspec.structs import replace

from formsketch.design import transforms
from formsketch.design.edits import checked, with_form
from formsketch.design.model import Design, End, Flare, Form, Run, Span, Variant
from formsketch.errors import EditRefused

# A number of so many digits that went through a scale and back comes back but for rounding: it is meant.
_KEPT_DIGITS, _ROUNDING, _BITS_AWAY = 13, 4e-15, 3
BEFORE = "before "
LONGEST_TITLE = 200
MOST_VARIANTS = 100


def made_from(design: Design, number: int | None) -> Design:
    """The design of the base or of a variant, without variants and without the picture to trace."""
    if number is None:
        return replace(design, variants=(), picture=None)
    return transforms.applied(design, design.variants[number])


def pulled(design: Design, number: int | None, form: Form, to_all: bool) -> Design:
    """The design after the form of one of its own became this.

    Given `to_all` every form that is shared follows, else the others keep what they are. A variant with a
    form of its own is changed alone in any case. Raises `EditRefused` where the change cannot be taken
    back to the form that is shared, or a variant cannot follow.
    """
    if number is None:
        kept = design if to_all else _with_forms_of_their_own(design)
        return with_form(kept, form)
    variant = design.variants[number]
    before = made_from(design, number).form
    if form == before:
        return design
    shared = _taken_out(design, before, form, variant)
    if to_all and variant.form is None:
        return with_form(design, shared)
    return change_variant(design, number, form=shared)


def change_variant(design: Design, number: int, **changes: Any) -> Design:
    """The design with some fields of one variant changed."""
    variants = list(design.variants)
    variants[number] = replace(variants[number], **changes)
    return checked(replace(design, variants=tuple(variants)))


def change_numbers(design: Design, number: int | None, to_all: bool, **changes: Any) -> Design:
    """Diameter, metal, scale or flare depth of the base, a variant, or (`to_all`) of every one of them.

    `changes` are fields of a variant. The base has no scale and no depth: given to all they are those of
    every variant. Kept to the base, a wire is held by the variants that had it from there.
    """
    wire = {name: value for name, value in changes.items() if name in ("diameter_mm", "metal")}
    if to_all:
        freed = {name: None if name in wire else value for name, value in changes.items()}
        variants = tuple(replace(variant, **freed) for variant in design.variants)
        return checked(replace(design, wire=replace(design.wire, **wire), variants=variants))
    if number is not None:
        return change_variant(design, number, **changes)
    variants = tuple(
        replace(v, **{name: getattr(design.wire, name) for name in wire if getattr(v, name) is None})
        for v in design.variants
    )
    return checked(replace(design, wire=replace(design.wire, **wire), variants=variants))


def pinned(design: Design, title: str) -> Design:
    """The design with its present state as one more variant: wire and form as they are now, to stay so."""
    if len(design.variants) >= MOST_VARIANTS:
        raise EditRefused(f"Not possible: a design holds at most {MOST_VARIANTS} variants.")
    wire = design.wire
    pin = Variant(title=title, diameter_mm=wire.diameter_mm, metal=wire.metal, form=design.form)
    return checked(replace(design, variants=(*design.variants, pin)))


def shares_form(design: Design, number: int) -> Design:
    """The design with one variant following the base's form again."""
    return change_variant(design, number, form=None)


def chosen(design: Design, made: Design) -> Design:
    """The design in the wire and form of another, such as a cell of a grid; its variants stay differences."""
    kept = transforms.with_form(design, made.form)
    return checked(replace(kept, wire=made.wire, hammer=made.hammer, metals=made.metals))


def swapped(design: Design, number: int) -> Design:
    """The variant becomes the base, and the base a variant in its place; all forms stay what they are.

    Swapped back, everything is as it was; numbers of up to 13 digits exactly, others but for the last bit.
    Variants that follow the base's form go on doing so with their scale and depth reckoned from the new
    base, unless nothing can be (the variant was left round, or has a form of its own): then they keep the
    form they had.
    """
    variant = design.variants[number]
    shares = variant.form is None and variant.flare_depth > 0
    made = made_from(design, number)
    own = design.form if variant.form is None else variant.form
    base_form = _swapped_in(made.form, own, variant)
    variants = list(design.variants)
    variants[number] = Variant(title=_other_title(variant.title))
    rebased = tuple(
        _rebased(one, variant if shares else None, design, made) if one.form is None else one
        for one in variants
    )
    swapped_design = replace(transforms.with_form(design, base_form), wire=made.wire, variants=rebased)
    return checked(replace(swapped_design, variants=tuple(_shared_again(v, base_form) for v in rebased)))


def _rebased(one: Variant, new_base: Variant | None, design: Design, made: Design) -> Variant:
    """A variant that followed the old base, as differences from the new one (None: no differences are)."""
    diameter = design.wire.diameter_mm if one.diameter_mm is None else one.diameter_mm
    metal = design.wire.metal if one.metal is None else one.metal
    fields: dict[str, Any] = {
        "diameter_mm": None if diameter == made.wire.diameter_mm else diameter,
        "metal": None if metal == made.wire.metal else metal,
    }
    if new_base is None:
        return replace(one, form=design.form, **fields)
    return replace(
        one,
        scale=_round(one.scale / new_base.scale),
        flare_depth=_round(one.flare_depth / new_base.flare_depth),
        **fields,
    )


def _shared_again(variant: Variant, form: Form) -> Variant:
    return replace(variant, form=None) if variant.form == form else variant


def _other_title(title: str) -> str:
    """'light' is 'before light' once it has become the base, and the other way round."""
    if title.startswith(BEFORE):
        return title.removeprefix(BEFORE)
    return f"{BEFORE}{title}" if len(BEFORE) + len(title) <= LONGEST_TITLE else title


def _with_forms_of_their_own(design: Design) -> Design:
    held = (replace(v, form=design.form) if v.form is None else v for v in design.variants)
    return replace(design, variants=tuple(held))


# --- taking scale and depth out


def _taken_out(design: Design, before: Form, after: Form, variant: Variant) -> Form:
    """The form that this variant makes `after` of; what stays as it was `before` stays to the last bit."""
    if variant.scale == 1.0 and variant.flare_depth == 1.0:
        return after
    shared = design.form if variant.form is None else variant.form
    back = transforms.scaled_form(replace(design, form=after), 1 / variant.scale).form
    alike = len(shared.runs) == len(before.runs) == len(after.runs)
    runs = tuple(
        _run_taken_out(shared.runs[i] if alike else None, before.runs[i] if alike else None, run, variant)
        for i, run in enumerate(after.runs)
    )
    start = shared.start if after.start == before.start else back.start
    finish = shared.finish if after.finish == before.finish else back.finish
    return replace(after, runs=runs, start=start, finish=finish)


def _run_taken_out(shared: Run | None, before: Run | None, after: Run, variant: Variant) -> Run:
    alike = shared is not None and before is not None and len(before.spans) == len(after.spans)
    spans = tuple(
        _span_taken_out(
            shared.spans[i] if alike and shared is not None else None,
            before.spans[i] if alike and before is not None else None,
            span,
            variant,
        )
        for i, span in enumerate(after.spans)
    )
    return replace(after, spans=spans)


def _span_taken_out(shared: Span | None, before: Span | None, after: Span, variant: Variant) -> Span:
    if shared is not None and before is not None:
        if after == before:
            return shared
        length_mm = (
            shared.length_mm if after.length_mm == before.length_mm else after.length_mm / variant.scale
        )
        flare = _flare_taken_out(shared.flare, before.flare, after.flare, variant)
    else:
        length_mm = after.length_mm / variant.scale
        flare = _flare_taken_out(None, None, after.flare, variant)
    return replace(after, length_mm=length_mm, flare=flare)


def _flare_taken_out(
    shared: Flare | None, before: Flare | None, after: Flare | None, variant: Variant
) -> Flare | None:
    if after is None or after == before:
        return None if after is None else shared
    if shared is not None and before is not None and after.thickness == before.thickness:
        return replace(after, thickness=shared.thickness)
    if variant.flare_depth == 0:
        if after.thickness == 1.0:
            return after
        raise EditRefused(
            "Not possible: this variant leaves the wire round, so hammering cannot be pulled on it; give it "
            "a hammering depth above 0 first, or pull another form."
        )
    thickness = 1 - (1 - after.thickness) / variant.flare_depth
    return replace(after, thickness=thickness)


def _swapped_in(made: Form, before: Form, variant: Variant) -> Form:
    """The form a variant makes, in such numbers that its inverse makes the form before of it again."""
    if variant.scale == 1.0 and variant.flare_depth == 1.0:
        return made

    def length_mm(value: float, was: float) -> float:
        back = 1 / variant.scale
        return _coming_back(value, was, lambda x: x * back)

    def thickness(value: float, was: float) -> float:
        back = 1 / variant.flare_depth if variant.flare_depth else 0.0
        return _coming_back(value, was, lambda x: 1 - (1 - x) * back)

    def span(new: Span, old: Span) -> Span:
        flare = new.flare
        if flare is not None and old.flare is not None and variant.flare_depth != 1.0:
            flare = replace(flare, thickness=thickness(flare.thickness, old.flare.thickness))
        scaled = variant.scale != 1.0
        return replace(
            new, length_mm=length_mm(new.length_mm, old.length_mm) if scaled else new.length_mm, flare=flare
        )

    def end(new: End, old: End) -> End:
        if variant.scale == 1.0:
            return new
        names = transforms.scaled_lengths(new)
        changes = {name: length_mm(getattr(new, name), getattr(old, name)) for name in names}
        return replace(new, **changes) if changes else new

    runs = tuple(
        replace(new, spans=tuple(span(a, b) for a, b in zip(new.spans, old.spans, strict=True)))
        for new, old in zip(made.runs, before.runs, strict=True)
    )
    start, finish = end(made.start, before.start), end(made.finish, before.finish)
    return replace(made, runs=runs, start=start, finish=finish)


def _coming_back(value: float, was: float, back: Callable[[float], float]) -> float:
    """The number nearest to a value that goes back to what it was: a short one, or one a few bits away.

    Where none does to the last bit the value itself, which does but for rounding.
    """
    short = float(f"{value:.{_KEPT_DIGITS}g}")
    if isclose(short, value, rel_tol=_ROUNDING):
        return short
    near = [value]
    for towards in (-inf, inf):
        bit = value
        for _ in range(_BITS_AWAY):
            bit = nextafter(bit, towards)
            near.append(bit)
    return next((one for one in near if back(one) == was), value)


def _round(value: float) -> float:
    """The short number that a value is but for rounding, or the value."""
    short = float(f"{value:.{_KEPT_DIGITS}g}")
    return short if isclose(short, value, rel_tol=_ROUNDING) else value
