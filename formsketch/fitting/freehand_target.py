"""What a chain of spans is to pass by, how much work that may take, and what has come of it."""

from __future__ import annotations

import numpy as np

from formsketch.fitting.freehand_chain import Links
from formsketch.geometry.chain import FloatArray
from formsketch.geometry.spans import ComplexArray
from formsketch.values import Result

# How many of a chain's first numbers are its start's place, or its pose.
PLACE_NUMBERS, POSE_NUMBERS = 2, 3
# Work of a step, in units of a simple chain's: a share by itself and one by rows and numbers.
_STEP_WORK, _ROW_WORK, _PRODUCT_WORK = 0.9, 4e-5, 2.5e-7


class Effort:
    """Work that may still be done, counted in steps of a simple chain; when it is used up all searches end.

    `spare` is what is left of a grant for making better what is already good.
    """

    def __init__(self, allowed: float) -> None:
        self.left, self._kept = allowed, 0.0

    @property
    def spare(self) -> float:
        return self.left - self._kept

    def grant(self, work: float) -> None:
        self._kept = max(0.0, self.left - work)

    def spend(self, rows: int, numbers: int) -> None:
        self.left -= _STEP_WORK + rows * numbers * (_ROW_WORK + _PRODUCT_WORK * numbers)


class Refined(Result, frozen=True):
    """A chain, where along it each point has its foot, and how far each is from it, left positive.

    `worst` is the greatest of these distances, `deviation` that between chain and stroke, both ways, once it
    has been measured; `squeezed` chains are further from the points on the whole than they might be.
    """

    links: Links
    at: FloatArray
    across: FloatArray
    worst: float
    squeezed: bool
    deviation: float = np.inf

    @property
    def keeps(self) -> bool:
        """Whether the chain has been found to keep within the tolerance."""
        return self.deviation <= 1.0


class Target(Result, frozen=True):
    """Points in order along a stroke, the least length of a span, and the most turning and length of a chain.

    `closes` asks the chain to end where it began, in the same direction too if `smoothly`. The first `fixed`
    numbers of the chain stay as they are: none, those of the start's place, or of its pose. All distances are
    to come `within` this.
    """

    points: ComplexArray
    least_length: float
    most_turning: float
    most_length: float
    effort: Effort
    closes: bool = False
    smoothly: bool = False
    fixed: int = 0
    within: float = 1.0

    def allows(self, links: Links) -> bool:
        """Whether a chain is one to go on with, and has not run away."""
        return links.turning <= self.most_turning and float(links.length.sum()) <= self.most_length
