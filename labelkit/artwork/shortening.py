"""A leaflet of several sheets, on no more pages than its text needs.

A large-print layout has pages for the longest text; a shorter one would end on pages with
nothing but a number. Pages are taken from the end, whole; every text still stands at the
layout's least size or above, or the leaflet is refused as it would be anyway.
"""

from dataclasses import replace

from labelkit.artwork.composing import compose
from labelkit.geometry.model import Layout
from labelkit.ground.errors import ArtworkRefused
from labelkit.manifest.loads import SheetLoad

PAGES = "pages"
"""Placeholder of how many pages there are, for the statements that number them."""


def shortened(
    layout: Layout, sheets: tuple[SheetLoad, ...]
) -> tuple[Layout, tuple[SheetLoad, ...]]:
    """The layout with the fewest faces, from the first, that hold everything; loads know how many.

    Where no fewer do, it is the whole layout, whether that holds everything or not: composing
    it says.
    """
    for count in range(1, len(layout.faces)):
        short = replace(layout, faces=layout.faces[:count])
        counted = _counted(sheets, count)
        try:
            compose(short, counted, "draft")
        except ArtworkRefused:
            continue
        return short, counted
    return layout, _counted(sheets, len(layout.faces))


def _counted(sheets: tuple[SheetLoad, ...], count: int) -> tuple[SheetLoad, ...]:
    return tuple(
        SheetLoad(tuple(replace(p, values={**p.values, PAGES: count}) for p in sheet.pieces))
        for sheet in sheets
    )
