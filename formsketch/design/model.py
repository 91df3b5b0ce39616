"""A design as a frozen value: one wire, read from its start to its finish.

A form is a chain of spans between marks, written as runs: a run is a motif of spans and how often it
is repeated. Lengths are finished lengths in mm, angles in degrees, left turns positive. Nothing here is
computed; the bounds on each number are what a design file may hold. Constructors do not check them:
`sound()` does, and loading and every edit go through it.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

MOST_REPEATS = 1_000

LengthMm = Annotated[float, Meta(ge=0.01, le=10_000.0)]
SmallLengthMm = Annotated[float, Meta(ge=0.0, le=1_000.0)]
DiameterMm = Annotated[float, Meta(ge=0.05, le=50.0)]
WireDiameterMm = Annotated[float, Meta(ge=0.05, le=20.0)]
AngleDeg = Annotated[float, Meta(ge=-7_200.0, le=7_200.0)]
CornerDeg = Annotated[float, Meta(ge=-180.0, le=180.0)]
CrossingNumber = Annotated[int, Meta(ge=0, le=99_999)]
Fraction = Annotated[float, Meta(ge=0.0, le=1.0)]
BlowBias = Annotated[float, Meta(ge=-1.0, le=1.0)]
ThicknessRatio = Annotated[float, Meta(ge=0.1, le=1.0)]
Title = Annotated[str, Meta(max_length=200)]
Key = Annotated[str, Meta(min_length=1, max_length=80)]
PlaceMm = Annotated[float, Meta(ge=-100_000.0, le=100_000.0)]
PearlSizeMm = Annotated[float, Meta(ge=0.5, le=50.0)]
StoneSizeMm = Annotated[float, Meta(ge=0.3, le=50.0)]
OfChord = Annotated[float, Meta(ge=-10.0, le=10.0)]
# Read the other way it is what is left to 1, and within the same bounds.
AlongChord = Annotated[float, Meta(ge=-9.0, le=10.0)]

StoneKind = Literal[
    "diamond",
    "sapphire",
    "ruby",
    "emerald",
    "aquamarine",
    "topaz",
    "garnet",
    "spinel",
    "peridot",
    "tourmaline",
    "quartz",
    "zircon",
    "opal",
    "turquoise",
    "cubic-zirconia",
]


class _Value(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, kw_only=True):
    """Immutable, hashable, strict about its keys; defaults are left out of the file."""


class Flare(_Value, frozen=True):
    """How a span is hammered: unhammered at both marks, thinnest on the hold around the centre.

    `thickness` is the least thickness as a fraction of the wire's diameter; `centre` and `hold` are
    fractions of the span's finished length. `face` is `flat` (hammered in the plane of the form, widens
    in plan) or `edge` (hammered on its side, thins in plan).

    A mark may stand inside a flare: the span then shows the part `begin` to `end` of it, and thickness,
    centre and hold are still those of the whole. The neighbouring spans are expected to carry it on; where
    they do not, the wire steps at the mark, which is the maker's to see and is only cautioned of.

    `bias` is for uneven blows: the share of their depth by which they are heavier on the wire's right edge
    than in the middle, and lighter on its left one; negative for the left edge. Heavier blows lengthen
    their edge, so a positive bias turns the wire to the left, as a positive `turn_deg` does. Sides are
    those before any turning over. 0 is even blows; on edge they must be even.
    """

    thickness: ThicknessRatio
    centre: Fraction = 0.5
    hold: Fraction = 0.0
    face: Literal["flat", "edge"] = "flat"
    begin: Fraction = 0.0
    end: Fraction = 1.0
    bias: BlowBias = 0.0


class Span(_Value, frozen=True):
    """The wire between two neighbouring marks: curvature x length = turn + skew (2u - 1).

    `corner_deg` and `turned_over` act at the mark where the span begins.
    """

    length_mm: LengthMm
    turn_deg: AngleDeg = 0.0
    skew_deg: AngleDeg = 0.0
    corner_deg: CornerDeg = 0.0
    turned_over: bool = False
    flare: Flare | None = None


class Run(_Value, frozen=True):
    """A motif of spans and how often it is repeated.

    With `turned_over` each repeat starts turned over from the one before. `ends_scale` is the size of the
    first and last repeat relative to the middle one.
    """

    spans: Annotated[tuple[Span, ...], Meta(min_length=1, max_length=20_000)]
    times: Annotated[int, Meta(ge=1, le=MOST_REPEATS)] = 1
    turned_over: bool = False
    ends_scale: Annotated[float, Meta(ge=0.1, le=5.0)] = 1.0


# Whether an end `goes_on` in the plane of the form beyond its mark says if a sharp bend there shows.
class PlainEnd(_Value, frozen=True, tag_field="kind", tag="plain"):
    """Cut square and smoothed."""

    goes_on = False


class TaperedEnd(_Value, frozen=True, tag_field="kind", tag="tapered"):
    """Drawn down round to a tip beyond the mark; it may go on turning (left, looking outward)."""

    length_mm: LengthMm
    tip_diameter_mm: WireDiameterMm
    turn_deg: Annotated[float, Meta(ge=-720.0, le=720.0)] = 0.0

    goes_on = True


class BeadEnd(_Value, frozen=True, tag_field="kind", tag="bead"):
    """Melted to a ball of this diameter."""

    diameter_mm: DiameterMm

    goes_on = False


class HookEnd(_Value, frozen=True, tag_field="kind", tag="hook"):
    """A straight, then an arc of this inside diameter (left positive, looking outward), then maybe a bead.

    `twist_deg` is how far the hook is turned about the straight's axis to meet its fellow: right-handed
    looking outward, so that a quarter turn (90) brings a hook that turns left up out of the plane.
    """

    inside_diameter_mm: DiameterMm
    turn_deg: Annotated[float, Meta(ge=-350.0, le=350.0)] = 200.0
    straight_mm: SmallLengthMm = 2.0
    bead_diameter_mm: Annotated[float, Meta(ge=0.0, le=50.0)] = 0.0
    twist_deg: Annotated[float, Meta(ge=-180.0, le=180.0)] = 0.0

    @property
    def goes_on(self) -> bool:
        return self.straight_mm > 0 or self.turn_deg != 0


class SHookEnd(_Value, frozen=True, tag_field="kind", tag="s-hook"):
    """A hook bent as an S: a straight, the hook, and at its tip a small curl to the other side that closes.

    The hook's arc turns left for a positive `turn_deg`, looking outward; the curl turns `curl_turn_deg`
    the other way, round the inside diameter `curl_diameter_mm`.
    """

    inside_diameter_mm: DiameterMm
    curl_diameter_mm: DiameterMm
    turn_deg: Annotated[float, Meta(ge=-350.0, le=350.0)] = 200.0
    straight_mm: SmallLengthMm = 2.0
    curl_turn_deg: Annotated[float, Meta(ge=10.0, le=350.0)] = 300.0

    goes_on = True


class EyeEnd(_Value, frozen=True, tag_field="kind", tag="eye"):
    """Rolled into an eye of this inside diameter, after a sharp bend back that sets it on the wire's line."""

    inside_diameter_mm: DiameterMm
    side: Literal["left", "right"] = "left"

    goes_on = True


class PostEnd(_Value, frozen=True, tag_field="kind", tag="post"):
    """The wire's own end drawn down to an ear post and bent up square to the form."""

    length_mm: Annotated[float, Meta(ge=2.0, le=30.0)] = 10.0
    diameter_mm: Annotated[float, Meta(ge=0.4, le=2.0)] = 0.8

    goes_on = False


class EarWireEnd(_Value, frozen=True, tag_field="kind", tag="ear-wire"):
    """A long hook for the ear: a straight drawn down to the ear wire's diameter, an arc, a leg, a kick.

    The arc has this inside diameter and turns left for a positive `turn_deg`, looking outward. The leg goes
    straight on behind the ear; the last `kick_mm` bend `kick_deg` the other way, away from the neck.
    """

    diameter_mm: Annotated[float, Meta(ge=0.4, le=2.0)] = 0.8
    inside_diameter_mm: Annotated[float, Meta(ge=2.0, le=50.0)] = 8.0
    turn_deg: Annotated[float, Meta(ge=-270.0, le=270.0)] = 180.0
    straight_mm: Annotated[float, Meta(ge=0.5, le=100.0)] = 4.0
    leg_mm: Annotated[float, Meta(ge=0.0, le=100.0)] = 10.0
    kick_deg: Annotated[float, Meta(ge=0.0, le=90.0)] = 20.0
    kick_mm: Annotated[float, Meta(ge=0.0, le=30.0)] = 3.0

    goes_on = True


class DrilledEnd(_Value, frozen=True, tag_field="kind", tag="drilled"):
    """Wire beyond the mark with a hole through it, its tip filed half round.

    `length_mm` goes straight on from the mark to where the half round begins. Below a `thickness` of 1, a
    fraction of the wire's diameter, it is hammered flat in the plane of the form; at 1 it goes on as thick
    and wide as the wire is at the mark. `from_end_mm` is the metal between the hole's edge and the tip.
    """

    hole_diameter_mm: Annotated[float, Meta(ge=0.2, le=20.0)]
    length_mm: LengthMm = 4.0
    from_end_mm: Annotated[float, Meta(ge=0.0, le=50.0)] = 1.0
    thickness: ThicknessRatio = 1.0

    goes_on = True


class RoundedEnd(_Value, frozen=True, tag_field="kind", tag="rounded"):
    """Filed or cupped round: a half ball on round wire, a half round on wire that is flat at the mark."""

    goes_on = False


End = (
    PlainEnd
    | TaperedEnd
    | BeadEnd
    | HookEnd
    | EyeEnd
    | PostEnd
    | SHookEnd
    | EarWireEnd
    | DrilledEnd
    | RoundedEnd
)


class Form(_Value, frozen=True):
    """One wire from its start to its finish.

    Where it crosses itself the part further along lies over, except at the crossings whose numbers stand in
    `swapped_crossings`: counted from 0 as the wire comes by them for the first time, rising, each once.
    """

    runs: Annotated[tuple[Run, ...], Meta(min_length=1, max_length=10_000)]
    start: End = PlainEnd()
    finish: End = PlainEnd()
    swapped_crossings: Annotated[tuple[CrossingNumber, ...], Meta(max_length=10_000)] = ()


class Wire(_Value, frozen=True):
    """The stock: a key into the metal table (or the design's own metals) and the round wire's diameter."""

    metal: Key
    diameter_mm: WireDiameterMm


class Hammer(_Value, frozen=True):
    """`spread`: the share of the squeeze that goes sideways, 0 to 1.

    A hammer the maker has measured brings its `name` and the band `low` to `high` that its samples leave to
    the spread; both or neither are given, and the spread lies between them. Without them the spread is a
    starting value.
    """

    spread: Fraction = 0.8
    name: Annotated[str, Meta(max_length=80)] = ""
    low: Fraction | None = None
    high: Fraction | None = None


class OwnMetal(_Value, frozen=True):
    """A metal the design carries itself; strength may be unknown.

    `zinc`: overheating gives off fume; `nickel`: skin contact is limited by law.
    """

    key: Key
    name: Annotated[str, Meta(min_length=1, max_length=80)]
    density_g_per_cm3: Annotated[float, Meta(ge=0.5, le=25.0)]
    yield_mpa: Annotated[float, Meta(ge=1.0, le=3_000.0)] | None = None
    e_gpa: Annotated[float, Meta(ge=1.0, le=500.0)] | None = None
    nickel: bool = False
    zinc: bool = False


class Variant(_Value, frozen=True):
    """Named differences from the base design.

    `scale` multiplies every length of the form, not the wire nor what an end takes from it (see
    `transforms.scaled_end`); `flare_depth` multiplies how deep each flare
    is hammered (0 leaves the wire round). With a `form` of its own a variant no longer follows the base's:
    it was pinned, or pulled alone; scale and depth then apply to that form.
    """

    title: Title
    diameter_mm: WireDiameterMm | None = None
    metal: Key | None = None
    scale: Annotated[float, Meta(ge=0.05, le=20.0)] = 1.0
    flare_depth: Annotated[float, Meta(ge=0.0, le=5.0)] = 1.0
    form: Form | None = None


class Picture(_Value, frozen=True):
    """A picture under the form, to trace: a PNG, JPEG or SVG kept beside the design.

    `file` is its path from the design's folder, with forward slashes, never leaving that folder. The
    picture is `width_mm` wide and as high as its shape makes it. It is placed in the wire's own frame, so
    that picture and form keep together however the form is laid: `x_mm` and `y_mm` are the picture's
    middle seen from the start mark, x along the wire as its first span leaves that mark and y to the left
    of it; `angle_deg` is how far the picture is turned from that direction, left positive. It takes no
    part in anything computed: neither scaling the form nor a variant moves it.
    """

    file: Annotated[str, Meta(min_length=1, max_length=400)]
    width_mm: Annotated[float, Meta(ge=0.1, le=10_000.0)]
    x_mm: PlaceMm = 0.0
    y_mm: PlaceMm = 0.0
    angle_deg: Annotated[float, Meta(ge=-360.0, le=360.0)] = 0.0
    opacity: Fraction = 0.5
    locked: bool = False


class Worn(_Value, frozen=True):
    """What the design becomes and the size it is to have.

    `size` is a number in its `standard`: an ISO, US or Japanese ring size, a UK one counted from A = 1 in
    halves, a wrist measured in mm, the inside round or the inside diameter in mm, or a length in mm. `ease`
    is added to the inside round. `aspect` is the inside's smaller width over its greater one. `gap_mm` is the
    opening left between the ends, negative where they overlap side by side. `rolled` says that the flat form
    is rolled on its mandrel; otherwise it is worn as it is laid, as a hoop bent in its own plane is.
    """

    kind: Literal["ring", "bracelet", "bangle", "cuff", "hoop", "drop", "necklace", "pendant"]
    standard: Literal["iso", "us", "uk", "japan", "wrist", "inside", "diameter", "length"]
    size: Annotated[float, Meta(ge=0.0, le=5_000.0)]
    ease_mm: Annotated[float, Meta(ge=0.0, le=200.0)] = 0.0
    aspect: Annotated[float, Meta(ge=0.3, le=1.0)] = 1.0
    gap_mm: Annotated[float, Meta(ge=-500.0, le=500.0)] = 0.0
    rolled: bool = True


class SetPearl(_Value, frozen=True):
    """A pearl or bead bound in a bay, its hole in the plane of the form.

    Binding wire runs through the hole, from the wire at `from_share` to the wire at `to_share`: shares of
    the finished length, counted from the start mark. The pearl's middle lies `along` of the way from the one
    to the other, and `aside` of that distance to the left of the way. So it goes with the wire, however the
    form is turned or pulled. It is bought as it is: nothing that scales the form changes its size.
    `length_mm` is measured along the hole. Pearls with the same two places hang on one wire.

    An edit of the form keeps both places on the spans they were on; a pearl bound to a span that goes is
    taken out with it. Mirrored it lies on the other side, read from the finish the two places change over.
    """

    from_share: Fraction
    to_share: Fraction
    diameter_mm: PearlSizeMm
    length_mm: PearlSizeMm
    shape: Literal["round", "button", "rice"] = "round"
    along: AlongChord = 0.5
    aside: OfChord = 0.0


class Binding(_Value, frozen=True):
    """How pearls are bound on: the wire, how often it goes through, and what is done at its two ends.

    `wraps` go round the frame on each side; `bead_mm` is the bead melted on each end, 0 for none.
    """

    gauge_mm: Annotated[float, Meta(ge=0.1, le=3.0)] = 0.4
    passes: Annotated[int, Meta(ge=1, le=9)] = 1
    wraps: Annotated[int, Meta(ge=0, le=50)] = 2
    bead_mm: Annotated[float, Meta(ge=0.0, le=10.0)] = 0.0


class Stone(_Value, frozen=True):
    """A round stone in a head or a tube that stands on the wire at `at_share` of the finished length.

    `seat_mm` is the outside diameter of head or tube, `size_mm` the stone's own. None for the depth is the
    usual share of its diameter, None for the density that of its kind; both only serve its weight. `soldered`
    is false for one joined without heat: riveted, cast on or joined by laser. Edits of the form keep it on
    the span it stands on; where that goes it is taken off.
    """

    at_share: Fraction
    size_mm: StoneSizeMm
    seat_mm: StoneSizeMm
    setting: Literal["tube", "head"] = "tube"
    kind: StoneKind = "diamond"
    cut: Literal["brilliant", "faceted", "cabochon"] = "brilliant"
    depth_mm: StoneSizeMm | None = None
    density_g_per_cm3: Annotated[float, Meta(ge=0.5, le=25.0)] | None = None
    soldered: bool = True


class QualityMark(_Value, frozen=True):
    """Where a quality mark is to be struck: its middle as a share of the finished length, and its size.

    Edits of the form keep it on its span, as they do a stone.
    """

    at_share: Fraction
    wide_mm: Annotated[float, Meta(ge=0.1, le=20.0)] = 1.0
    long_mm: Annotated[float, Meta(ge=0.1, le=100.0)] = 2.5


class Design(_Value, frozen=True):
    """A whole design file.

    `bend_marks` says what the maker bends by: `round` lays a bend round its tube from mark to mark, `grip`
    grips the wire at one mark that the bend is centred on. It changes no number, only which marks are named.
    `worn` is what the piece becomes, and at what size; None where that was never said. `pearls`, `stones`
    and `quality_mark` are what is set on the wire; variants carry them, too.
    """

    title: Title
    wire: Wire
    form: Form
    notes: Annotated[str, Meta(max_length=20_000)] = ""
    hammer: Hammer = Hammer()
    metals: Annotated[tuple[OwnMetal, ...], Meta(max_length=100)] = ()
    variants: Annotated[tuple[Variant, ...], Meta(max_length=100)] = ()
    picture: Picture | None = None
    bend_marks: Literal["round", "grip"] = "round"
    worn: Worn | None = None
    pearls: Annotated[tuple[SetPearl, ...], Meta(max_length=2_000)] = ()
    binding: Binding = Binding()
    stones: Annotated[tuple[Stone, ...], Meta(max_length=500)] = ()
    quality_mark: QualityMark | None = None
