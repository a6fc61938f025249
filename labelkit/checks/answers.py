"""Answers that a page shares with the one before it: what was right there and is the same here.

A text is right again when the manifest asks for the same, the characters of its place are the
same ones, and so is every pixel that was looked at. Only right answers are kept: whatever was
wrong is looked at again, so that each page tells its own findings.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.drawings import Drawn
from labelkit.checks.places import Edges, edges
from labelkit.checks.sameness import Sameness, overlapping
from labelkit.checks.view import PageView
from labelkit.manifest.model import ManifestPage, Part

SMALL_MM = 2.7
"""Sides up to which a character can't hold a code (common practice, no source: the smallest
Data Matrix in whole dots of 300 dpi has 2.5 mm, and no record fits it)."""

NEIGHBOURS = 3
"""Characters before and after a text that tell whether it is part of a longer word, and one
more."""


@dataclass(frozen=True)
class Standing:
    """Where a text stands."""

    characters: NDArray[np.intp]
    box: Edges
    within: Edges
    """The place in which it was looked for."""
    several_lines: bool
    """Whether what stands between its lines was looked at too."""


@dataclass
class Answers:
    """What was right on one page."""

    view: PageView
    page: ManifestPage
    drawn: Drawn
    texts: dict[int, Standing] = field(default_factory=dict)
    """Texts with which nothing is wrong where they stand first, by place in the page's list."""
    values: set[int] = field(default_factory=set)
    """The same of record values."""
    bare: set[Edges] = field(default_factory=set)
    """Parts in which a code was looked for and none stands."""
    strays: bool = False
    """Whether a code stands where none is asked for."""

    def sheet(self, view: PageView, page: ManifestPage) -> "Sheet | None":
        """How another page compares; None where nothing of it can be the same."""
        if view.same is None or (page.cuts is not self.page.cuts and page.cuts != self.page.cuts):
            return None
        return Sheet(self, view, page, view.same)


@dataclass(frozen=True)
class Sheet:
    """A page, beside the answers of the one before it."""

    before: Answers
    view: PageView
    page: ManifestPage
    same: Sameness

    def texts(self) -> dict[int, Standing]:
        """Texts that are right because they are what they were."""
        old, new = self.before.page.texts, self.page.texts
        numbers = _asked_again(self.before.texts, old, new)
        if not numbers:
            return {}
        texts = [self.before.texts[number] for number in numbers]
        chosen = [fine.characters for fine in texts]
        everything = np.concatenate(chosen)
        begins = np.cumsum([0, *(len(one) for one in chosen[:-1])])
        crossed = self.view.crossed[everything]
        # What stands before a text's first character is no part of it.
        crossed[begins] = False
        wrong = np.logical_or.reduceat(self.view.trouble[everything] | crossed, begins)
        stays = self._stays(texts) | self.same.untouched(_rows([fine.within for fine in texts]))
        alone = np.array([not fine.several_lines for fine in texts])
        right = ~wrong & stays & (alone | self.same.still(_rows([fine.box for fine in texts]), 0))
        return {
            number: fine
            for number, fine, good in zip(numbers, texts, right.tolist(), strict=True)
            if good
        }

    def _stays(self, texts: list[Standing]) -> NDArray[np.bool_]:
        """Of each text, whether it is one row in the content and the same there, with what stands
        before and after it: then it is found again, whatever else there is in its place."""
        first = np.array([fine.characters[0] for fine in texts])
        last = np.array([fine.characters[-1] for fine in texts])
        whole = last - first + 1 == np.array([len(fine.characters) for fine in texts])
        changed = np.concatenate(([0], np.cumsum(~self.same.characters)))
        begin = np.maximum(first - NEIGHBOURS, 0)
        end = np.minimum(last + 1 + NEIGHBOURS, len(changed) - 1)
        return np.asarray(whole & (changed[end] == changed[begin]), dtype=np.bool_)

    def values(self) -> set[int]:
        """Values that are right because all characters of their places are what they were, and
        explained by texts as they were; texts must have been looked at before."""
        old, new = self.before.page.values, self.page.values
        numbers = _asked_again(self.before.values, old, new)
        if not numbers:
            return set()
        places = _rows([edges(new[number].within) for number in numbers])
        otherwise = self.view.explained != self.before.view.explained
        boxes = self.view.characters.boxes[otherwise]
        right = self.same.untouched(places) & ~overlapping(places, boxes)
        return {n for n, good in zip(numbers, right.tolist(), strict=True) if good}

    @property
    def bare_before(self) -> set[Edges]:
        """Parts of the page before in which a code was looked for and none stands."""
        return self.before.bare

    def bare(self, boxes: list[Edges]) -> set[Edges]:
        """Of some parts of the page, those in which there was no code, and which are the same."""
        candidates = [box for box in boxes if box in self.before.bare]
        if not candidates:
            return set()
        still = self.same.still(_rows(candidates)).tolist()
        return {box for box, good in zip(candidates, still, strict=True) if good}

    def searched(self, known: list[Edges]) -> bool:
        """Whether a code that stands elsewhere than in the known boxes was looked for on the page
        before: none was found, and all that differs stands in those boxes or is small print."""
        old, new = self.before.page, self.page
        if self.before.strays or old.empty or new.empty:
            return False
        if [code.within for code in old.codes] != [code.within for code in new.codes]:
            return False
        letters = self.same.boxes
        small = letters[(letters[:, 2:] - letters[:, :2]).max(axis=1) <= SMALL_MM]
        return self.same.only_in(np.concatenate((_rows(known).reshape(-1, 4), small)))


def _asked_again(numbers: Iterable[int], old: Sequence[Part], new: Sequence[Part]) -> list[int]:
    """Those places of two lists where both ask for the same; equal parts are mostly one object."""
    return [n for n in numbers if n < len(new) and (new[n] is old[n] or new[n] == old[n])]


def _rows(boxes: list[Edges]) -> NDArray[np.float64]:
    return np.array(boxes, dtype=np.float64)
