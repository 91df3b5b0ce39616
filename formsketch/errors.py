"""Errors a person may see. Each message is one clear sentence: what, where, what was expected."""

import unicodedata

_LONGEST_SHOWN = 600
_UNPRINTABLE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def shown(text: str) -> str:
    """The text with anything unprintable shown as "?", cut in the middle where it is very long."""
    clean = "".join("?" if unicodedata.category(c) in _UNPRINTABLE else c for c in text)
    if len(clean) <= _LONGEST_SHOWN:
        return clean
    half = _LONGEST_SHOWN // 2
    return f"{clean[:half]}...{clean[-half:]}"


class FormSketchError(Exception):
    """Anything the program refuses; its text can be shown to the maker as it stands."""


class DesignFileError(FormSketchError):
    """A design file that cannot be read or written.

    `file` is the file's name as given, `place` the path inside it (such as
    `$.form.runs[0].spans[1].length_mm`, or empty when the whole file is meant), `expected` what
    should have stood there.
    """

    def __init__(self, file: str, place: str, expected: str) -> None:
        self.file, self.place, self.expected = file, place, expected
        # Names and keys come from outside: nothing in them may break the line or steer a terminal.
        parts = (shown(part) for part in (file, place, expected) if part)
        super().__init__(": ".join(parts))


class TableError(FormSketchError):
    """A bench table (metals, tubes, hammers) that cannot be used; says file, row and expectation."""

    def __init__(self, sentence: str) -> None:
        # Keys and names in it come from the file: nothing in them may break the line.
        super().__init__(shown(sentence))


class EditRefused(FormSketchError):
    """An edit that would leave the design unsound; the design stays as it was."""


class DrawingError(FormSketchError):
    """A drawing that cannot be written: numbers that are not finite, a name that is not allowed."""


class InputError(FormSketchError):
    """Something typed or given that cannot be used: a length, an angle, a gauge, a ring size."""
