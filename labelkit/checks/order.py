"""Whether characters that follow one another in the text also do so on the paper.

A file may hold a text in perfect order and show its letters in another: a search finds it
and a reader doesn't. So the place of each character is compared with the one before it.
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.streams import is_left_to_right, is_right_to_left
from labelkit.ground.units import MM_PER_INCH, PT_PER_INCH

BACK_EM = 0.45
"""How far back a character may begin: marks stand over or under the letter before them."""

LINE_EM = 0.5
"""A step across the line of more than this is a step to the next line."""

Indices = NDArray[np.intp]


class Order:
    """Places of a page's characters along and across their direction of writing."""

    def __init__(self, characters: Characters) -> None:
        left, top, right, bottom = (characters.boxes[:, i] for i in range(4))
        angles = characters.angles
        turns = [angles == 90, angles == 180, angles == 270]
        self.starts = np.select(turns, [top, -right, -bottom], left)
        self.ends = np.select(turns, [bottom, -left, -top], right)
        # Across counts towards the next line: down the page, or to the left when turned by 90.
        self.near = np.select(turns, [-right, -bottom, left], top)
        self.far = np.select(turns, [-left, -top, right], bottom)
        self.middle = (self.near + self.far) / 2
        self.em = characters.sizes_pt * (MM_PER_INCH / PT_PER_INCH)
        self.parted = characters.parted
        self.ahead = characters.where(is_left_to_right)
        self.backward = characters.where(is_right_to_left)

    @cached_property
    def _stops(self) -> NDArray[np.intp]:
        """How many of the characters up to each don't read on from the one before them, in a
        text without right-to-left letters; such letters count as well."""
        count = len(self.starts)
        stops = np.zeros(count + 1, dtype=np.intp)
        if count:
            everything = np.arange(count)
            stops[2:] = np.cumsum(~self._forward(everything[:-1], everything[1:]))
            stops[1:] += np.cumsum(self.backward)
        return stops

    def reads(self, chosen: Sequence[int]) -> bool:
        """Whether the characters, in this order, read on from each to the next.

        In a text with right-to-left letters the order of words is left to the matching by
        position: numbers and Latin words stand either way round in it.
        """
        if not chosen:
            return False
        if chosen[-1] - chosen[0] == len(chosen) - 1:
            first, end = chosen[0], chosen[-1] + 1
            into = int(self._stops[first + 1] - self._stops[first])
            if self._stops[end] - self._stops[first] == into and not self.backward[first]:
                return True
        return self._reads(np.array(chosen, dtype=np.intp))

    def follows(self, first: int, second: int, *, from_right: bool) -> bool:
        """Whether the second character stands farther along its line than the first, in that
        direction, or on the next line."""
        em = max(float(self.em[first]), float(self.em[second]))
        if self.middle[second] - self.middle[first] > LINE_EM * em:
            return True
        along = self.starts[second] - self.starts[first]
        back = self.ends[first] - self.ends[second]
        return bool((back if from_right else along) >= -BACK_EM * em)

    def _reads(self, chosen: Indices) -> bool:
        first, second = chosen[:-1], chosen[1:]
        if not self.backward[chosen].any():
            return bool(self._forward(first, second).all())
        em = np.maximum(self.em[first], self.em[second])
        right_to_left = self.backward[first] & self.backward[second]
        left_to_right = self.ahead[first] & self.ahead[second]
        # Brackets and other signs go with what is around them.
        free = ~(right_to_left | left_to_right) | self.parted[second]
        forward = self.starts[second] - self.starts[first]
        backward = self.ends[first] - self.ends[second]
        ahead = np.where(right_to_left, backward, forward) >= -BACK_EM * em
        return bool((ahead | free | (self._step(first, second) > LINE_EM * em)).all())

    def _forward(self, first: Indices, second: Indices) -> NDArray[np.bool_]:
        """Whether each second character stands after its first, on its line or on the next."""
        em = np.maximum(self.em[first], self.em[second])
        step = self._step(first, second)
        forward = self.starts[second] - self.starts[first] >= -BACK_EM * em
        return np.where(np.abs(step) > LINE_EM * em, step > 0, forward)

    def _step(self, first: Indices, second: Indices) -> NDArray[np.float64]:
        """How far towards the next line each second character stands."""
        return np.asarray(self.middle[second] - self.middle[first], dtype=np.float64)
