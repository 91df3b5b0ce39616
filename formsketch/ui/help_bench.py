"""Help on the numbers at the bench: a section for each thing the maker can measure or is told to do."""

from __future__ import annotations

TITLE = "Numbers at the bench"

OWN_HAMMER = """
<h2>Your own hammer</h2>
<p>How wide a flare comes out, how much longer the wire gets, how much to cut and where the marks go: all
rest on one number, the <b>spread</b>, the share of each squeeze that goes sideways. At 1 the wire only
widens, at 0 it only lengthens. Until you measure yours, a starting value stands in its place, and the small
figures beside cut length, width and marks say how far it may be off. The band of the marks grows along the
wire, for every flare before a mark adds to it.</p>
<h3>To measure it</h3>
<ol>
<li>Cut three or more short pieces of one annealed wire and measure the wire.</li>
<li>Hammer the middle of each flat, the way you hammer a piece, to about half its thickness: a little more
on one, a little less on another.</li>
<li>Measure thickness and width at the same place.</li>
<li>Choose <i>Bench, Own hammer</i> and type them. Every field reads mm, inches and gauges.</li>
</ol>
<h3>A worked example</h3>
<p>A wire of 1 mm, hammered to 0.5 mm, is 1.5 mm wide. Its section was 0.785 mm², now it is 0.5 × (1.5 −
0.5) + π × 0.5² / 4 = 0.696 mm²: it has become 0.785 / 0.696 = <b>1.128</b> times as long. The mean height
went from 0.785 mm to 0.696 / 1.5 = 0.464 mm. The spread is ln 1.5 / ln (0.785 / 0.464) = 0.405 / 0.526 =
<b>0.77</b>.</p>
<p>With calipers that read to ± 0.02 mm this one sample leaves a band of 0.67 to 0.87. Most of it comes from
the wire: with a micrometer that reads to ± 0.005 mm the band is four times narrower. Several samples give
their mean; the band then also holds how much they scatter (Student's t, 95 times in 100).</p>
<h3>From a piece you made</h3>
<p>The second page takes the wire you cut for a piece of this design and its finished length, and finds the
spread that fits. It says so when the piece is hammered too little to tell.</p>
<p><i>Use for this design</i> writes the hammer with its band into the design, and it travels with the file.
<i>Keep by name</i> offers it beside the wire in every design. Measure again for another metal or another
hammer. <i>Bench, Kept hammers and alloys</i> lists what is kept, to take one away.</p>
"""

OWN_ALLOY = """
<h2>Your own alloy</h2>
<p><i>Bench, Own alloy</i> finds the density, which gives every weight.</p>
<ul>
<li><b>From its composition</b>: 1000 parts by weight, or 100 %. The volumes of the metals are added.
Sterling, 925 silver and 75 copper: 1000 / (925 / 10.49 + 75 / 8.96) = 10.36 g/cm³, as published. The rule
holds within 0.5 % for sterling and 18k yellow and within 1.5 % for other golds; it reads 2.4 % low for
70/30 brass, so take the published density of a brass.</li>
<li><b>Weighed in air and in water</b>: a piece that weighs 20.00 g in air and 18.10 g hanging in water of
20 °C pushes away 1.90 g of water of 0.998 g/cm³; its density is 20.00 × 0.998 / 1.90 = 10.5 g/cm³. The more
metal you weigh at once, the narrower the band.</li>
<li><b>From a data sheet</b>: the density as it is given.</li>
</ul>
<p>Strength is taken from a metal of the table as a guide, typed, or left unknown; while it is unknown,
tubes are given without spring-back. The alloy stays with the design when you send it to somebody else.</p>
"""

FEEL = """
<h2>How a piece feels</h2>
<p><i>Bench, Feel</i> takes the piece for the springy bar it is, of the section that every flare leaves, and
says what moves it and how far it comes back. A <b>newton</b> is about the weight of a small apple, 102 g; ten
of them are the weight of a kilogram. Over the wrist it is a bending moment: 10 N·mm is that apple
hung 10 mm from where the wire is held.</p>
<ul>
<li><b>Opened, in its plane</b>: the two places are pulled apart as a hoop or a cuff is opened. A flat
hammered in the plane of the form bends on its strong side here, so hammering makes it stiffer; a flat on edge
bends on its weak side.</li>
<li><b>Bent over the wrist</b>: out of the plane it is drawn in, as a bracelet lies on its band. A flat bends
over its weak side, and where the wire runs across the band it is twisted.</li>
<li><b>One end lifted</b>: held flat at one place, the other raised.</li>
<li><b>Joined, pressed across</b>: only where the two ends meet, as if they were soldered.</li>
</ul>
<p><b>Takes a set from</b> is where the surface first yields: past it the piece does not quite come back. The
place is ringed on the form. <b>Bends there for good</b> is where a section yields right through. Hammered
metal yields later, unhammered and annealed metal sooner: <i>a place is soft</i> shows what a join or an
anneal costs, and it changes the set, never the stiffness. Where the strength of the hammered metal is not
known, ≥ says that the true set comes later.</p>
<p>The comparison is with a plain round wire on the same line that weighs as much: it says what hammering
gained. A hoop of 20 mm through its middle line, of 1.02 mm wire and slit at one place, opens 1.8 mm for
each newton in metal of 100 GPa; where that metal yields at 300 MPa it takes a set from 1.56 N.</p>
<p>Trust the comparisons more than the forces. Movements are taken to be small beside the form; the wire is
thin beside its bends; what bending round the tube hardened, and the stress it left, are not counted.</p>
"""

HAMMERING = """
<h2>From round to flat</h2>
<p><i>Bench, From round to flat</i> shows the passes to a flat of the selected span: until it is so thin, so
wide, the thinnest the metal takes before it must be annealed, or the thinnest there is. <i>Hammer the span
so</i> puts it on the form, one step to undo.</p>
<ul>
<li><b>A pass</b> takes off one B&amp;S number, 11 % of the thickness: set calipers or a gauge plate to the
next figure and hammer down to it.</li>
<li><b>Cold work</b> is counted as strip rolled down by as much would be hardened; it gives the temper. An
anneal sets it back to nothing. <i>In all</i> goes on counting.</li>
<li><b>Anneals</b> are as few as keep every heat within the metal's limit, and the heats are worked alike.
Where the limit is a range its careful end is kept to. The path begins with annealed wire.</li>
<li><b>Yield not known</b> means that nobody has published it for this metal worked so hard.</li>
</ul>
<h3>A worked example</h3>
<p>Brass, 1 mm, spread 0.6. Hammered to 0.50 mm it is 1.38 mm wide, worked 37 %: hard, and it yields at
495 MPa where annealed wire yields at 145. The thinnest before annealing is 0.37 mm, at 50 %. To 0.30 mm it is
58 %, so it is annealed once on the way.</p>
<p>A soldered join anneals a patch. Sterling and some golds can be hardened again by ageing in a kiln; brass,
copper, nickel silver, the fine metals and 22k cannot, and only more cold work hardens that patch.</p>
"""

BENDING = """
<h2>Bending</h2>
<p><i>Bench, Bending</i> lists every bend before hammering. <b>Tube</b> leaves the radius wanted after
letting go, <b>bend to</b> is the turn to go to, past the one wanted. The range is that of annealed metal;
drawn hard it springs more and wants a smaller tube. Pulling the wire round by hand lessens spring-back,
down to none: bend one and measure.</p>
<h3>Two ways to use the marks</h3>
<ul>
<li><b>Round a tube</b>: the bend begins where the wire touches the tube. Mark both ends of the span; between
them all the wire lies on the tube.</li>
<li><b>Gripped at a mark</b>: in round-nosed pliers the bend grows to both sides of the jaws. Mark the middle
of the span and grip it there.</li>
</ul>
<p>Say which way is yours at the top of the page; the template then names those marks.</p>
<h3>A worked example</h3>
<p>Wire of 1.02 mm, stiffness 100 GPa, that yields at 300 MPa, wanted 5 mm inside: round a tube of 9.43 mm it
keeps 95 % of its turn. For 90° bend to 94.9°.</p>
<p>Under two wire diameters of tube radius the middle of the wire no longer keeps its length: the bend
allowance is angle × (inside radius + K × diameter), K falling from 0.5 to 0.33, which is the practice for
sheet. The page says how much less wire that is. A rod thinner than the wire itself is under the least
radius.</p>
"""

WIRE_TO_ORDER = """
<h2>Wire to order</h2>
<p><i>Bench, Wire to order</i> adds what you hold at each end and what a cut takes to the cut length, and
says how many pieces a coil gives, what to buy and what comes back. Your own figures are kept for the next
time; the design is not changed.</p>
<h3>A worked example</h3>
<p>A piece of 80 mm in brass of 1.02 mm, 10 mm to hold at each end: 100 mm, 0.70 g. A metre gives 9, with
0.5 mm lost per cut, and 95.5 mm are left.</p>
<h2>Cut list</h2>
<p><i>Bench, Cut list</i> says which piece comes from which length in the drawer when several are made: the
open design, its variants, and other design files, each with a count. Pieces of one metal and gauge are cut
from one wire, so that the least wire is taken; up to a dozen pieces of a wire every way is tried, above that
the list is a good one and not always the best. Type the lengths as <i>1000, 500 x 3</i>; without a number
there are as many as it takes. Copy it, print it, or save it as text, CSV or PDF.</p>
<h3>A worked example</h3>
<p>Three pieces of 360 mm, 0.5 mm lost per cut, from lengths of 1000 and three of 500 mm: two from 1000 mm,
279 mm left, and one from 500 mm, 139.5 mm left. Two lengths of 1000 mm would take 500 mm more.</p>
"""

FIT = """
<h2>Fit to a size</h2>
<p><i>Bench, Fit to a size</i> says what the piece becomes, how large it must be, how large it is now, and the
ways to get there; one of them, or five sizes as variants, is one step to undo.</p>
<ul>
<li><b>Rolled on a mandrel</b>: the flat form must be as long as the inside round plus π times the height of
the wire that lies on the mandrel. That holds for a round and for any oval. Where the wire is hammered flat it
is lower there and is followed place by place: on an oval what lies at its sharp ends counts for more. Where
parts lie side by side the higher one counts. Hook and eye count in the length, and lie over each other by a
wire each once caught.</li>
<li>The drawings show the piece from above, front, side and back, and flat, all at one scale; what is seen of
the far half is pale. The dashed line is the inside wanted.</li>
<li><b>Worn as it is laid</b>: a hoop or a cuff bent in its own plane. Its inside is measured along the inner
edge, the opening closed by an arc.</li>
<li><b>Gap</b>: what stays open between the ends; less than 0 is an overlap, the ends side by side.</li>
<li><b>Ease</b> is added to the wrist: 6 to 12 mm sits snug, 12 to 25 comfortable, 25 to 30 loose. That is
common practice. Ring sizes: ISO 8653, the common US chart, BS 6820, the Japanese trade scale; US ring
sticks differ by 0.1 mm across.</li>
<li><b>Whole repeats</b>: what they leave over is shared out evenly over the size of the loops.</li>
<li><b>Say so, change nothing</b> keeps the form and only notes what it becomes; other pages, such as
<i>True</i>, go by that.</li>
<li><b>Five sizes</b> about the one wanted keep repeats and wire at other scales, each with the wire to cut;
as variants they stand beside each other under <i>Compare</i>.</li>
</ul>
<h3>A worked example</h3>
<p>A round wire of 1.5 mm for a ring of US 7: the inside is 17.32 mm across and 54.42 mm round, so the blank
is 54.42 + π × 1.5 = 59.13 mm. Hammering after it is closed makes it larger: hammer first, then size.</p>
"""

ENDS = """
<h2>Ends and catches</h2>
<p><i>Form, Ends</i> chooses what is done to each end of the wire and shows it as it comes out. What an end
takes of the wire is in the cut length; its marks (where a hook begins, where to drill) stand on the straight
wire, the rule and the table of the template.</p>
<ul>
<li><b>Hook and eye, a pair</b> sets a hook at the end where it is chosen and an eye that lets it through
at the other. A <b>twisted hook</b> is bent flat and then turned about its own axis, so that it stands
across the eye; from above it is seen foreshortened. It takes no more wire for that.</li>
<li>An <b>S-hook</b> ends in a small curl to the other side, which goes through the eye and keeps it in.</li>
<li>An <b>ear wire</b> is drawn down along its straight, common practice 0.8 mm, then bent round 8 to 10 mm;
the leg behind the ear ends in a kick away from the neck.</li>
<li>A <b>drilled</b> end goes on beyond the mark, hammered flat or not, and is filed half round. Leave half
the hole's diameter of metal on each side and a whole one at the tip. Metal drilled or filed away is still
wire that is cut.</li>
<li>A <b>bead</b> uses the volume of its ball, less the cap it sits on; twice to two and a half times the wire
is usual.</li>
</ul>
<p>Made in another size, the same wire keeps its taper's tip, and an ear its wire and post; a drilled end
keeps its hole. Beads, hooks and eyes grow and shrink with the form.</p>
<h3>A worked example</h3>
<p>A hook of 4 mm inside in 1 mm wire, turned 200° after a straight of 2 mm, takes 2 + 200 / 360 × π × 5 =
<b>10.73 mm</b>. A bead of 2 mm on its tip takes 2 × 2³ / (3 × 1²) = 5.33 mm less the cap of 0.07 mm it sits
on: <b>5.26 mm</b>.</p>
"""

TRUE = """
<h2>True</h2>
<p><i>Bench, True</i> says whether a piece is even, before it is made and trued. Choose a line of the table
and the place is ringed on the form.</p>
<ul>
<li><b>Openings</b> are measured edge to edge in plan where two parts of the wire come nearest with nothing
between them. An even row may swell and shrink along its length; <b>off even</b> is what departs from that by
more than the tolerance. A zigzag is measured from tip to tip.</li>
<li><b>Rolled</b>: the same openings once the form lies on its mandrel. Parts hammered high on edge lean
towards each other and may come together; so may what lies beside the catch.</li>
<li><b>Halves</b> are laid over each other, mirrored or turned half round, whichever fits better, and compared
place by place, in line and in width; upper loops are compared with lower ones. The ends are left out.</li>
<li><b>Lying flat</b>: where the wire crosses it stands off the table.</li>
</ul>
<h3>A worked example</h3>
<p>Round loops of 8 mm, middle of wire to middle of wire, turned 230° each and turned over one from the next:
from mark to mark 8 × sin 115° = 7.25 mm. Between two loops on one side that leaves 2 × 7.25 − 8 − 1.2 =
<b>5.30 mm</b> in wire of 1.2 mm.</p>
"""

PEARLS_STONES = """
<h2>Pearls, stones and a quality mark</h2>
<p><i>Bench, Pearls in the bays</i> finds every place between, inside and beside the wire where a ball sits,
and the largest one and the two largest equal ones that fit, in plan. <b>Closed</b> means that metal closes
round it, <b>held</b> that the ball touches on more than half its round, <b>half open</b> that it touches on
just half of it, as in an S: there two balls side by side do not stand out of the bay.</p>
<p>Type your stock of pearls, such as <i>4 x 5.5, 2 x 6 x 4 button</i>: number × diameter, maybe × length
along the hole. The largest that fit are chosen for the bays that are ticked, from the middle out and never
larger towards the ends; bays as far from both ends get pearls that match.</p>
<p><b>Set these pearls</b> makes them part of the design, in one step to undo; <b>Take out</b> takes them out.
They are drawn on the form, the hole dashed, with the binding wire on both sides and, on the straight wire,
dashed lines where it is tied. A pearl goes with the span it is bound to: mirrored, read from the other end or
with more repeats it stays in its bay. Where it no longer fits, a caution says by how much. Its weight stands
beside that of the metal, never in it.</p>
<h3>A worked example</h3>
<p>A ring of 10 mm inside holds one ball of 10 mm, or two of 5 mm. A half circle of 10 mm inside holds one
of 10 mm, or two of 4.14 mm: 10 × (√2 − 1). A round pearl of 6 mm weighs π / 6 × 6³ × 2.7 / 1000 =
<b>0.305 g</b>. Bound with wire of 0.4 mm, once through and twice round a frame of 1 mm on each side, it takes
6 + 4 × π × 1.4 = <b>23.59 mm</b>; a bead of 1 mm on each end takes 2 × 1³ / (3 × 0.4²) = 4.17 mm more
each.</p>
<p><i>Bench, Stones along the wire</i> sets seats for heads or tubes evenly by length or by how far the wire
turns, and says how much metal is left beside each and where it is marked on the straight wire. A diamond
brilliant weighs about 0.0061 × diameter² × depth: 6.5 mm, 3.9 mm deep, is <b>1.01 ct</b>; another faceted
stone 0.0018 × diameter² × depth × density, a round cabochon as half an ellipsoid, 0.0026 in its place. These
are formulas of the trade, good to some per cent. <b>Set these stones</b> puts them in the place of those that
are set, <b>Add these</b> beside them.</p>
<p>Solder heat softens: with a soldered seat all of the wire counts as annealed in <i>Feel</i>, for small work
is heated through, and as not hardened afterwards. Harden after soldering: planish lightly, burnish or tumble.
A seat joined cold or by laser leaves the wire as it is.</p>
<p><i>Bench, Room for a quality mark</i> finds the place where the flat is widest for a punch of your size,
counting how far the wire bows under it and keeping clear of stones, or says that there is none. <b>Keep this
place</b> marks it on form, wire and template. What must be marked is left to the law of the place.</p>
<p>The template shows what is set on the finished form and on the straight wire, the seats along the form with
the steps between them, and a table of all places.</p>
"""

PRICE = """
<h2>Price, and the same at another size</h2>
<p><i>Bench, Price</i> adds up metal at the price you typed (with its date, never fetched), loss, minutes
of each operation at your own rate, and findings, line by line, and multiplies to wholesale and retail. The
counts of bends, flares and beads come from the design. It is an estimate until the piece is weighed and
timed. Rates are kept beside your own metals, never in a design you send to somebody.</p>
<p><i>Compare, Same weight, look or price</i> keeps one of them while you change metal or size: it solves the
wire, then says what the stock gauges on either side would give.</p>
"""

TEMPLATE = """
<h2>Template and bench card</h2>
<p><i>Template, Template for the bench</i> shows every sheet before it is saved or printed. The straight wire
stands at true length to lay the wire on; rows overlap at letters. The form stands as bent, over its tubes,
and as finished. Gauges give each width as a slot and each thickness as two sizes, one it must pass and one it
must not. A form larger than the sheet is tiled: cut at the dashed lines and lay cross on cross.</p>
<p>Every sheet carries bars of 100 mm and 4 in both ways. Measure them. If the 100 mm bar comes out at 99 mm,
type 99 and print again: the drawing is put right, and every sheet says so.</p>
<p><i>Template, Bench card</i> shows one page or two, to print or to save as PDF or HTML: the picture at true
scale, the wire to cut, what it weighs before and after, the tubes to fetch, and the order of work with the
numbers at each step, boxes to tick, tolerances and cautions. Sides of bends are those before the wire is
turned over. <i>Bend to, let go</i> is how far round the tube that is there, for soft wire; <i>Wide</i> has
the band of your hammer's spread; <i>Anneal</i> says at which thickness.</p>
<p><i>Order of work</i> makes it your own way of working: drag steps, or move them earlier and later, take
the tick from one to leave it out, add words of your own to any step, and steps of your own, such as
<i>Tumble 2 h</i>. It is kept beside your own metals and holds for every card.</p>
"""

SECTIONS = (
    OWN_HAMMER,
    OWN_ALLOY,
    HAMMERING,
    BENDING,
    WIRE_TO_ORDER,
    FEEL,
    FIT,
    TRUE,
    ENDS,
    PEARLS_STONES,
    PRICE,
    TEMPLATE,
)


def bench_page() -> str:
    """The whole page."""
    return "".join(SECTIONS)
