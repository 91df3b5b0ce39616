"""Commands without a window, and the one that opens it.

No command but the last loads Qt. A command that fails writes nothing, says why in one line, and ends
with 2 when its input was at fault.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import NoReturn

import click

from formsketch import __version__
from formsketch.cli.making import cutlist, fit_to_size
from formsketch.cli.numbers import bays, check, hammer, measure, price
from formsketch.cli.outputs import card, compare, template
from formsketch.cli.shared import BAD_INPUT, FILE
from formsketch.cli.truth import true
from formsketch.errors import FormSketchError

_COMMAND_HELP = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


class _OpenByDefault(click.Group):
    """`formsketch FILE` opens the window, as `formsketch open FILE` does."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if not args or (args[0] not in self.commands and not args[0].startswith("-")):
            args = ["open", *args]
        return super().parse_args(ctx, args)


@click.group(cls=_OpenByDefault, context_settings=_COMMAND_HELP)
@click.version_option(__version__, prog_name="formsketch")
def commands() -> None:
    """Draw forged wire forms, compare them with real numbers, and take a true-scale template to the bench.

    \b
    formsketch [FILE]              open the window, on FILE if given
    formsketch measure FILE        all numbers of a design
    formsketch hammer ...          the spread of your own hammer, from samples
    formsketch template FILE ...   a true-scale template as SVG, PDF or DXF
    formsketch card FILE ...       a bench card as PDF or HTML
    formsketch cutlist FILE ...    a batch cut from the lengths in the drawer
    formsketch compare FILE ...    a design beside its variants, or a grid
    formsketch price FILE          what it costs to make, at your own rates
    formsketch bays FILE           where balls and pearls fit, and how large
    formsketch fit FILE ...        made to close at a ring, wrist or other size
    formsketch true FILE           openings even, sides equal, nothing together when rolled
    formsketch check FILE ...      is it a sound design file?
    """


@commands.command("open")
@click.argument("file", type=FILE, required=False)
def open_window(file: Path | None) -> None:
    """Open the window, on FILE if given, else on the last design or a demo."""
    from formsketch.ui import import_qt_or_explain

    import_qt_or_explain()
    from formsketch.ui.main import run

    sys.exit(run(file))


for _command in (measure, hammer, template, card, cutlist, compare, price, bays, fit_to_size, true, check):
    commands.add_command(_command)


def main() -> NoReturn:
    """Entry point: errors in one line on stderr, ends with 2 for bad input."""
    try:
        commands.main(standalone_mode=False)
        sys.stdout.flush()
    except FormSketchError as fault:
        _fail(str(fault))
    except click.ClickException as fault:
        _fail(f"{fault.format_message()} Try 'formsketch --help'.")
    except click.exceptions.Abort:
        sys.exit(130)
    except BrokenPipeError:
        # The reader went away; keep Python from complaining about it on the way out.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
    sys.exit(0)


def _fail(sentence: str) -> NoReturn:
    click.echo(f"formsketch: {' '.join(sentence.split())}", err=True)
    sys.exit(BAD_INPUT)
