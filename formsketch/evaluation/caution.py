"""A caution, and the sizes that several of them go by."""

from __future__ import annotations

from typing import Literal

from formsketch.values import Value

# Common practice, no source.
SHARP_EDGE_MM = 0.4
# Silver and gold alloys are heavier than any copper alloy, gold alloys than any of silver.
PRECIOUS_FROM_G_PER_CM3, GOLD_FROM_G_PER_CM3 = 9.5, 11.0


class Caution(Value, frozen=True):
    """One caution: its code, the sentence, its weight, and the spans it is about (numbers from 0)."""

    code: str
    message: str
    weight: Literal["stop", "warn", "note"] = "note"
    spans: tuple[int, ...] = ()
