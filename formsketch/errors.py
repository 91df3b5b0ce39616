"""Errors a person may see. Each message is one clear sentence: what, where, what was expected."""


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
        super().__init__(f"{file}: {place}: {expected}" if place else f"{file}: {expected}")


class TableError(FormSketchError):
    """A bench table (metals, tubes, hammers) that cannot be used; says file, row and expectation."""


class EditRefused(FormSketchError):
    """An edit that would leave the design unsound; the design stays as it was."""


class DrawingError(FormSketchError):
    """A drawing that cannot be written: numbers that are not finite, a name that is not allowed."""


class InputError(FormSketchError):
    """Something typed or given that cannot be used: a length, an angle, a gauge, a ring size."""
