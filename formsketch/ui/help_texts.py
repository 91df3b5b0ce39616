"""Pages to read in the window."""

from __future__ import annotations

from formsketch import __version__
from formsketch.bench.user_tables import user_tables_folder
from formsketch.ui.commands import COMMANDS
from formsketch.ui.key_pulls import KEYS

HOW_IT_WORKS = """
<h2>The form and the wire</h2>
<p>The window shows one wire twice: bent and hammered above, straight as it is cut below. Point at a place on
one and the other shows the same place with its section. A form is a chain of <b>spans</b> between
<b>marks</b>; the pen marks on the straight wire are the marks.</p>
<h3>Pulling</h3>
<ul>
<li><b>A mark</b>: drag it; the wire on both sides is solved anew, its directions kept.</li>
<li><b>A span</b>: drag the wire to open or close it. Its length stays, the rest of the piece swings.</li>
<li><b>A flare</b>: select a span and drag a diamond outward to hammer it wider, along the wire to move the
thinnest place.</li>
<li><b>A row</b>: select a span and drag the double arrow at the end of its last repeat, on for more repeats,
back for fewer. With Shift it grades the row: its ends grow smaller or larger than its middle.</li>
</ul>
<p>One pull is one step to undo. Escape puts everything back while you pull. Where a span is part of a repeat,
every repeat follows; <i>Loosen repeats</i> frees them. Keys pull too: <i>Help, Keys</i> lists them.</p>
<h3>Exactly</h3>
<p>Type into the fields beside the form: 12.5, 7/16 in, 16 ga, 3/32 in + 0.4. Select several spans, with
Ctrl or Shift and a click or with <i>Edit, Select all spans</i>, and what is typed goes for all of them. On
the straight wire double-click a mark to type how far it lies from the start end.</p>
<h3>Over and under</h3>
<p>Where the wire crosses itself the part further along lies over. Double-click a crossing to swap them; the
form is drawn so on the screen and on paper, and keeps it when the wire is reversed.</p>
<h3>Measuring</h3>
<p><i>View, Distance between two points</i>: drag from one place to another. Edges, marks and beads hold
lightly. Between the edges of two parts the clear gap is given as well, where they are nearest there. Nothing
is changed by it.</p>
<h3>Comparing</h3>
<p><i>Compare, Side by side</i> shows the design and its variants at one scale; pull on any of them and all
that share the form follow, or keep the pull to one. <i>Pin this state</i> keeps what is shown as a variant
that stays so. <i>Grid</i> shows the design in many wires and sizes, or any two ways: pull on the design and
every form follows, click one to have it. Esc leaves.</p>
<h2>What the numbers mean, and how far to trust them</h2>
<ul>
<li><b>Cut length</b> is straight wire before hammering, ends included. Hammering lengthens the wire, so it is
less than the finished length. The band beside it is the plausible range of your hammer's spread.</li>
<li><b>Widest flare</b> rests on the spread too: the share of each squeeze that goes sideways. It is trusted
between 0.3 and 0.9 of the wire's thickness. <i>Bench, Own hammer</i> measures yours.</li>
<li><b>Uneven blows</b> (Hammer menu), heavier on the outer edge, tighten a bend; on the inner edge they open
it. How far rests on the spread, and is trusted while no edge is over 30 % thinner than the middle.</li>
<li><b>Tube</b> is the tube that leaves the bend after spring-back in annealed wire, bent before hammering.
Hand tension lessens spring-back; hard wire springs further.</li>
<li><b>Weight</b> is of all the wire cut; alloys differ by about 2 %, filing and polish take some more.</li>
<li><b>Cold work</b> is the hardening at the thinnest place, as an equivalent reduction of rolled strip.</li>
<li><b>Loop / wire</b>, <b>wire / height</b>, <b>flare / wire</b> and <b>metal / hull</b> are pure proportion:
a lump has small loops for its wire, a thread large ones.</li>
</ul>
<p>The screen shows true size only after it was matched once with a card or a rule
(<i>View, Match this screen</i>). A printed template carries a 100 mm bar: measure it.</p>
"""

BENCH_CAUTIONS = """
<h2>At the bench</h2>
<p>The usual cautions; the rules of the place and of your workshop come first, and what needs a licence is
left to those who hold it.</p>
<ul>
<li>Wear eye protection when hammering and clipping. Never strike hardened steel on hardened steel.</li>
<li>Hot metal looks cold. Beads drop while they melt: keep hands, lap and shoes clear, and quench with
care.</li>
<li>Ventilate. Do not overheat brass or other metal that holds zinc: the fume is harmful.</li>
<li>Pickle: acid into water, never water into acid; gloves and goggles; no steel in the pot.</li>
<li>Edges under 0.4 mm cut and catch: round them over.</li>
<li>Nickel on skin and in pierced ears is limited by law in many places.</li>
<li>A quality mark needs the registered maker's mark and is governed by the law of the place.</li>
<li>Metal prices and weights are estimates until the piece is weighed.</li>
</ul>
"""


def keys_text() -> str:
    """Every command with its keys, from the table that defines them."""
    rows, menu = [], ""
    for command in COMMANDS:
        if command.menu != menu:
            menu = command.menu
            rows.append(f"<tr><td colspan='3'><br><b>{_plain(menu)}</b></td></tr>")
        rows.append(_row(_plain(command.text), " or ".join(command.keys), command.hint))
    canvas = (
        "<tr><td colspan='3'><br><b>On the form</b></td></tr>"
        + _row("Next, previous span", "Right, Left", "Selects it.")
        + _row("Several spans", "Shift+Right, Shift+Left", "Stretches the selection, or shrinks it.")
        + _row("Several spans", "Ctrl and click, Shift and click", "One more or less; the whole stretch.")
        + "".join(_row(*row) for row in KEYS)
        + _row("Put back", "Esc", "While pulling; otherwise selects nothing.")
        + _row("Move the end measured to", "Arrow keys", "By 0.1 mm, with Shift by 1 mm, while measuring.")
        + _row("Swap over and under", "Double click", "On a crossing of the wire.")
        + _row("Turn what is seen", "Alt and the middle button", "The design stays; with Shift in steps.")
        + "<tr><td colspan='3'><br><b>On the straight wire</b></td></tr>"
        + _row("Next, previous mark", "Right, Left", "The keys then act on it.")
        + _row(
            "Type its distance", "Enter, double click", "From the start end; after + from the mark before."
        )
    )
    return f"<h2>Keys</h2><table>{''.join(rows)}{canvas}</table>"


def about_text() -> str:
    return (
        f"<h2>FormSketch {__version__}</h2><p>Draw forged wire forms, compare them with real numbers, and "
        "take a true-scale template to the bench.</p><p>Made with Qt for Python (LGPL), NumPy, Shapely, "
        "ReportLab, svgwrite, resvg, msgspec and click. Letters: Noto Sans, SIL Open Font License.</p>"
        f"<p>Your own metals, tubes and hammers: {user_tables_folder()}</p>"
    )


def _row(text: str, keys: str, hint: str) -> str:
    return f"<tr><td>{text}</td><td>&nbsp;&nbsp;{keys}&nbsp;&nbsp;</td><td>{hint}</td></tr>"


def _plain(text: str) -> str:
    return text.replace("&", "")
