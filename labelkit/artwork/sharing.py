"""Finds what is equal on all pages of one face, so that it is stored and drawn once.

Decides by comparing the items themselves, never by what a field is called: an item is
shared only if every page of that face has its equal.
"""

from collections import defaultdict
from collections.abc import Sequence

from labelkit.artwork.page import Item, Origin
from labelkit.ground.box import Box

Pages = Sequence[tuple[Item, ...]]


def hoisted(pages: Pages) -> tuple[tuple[Item, ...], tuple[tuple[Item, ...], ...]]:
    """The items that every page has, and each page's own rest, both in their order.

    One page alone shares nothing.
    """
    if len(pages) < 2:
        return (), tuple(pages)
    shared = list(pages[0])
    for page in pages[1:]:
        places = _by_place(page)
        shared = [item for item in shared if item in places[item.origin, item.box]]
    common = _by_place(shared)
    rests = tuple(
        tuple(item for item in page if item not in common[item.origin, item.box]) for page in pages
    )
    return tuple(shared), rests


def _by_place(items: Sequence[Item]) -> defaultdict[tuple[Origin, Box], list[Item]]:
    """Items by origin and box: few share both, so comparing stays cheap on long runs."""
    places: defaultdict[tuple[Origin, Box], list[Item]] = defaultdict(list)
    for item in items:
        places[item.origin, item.box].append(item)
    return places
