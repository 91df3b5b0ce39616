"""What was worked out before from the same numbers, up to a bounded size: an edit changes little of a form.

Results are kept by the very numbers they come from, so what is handed out is what would come out anew.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

# What an array, its key and their place in a dict take besides its numbers, about.
_ENTRY_BYTES = 400


class Remembered:
    """Arrays, not to be written to, of at most `most_bytes` in all, by the row of numbers they come from.

    What keeping an array takes besides its numbers is counted too: most arrays are small.
    """

    def __init__(self, most_bytes: int) -> None:
        self.most_bytes = most_bytes
        self._known: dict[bytes, NDArray[Any]] = {}
        self._bytes = 0

    def all_of(
        self, rows: NDArray[np.float64], make: Callable[[NDArray[np.float64]], Iterable[NDArray[Any]]]
    ) -> list[NDArray[Any]]:
        """The array of each row; `make` is asked at once for those of all rows not known, each once.

        When too much is kept, only what was asked for this time stays, unless that is too much itself.
        """
        keys = np.ascontiguousarray(rows).view(f"V{rows.shape[1] * rows.itemsize}").ravel().tolist()
        known = self._known
        found = list(map(known.get, keys))
        missing = {key: i for i, (key, value) in enumerate(zip(keys, found, strict=True)) if value is None}
        if missing:
            made = dict(zip(missing, map(_kept, make(rows[list(missing.values())])), strict=True))
            found = [made[key] if value is None else value for key, value in zip(keys, found, strict=True)]
            known.update(made)
            self._bytes += _size(made.values())
            if self._bytes > self.most_bytes:
                self._keep_only(dict(zip(keys, found, strict=True)))
        return [value for value in found if value is not None]

    @property
    def kept_bytes(self) -> int:
        return _size(list(self._known.values()))

    def forget(self) -> None:
        """Forget all."""
        self._known, self._bytes = {}, 0

    def _keep_only(self, known: dict[bytes, Any]) -> None:
        """A new dict, for another thread may be reading the old one."""
        size = _size(known.values())
        self._known, self._bytes = (known, size) if size <= self.most_bytes else ({}, 0)


def _size(values: Collection[NDArray[Any]]) -> int:
    return sum(value.nbytes for value in values) + _ENTRY_BYTES * len(values)


def _kept(value: NDArray[Any]) -> NDArray[Any]:
    """A copy of its own, since a view would keep all that was made with it."""
    value = value.copy()
    value.flags.writeable = False
    return value
