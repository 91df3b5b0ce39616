"""Help for when something goes wrong: what is kept, what is asked, and what each refusal means."""

from __future__ import annotations

from formsketch.files import REASONS

TITLE = "When something goes wrong"

UNSAVED = """
<h2>When the program or the computer stops</h2>
<p>What is not saved is kept in the program's own folder, at most two seconds after each change, never over
your file. At the next start FormSketch offers it: <i>Open it</i> shows it as unsaved, with its own file if
it had one; <i>Give it up</i> forgets it; <i>Ask later</i> offers it again next time. Of several, one is
opened and the others wait. Saving, or closing and giving the changes up, takes what was kept away.</p>
<p>A file is written whole or not at all: after a power cut in the middle of saving the old file or the new
one stands there, never half of one.</p>
"""

SAVING = """
<h2>When a file cannot be saved</h2>
<p>Nothing is lost: the old file stands as it was, and the design stays open. The sentence says why.
<i>File, Save as</i> writes it to another place. What can be in the way:</p>
<ul>{reasons}
<li><b>the folder does not exist</b>: it was moved or taken away, a stick was pulled or a network folder is
gone.</li>
<li><b>the name holds a character that no file name can have</b>: type another name.</li></ul>
<p><b>What is not saved cannot be kept for a bad end</b> in the bottom line says that the program's own
folder cannot be written, mostly because the disk is full: save the design, and make room.</p>
"""

TWICE = """
<h2>When a file is open twice, or changed elsewhere</h2>
<p>A second window on the same file says so when it opens it. Both can be worked on. Whoever saves second is
asked, and so are you when another program or another computer has written the file since you opened it:
<i>Keep both</i> writes your design beside it under the next free name, <i>Replace</i> writes over what is
there, <i>Cancel</i> does nothing. To see what is there, keep both and open it.</p>
"""

REFUSED = """
<h2>When a file is refused</h2>
<p>A design file that holds a slip is refused whole, with the place in it, such as
<code>$.form.runs[0].spans[1].length_mm</code>, and what was expected there; what is open stays open, and
the file is not touched. <i>Written by a later program</i>: the file is from a newer FormSketch; open it
there. Files of every earlier version open for ever.</p>
<p>Your own metals, tubes, hammers and rates are refused in the same way, with file and row. The program
opens all the same and uses only what it lists itself, until the row is mended or the file is taken out of the
folder that <i>Help, About</i> names; a design in a metal of your own opens then.</p>
<p>Settings that this program did not write are put aside, and the usual ones are used.</p>
"""

PICTURES = """
<h2>When a picture is not shown</h2>
<p>The design opens all the same, and the sentence at the bottom says why. A picture has to lie in the
design's own folder or below it, as PNG, JPEG or SVG; nothing outside that folder is read, and no link out
of it is followed. Pictures of more than 60 million pixels, of 20 million with 16 bits a colour, or of more
than 40 MB are refused. So are drawings that hold or call in other files, take more than some seconds or
very much memory to draw: save such a drawing as PNG.</p>
"""

FAULTS = """
<h2>When the program itself is at fault</h2>
<p>A fault nobody foresaw does not end the program. What is being pulled is put back, what is unsaved is
kept at once, and one sentence names a report: a text file beside what is kept for a bad end. It holds the
version, the system, the place in the program and the names of the last steps; nothing of the design. Send
it with what you did. The same fault again is not told again. Save under another name, and start the program
anew if something looks wrong.</p>
"""

UNDO = """
<h2>How far undo reaches</h2>
<p>Back to the opening of the design. The last 1,000 steps are kept one by one; those before are made into
one, which <i>Edit, Steps</i> and <i>Undo</i> name with how many they are. The bottom line says so when it
begins.</p>
"""


def faults_page() -> str:
    """The whole page, with every reason that a file can be refused for."""
    reasons = "".join(f"<li>{reason}</li>" for reason in dict.fromkeys(REASONS.values()))
    return "".join((UNSAVED, SAVING.format(reasons=reasons), TWICE, REFUSED, PICTURES, FAULTS, UNDO))
