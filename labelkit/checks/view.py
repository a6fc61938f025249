"""One page as the checker sees it: characters, pixels, and what was found where.

Made once per page; everything else asks it. Holds no opinion.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from labelkit.checks.characters import Characters, read_characters
from labelkit.checks.crossing import crossed, crowded, overprinted
from labelkit.checks.joining import unjoined
from labelkit.checks.matching import Occurrence, occurrences
from labelkit.checks.order import Order
from labelkit.checks.places import Edges, Lines, lines_of
from labelkit.checks.raster import Raster, render
from labelkit.checks.sameness import Sameness, sameness
from labelkit.checks.streams import Stream, Way, by_position, in_content_order, normal
from labelkit.checks.visibility import LEAST_CONTRAST, Visibility, look
from labelkit.manifest.model import ManifestPage

DPI = 300
"""Resolution at which a page is looked at: that of the commonest label printers."""


@dataclass
class PageView:
    """A page's characters and pixels."""

    number: int
    """From 1."""
    characters: Characters
    raster: Raster
    visibility: Visibility
    order: Order
    crossed: NDArray[np.bool_]
    """Characters with ink in the gap before them."""
    overprinted: NDArray[np.bool_]
    """Characters over which another text lies."""
    unjoined: NDArray[np.bool_]
    """Characters that stand apart from those they must join."""
    explained: NDArray[np.bool_]
    """Characters that belong to a required text that was found."""
    same: Sameness | None = None
    """What is the same as on the page before."""
    _lines: Lines | None = None
    _chosen: dict[Edges, NDArray[np.intp]] = field(default_factory=dict)
    _content: dict[Edges, Stream] = field(default_factory=dict)
    _positions: dict[tuple[Edges, Way], Stream] = field(default_factory=dict)

    @cached_property
    def trouble(self) -> NDArray[np.bool_]:
        """Characters with which anything is wrong that is seen of each by itself."""
        seen = self.visibility
        trouble = ~(seen.inked & seen.on_page) | (seen.contrast < LEAST_CONTRAST)
        trouble |= self.characters.distorted | self.unjoined | self.overprinted
        trouble[list(seen.shown)] = True
        return trouble

    def lines(self, page: ManifestPage) -> Lines:
        """The page's cuts and folds as an array."""
        if self._lines is None:
            self._lines = lines_of(page.cuts)
        return self._lines

    def chosen(self, box: Edges) -> NDArray[np.intp]:
        """Indices of the characters whose middle lies in the box."""
        if box not in self._chosen:
            self._chosen[box] = self.characters.within(box)
        return self._chosen[box]

    def content(self, box: Edges) -> Stream:
        """The box's text in content order."""
        if box not in self._content:
            self._content[box] = in_content_order(self.characters, self.chosen(box))
        return self._content[box]

    def placed(self, box: Edges, way: Way) -> Stream:
        """The box's text by position."""
        key = (box, way)
        if key not in self._positions:
            self._positions[key] = by_position(self.characters, self.chosen(box), way)
        return self._positions[key]

    def find(self, text: str, box: Edges) -> list[Occurrence]:
        """Every place in the box where the text stands, first by content, else by position."""
        wanted = normal(text)
        for stream in self._streams(box):
            found = [o for o in occurrences(stream, wanted) if self.order.reads(o.characters)]
            if found:
                return found
        return []

    def find_all(self, text: str, box: Edges) -> list[Occurrence]:
        """Every place in the box where the text stands by any order of reading.

        In a right-to-left row a figure that stands alone may be read by position only, though
        the same figure inside a longer text is read by content.
        """
        wanted = normal(text)
        found = (
            occurrence
            for stream in self._streams(box)
            for occurrence in occurrences(stream, wanted)
            if self.order.reads(occurrence.characters)
        )
        return list({frozenset(one.characters): one for one in found}.values())

    def _streams(self, box: Edges) -> Iterator[Stream]:
        yield self.content(box)
        for way in Way:
            yield self.placed(box, way)


def view(
    page: pypdfium2.PdfPage, number: int, before: PageView | None = None, dpi: int = DPI
) -> PageView:
    """Look at a page; `before` is the view of the page before it, if there is one."""
    characters = read_characters(page)
    raster = render(page, dpi)
    order = Order(characters)
    same = sameness((before.characters, before.raster), characters, raster) if before else None
    return PageView(
        number=number,
        characters=characters,
        raster=raster,
        visibility=look(characters, raster, before.visibility if before else None, same),
        order=order,
        crossed=crossed(characters, order, raster),
        overprinted=overprinted(characters, _fresh(before, same)) | crowded(characters, order),
        unjoined=unjoined(characters, order),
        explained=np.zeros(len(characters.codes), dtype=np.bool_),
        same=same,
    )


def _fresh(before: PageView | None, same: Sameness | None) -> NDArray[np.bool_] | None:
    """The characters that may lie over others, where the page before had none that do."""
    if before is None or same is None or before.overprinted.any():
        return None
    return ~same.characters
