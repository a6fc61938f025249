"""Finds what is equal on the pages of one face, so that it is stored and drawn once.

Decides by comparing the items themselves, never by what a field is called. Most sheets of a
lot are alike; the few that aren't (a card that holds fewer tablets, a last sheet used in
part) stand alone, so that the others share all they have in common.
"""

from collections import defaultdict
from collections.abc import Sequence
from functools import cached_property

from labelkit.artwork.page import Item, Origin
from labelkit.ground.box import Box

Items = tuple[Item, ...]

ALIKE = 0.75
"""Share of the common items that a page must hold to be like the others: what is each page's
own, such as its codes, is less than the rest."""


def hoisted(pages: Sequence[Items]) -> tuple[tuple[Items, Items], ...]:
    """For each page, the items it shares and its own, both in their order.

    A page either shares all that the pages like it have in common, or nothing. One page alone
    shares nothing.
    """
    if len(pages) < 2:
        return tuple(((), page) for page in pages)
    every = [_Held(page) for page in pages]
    shared = list(pages[len(pages) // 2])
    for held in every:
        kept = [item for item in shared if item in held]
        if len(kept) >= ALIKE * len(shared) or len(pages) == 2:
            shared = kept
    common, together = _Held(shared), tuple(shared)
    return tuple(
        (together, tuple(item for item in page if item not in common))
        if all(item in held for item in shared)
        else ((), page)
        for page, held in zip(pages, every, strict=True)
    )


class _Held:
    """Items, to be asked whether one is among them: by identity first, which is quick, since
    pages mostly hold the very same items; else by comparing those at the same place."""

    def __init__(self, items: Sequence[Item]) -> None:
        self._items = items
        self._ids = frozenset(map(id, items))

    def __contains__(self, item: Item) -> bool:
        return id(item) in self._ids or item in self._places.get((item.origin, item.box), ())

    @cached_property
    def _places(self) -> dict[tuple[Origin, Box], list[Item]]:
        """Items by origin and box: few share both, so comparing stays cheap on long runs."""
        places: defaultdict[tuple[Origin, Box], list[Item]] = defaultdict(list)
        for item in self._items:
            places[item.origin, item.box].append(item)
        return dict(places)
