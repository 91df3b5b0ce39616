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
</ul>
<p>One pull is one step to undo. Escape puts everything back while you pull. Where a span is part of a repeat,
every repeat follows; <i>Loosen repeats</i> frees them. Keys pull too: <i>Help, Keys</i> lists them.</p>
<h3>Over and under</h3>
<p>Where the wire crosses itself the part further along lies over. Double-click a crossing to swap them; the
form is drawn so on the screen and on paper, and keeps it when the wire is reversed.</p>
<h3>Measuring</h3>
<p><i>View, Distance between two points</i>: drag from one place to another. Edges, marks and beads hold
lightly. Between the edges of two parts the clear gap is given as well, where they are nearest there. Nothing
is changed by it.</p>
<h2>What the numbers mean, and how far to trust them</h2>
<ul>
<li><b>Cut length</b> is straight wire before hammering, ends included. Hammering lengthens the wire, so it is
less than the finished length. The band beside it is the plausible range of your hammer's spread.</li>
<li><b>Widest flare</b> rests on the spread too: the share of each squeeze that goes sideways. It is trusted
between 0.3 and 0.9 of the wire's thickness. Hammer one sample to know your own.</li>
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
        + "".join(_row(*row) for row in KEYS)
        + _row("Put back", "Esc", "While pulling; otherwise selects nothing.")
        + _row("Move the end measured to", "Arrow keys", "By 0.1 mm, with Shift by 1 mm, while measuring.")
        + _row("Swap over and under", "Double click", "On a crossing of the wire.")
    )
    return f"<h2>Keys</h2><table>{''.join(rows)}{canvas}</table>"


def about_text() -> str:
    return (
        f"<h2>FormSketch {__version__}</h2><p>Draw forged wire forms, compare them with real numbers, and "
        "take a true-scale template to the bench.</p><p>Made with Qt for Python (LGPL), NumPy, Shapely, "
        "ReportLab, svgwrite, resvg, msgspec and click. Letters: Noto Sans, SIL Open Font License.</p>"
        f"<p>Your own metals and tubes: {user_tables_folder()}</p>"
    )


def _row(text: str, keys: str, hint: str) -> str:
    return f"<tr><td>{text}</td><td>&nbsp;&nbsp;{keys}&nbsp;&nbsp;</td><td>{hint}</td></tr>"


def _plain(text: str) -> str:
    return text.replace("&", "")
