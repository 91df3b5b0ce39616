"""Programs killed while they save: what they leave behind, again and again.

A saver is a fork that saves one design after another as fast as it can, until SIGKILL ends it wherever it
happens to be. POSIX only: Windows has neither fork nor SIGKILL.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from msgspec.structs import replace

from formsketch.design.file_format import design_bytes, read_design, save_design
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.design.starters import make_starter

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
# The kill comes anywhere in the first few saves, however busy the machine is.
SAVES_IN_A_LIFE = 3.0
LEFTOVER = ".formsketch-*.part"


@dataclass
class Killed:
    """What was found after each kill."""

    kills: int = 0
    old: int = 0  # the file as it stood before
    new: int = 0  # a later one, whole
    broken: list[str] = field(default_factory=list)
    most_leftovers: int = 0  # unfinished files lying in the folder at one time
    in_mid_save: int = 0  # kills that left one


def versions(count: int = 12) -> list[Design]:
    """Designs to save, small to large, each told from the others by its title."""
    made = []
    for number in range(count):
        spans = tuple(Span(length_mm=2.0 + i % 7, turn_deg=float(i % 90)) for i in range(1 + 40 * number))
        form = Form(runs=(Run(spans=spans),))
        made.append(replace(make_starter("open-cuff", BRASS), title=f"state {number}", form=form))
    return made


def forked(work: Callable[[], None]) -> int:
    """A fork that does this and never comes back; its process number."""
    child = os.fork()
    if child:
        return child
    try:
        work()
    finally:
        os._exit(0)


def kill_during_saves(folder: Path, kills: int, seed: int) -> Killed:
    """Kill savers of one file and look at it after each."""
    choose, found = random.Random(seed), Killed()
    file, designs = folder / "piece.formsketch.json", versions()
    whole = {design_bytes(design) for design in designs}
    save_design(file, designs[0])
    longest_s = SAVES_IN_A_LIFE * max(_first_save_s(file, designs[-1]) for _ in range(5))
    for number in range(kills):
        before = file.read_bytes()
        begin = choose.randrange(len(designs))

        def save_on(begin: int = begin) -> None:
            at = begin
            while True:
                at = (at + 1) % len(designs)
                save_design(file, designs[at])

        saver = forked(save_on)
        time.sleep(choose.uniform(0.0, longest_s))
        os.kill(saver, signal.SIGKILL)
        os.waitpid(saver, 0)
        found.kills += 1
        _look(file, before, whole, number, found)
        left = len(list(folder.glob(LEFTOVER)))
        found.most_leftovers = max(found.most_leftovers, left)
        found.in_mid_save += left > 0
    # The next save that comes to its end tidies up.
    save_design(file, designs[0])
    strangers = sorted(item.name for item in folder.iterdir() if item != file)
    if strangers:
        found.broken.append(f"left in the folder after a whole save: {strangers[:3]}")
    return found


def _first_save_s(file: Path, design: Design) -> float:
    """How long it takes from the fork of a saver to its first save."""
    began = time.perf_counter()
    os.waitpid(forked(lambda: save_design(file, design) and None), 0)
    return time.perf_counter() - began


def _look(file: Path, before: bytes, whole: set[bytes], number: int, found: Killed) -> None:
    try:
        data = file.read_bytes()
        read_design(data, file.name)
    except Exception as fault:  # whatever it is, it is what we look for
        found.broken.append(f"kill {number}: {fault!r}")
        return
    if data == before:
        found.old += 1
    elif data in whole:
        found.new += 1
    else:
        found.broken.append(f"kill {number}: neither an old nor a new file")


def kill_during_autosaves(folder: Path, kills: int, seed: int) -> Killed:
    """Kill programs that keep an unsaved design over and over, and start the next one after each."""
    from formsketch.ui.recovery import discard, left_behind

    choose, found = random.Random(seed), Killed()
    file, kept = folder / "piece.formsketch.json", folder / "recovery"
    saved = versions()[3]
    data = save_design(file, saved).data
    for number in range(kills):
        reader, writer = os.pipe()
        program = forked(lambda writer=writer: _keep_on(file, kept, writer))  # type: ignore[misc]
        os.close(writer)
        began = os.read(reader, 1)  # it has kept its first
        asked_s = time.perf_counter()
        os.read(reader, 1)  # and its second
        one_s = time.perf_counter() - asked_s
        time.sleep(choose.uniform(0.0, SAVES_IN_A_LIFE * one_s))
        os.kill(program, signal.SIGKILL)
        os.waitpid(program, 0)
        os.close(reader)
        found.kills += 1
        found.in_mid_save += any(kept.glob(LEFTOVER))
        left = left_behind(kept)
        titles = [each.design.title for each in left]
        if began != b"k" or len(left) != 1 or not titles[0].startswith("unsaved "):
            found.broken.append(f"kill {number}: {began!r} was offered as {titles}")
        elif left[0].file != file or replace(left[0].design, title=saved.title) != saved:
            found.broken.append(f"kill {number}: another design or another file was offered")
        elif titles[0] == "unsaved 1":
            found.old += 1
        else:
            found.new += 1
        if file.read_bytes() != data:
            found.broken.append(f"kill {number}: the design's own file was touched")
        for each in left:
            discard(each)
        found.most_leftovers = max(found.most_leftovers, len(list(kept.iterdir())))
    _grow_old(kept)
    left_behind(kept)
    strangers = sorted(item.name for item in kept.iterdir())
    if strangers:
        found.broken.append(f"left in the folder at the end: {strangers[:3]}")
    return found


def _keep_on(file: Path, kept: Path, told: int) -> None:
    """The program: a design opened, changed again and again, kept after each change."""
    from formsketch.design.file_format import load_design
    from formsketch.ui.application import create_application
    from formsketch.ui.recovery import Recovery
    from formsketch.ui.session import Session

    _app = create_application(["formsketch"])
    loaded = load_design(file)
    session = Session(loaded.design, file, loaded)
    recovery = Recovery(session, kept)
    number = 0
    while True:
        session.change("Title", replace(session.design, title=f"unsaved {number}"))
        if not recovery.keep():
            os._exit(1)
        if number < 2:
            os.write(told, b"k")
        number += 1


def _grow_old(folder: Path) -> None:
    """As if the program were started again the next day."""
    yesterday = time.time() - 86_400
    for item in folder.iterdir():
        os.utime(item, (yesterday, yesterday))
