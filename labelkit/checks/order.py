"""Whether characters that follow one another in the text also do so on the paper.

A file may hold a text in perfect order and show its letters in another: a search finds it
and a reader doesn't. So the place of each character is compared with the one before it.
"""

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.streams import is_right_to_left
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
        self.em = characters.sizes_pt * (MM_PER_INCH / PT_PER_INCH)
        self.parted = characters.parted
        self.backward = np.fromiter(
            (is_right_to_left(c[:1]) for c in characters.codes),
            dtype=np.bool_,
            count=len(characters.codes),
        )

    def reads(self, chosen: Indices) -> bool:
        """Whether the characters, in this order, read on from each to the next.

        In a text with right-to-left letters the order of words is left to the matching by
        position: numbers and Latin words stand either way round in it.
        """
        first, second = chosen[:-1], chosen[1:]
        forward = self.starts[second] - self.starts[first]
        backward = self.ends[first] - self.ends[second]
        em = np.maximum(self.em[first], self.em[second])
        step = (self.near[second] + self.far[second] - self.near[first] - self.far[first]) / 2
        one_word = ~self.parted[second]
        if self.backward[chosen].any():
            right_to_left = self.backward[first] & self.backward[second]
            free = self.backward[first] != self.backward[second]
            ahead = np.where(right_to_left, backward, forward) >= -BACK_EM * em
            fine = ahead | free | ~one_word | (step > LINE_EM * em)
        else:
            fine = np.where(np.abs(step) > LINE_EM * em, step > 0, forward >= -BACK_EM * em)
        return bool(fine.all())
