"""Chunks: what a document's blocks become, ready to be poured into areas.

A chunk is a stack of things that stay together. Only a plain text chunk may be divided,
between its lines, and never so that one line of a paragraph stands alone.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import reduce

from labelkit.artwork.page import Item, StrokeItem, TextItem
from labelkit.ground.box import Box
from labelkit.typeset.model import TextLine

LEAST_LINES = 2
"""Lines of a divided paragraph that stay together on either side (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """Items laid out from (0, 0) downwards, and how they behave between their neighbours."""

    items: tuple[Item, ...]
    height_mm: float
    before_mm: float
    """Space above, dropped at the top of an area."""
    keep_next: bool = False
    """Never the last of an area while more follows: a heading, a table's rows."""
    divisible: bool = False
    """One text item that may go on in the next area."""
    line_mm: float = 0.0
    """Divisible chunks: baseline to baseline."""

    @property
    def _text(self) -> TextItem:
        item = self.items[0]
        if not isinstance(item, TextItem):
            raise TypeError("only a text is divisible")
        return item

    @property
    def least_mm(self) -> float:
        """The height of the smallest part that may stand at the end of an area."""
        if not self.divisible or len(self._text.lines) < 2 * LEAST_LINES:
            return self.height_mm
        return self.height_mm - (len(self._text.lines) - LEAST_LINES) * self.line_mm

    def divided(self, room_mm: float) -> "tuple[Chunk, Chunk] | None":
        """What fits in `room_mm` and the rest, or None where no fair division fits."""
        if not self.divisible or self.height_mm <= room_mm:
            return None
        lines = self._text.lines
        over = self.height_mm - room_mm
        rest = max(LEAST_LINES, -int(-over // self.line_mm))
        if len(lines) - rest < LEAST_LINES:
            return None
        head = self._part(lines[:-rest])
        shift_mm = (len(lines) - rest) * self.line_mm
        lowered = (replace(line, baseline_mm=line.baseline_mm - shift_mm) for line in lines[-rest:])
        return head, self._part(tuple(lowered))

    def _part(self, lines: tuple[TextLine, ...]) -> "Chunk":
        height_mm = self.height_mm - (len(self._text.lines) - len(lines)) * self.line_mm
        box = replace(self._text.box, h_mm=height_mm)
        item = replace(self._text, box=box, lines=lines)
        return replace(self, items=(item,), height_mm=height_mm)


def moved(item: Item, dx_mm: float, dy_mm: float) -> Item:
    """The same item elsewhere on the page."""
    box = item.box.moved(dx_mm, dy_mm)
    if isinstance(item, StrokeItem):
        path = tuple(
            (op, tuple(v + (dy_mm if i % 2 else dx_mm) for i, v in enumerate(points)))
            for op, points in item.path
        )
        return replace(item, box=box, path=path)
    return replace(item, box=box)


def together(parts: Iterable[Chunk], gap_mm: float = 0.0) -> Chunk:
    """Chunks below one another as one that is never divided."""

    def joined(above: Chunk, below: Chunk) -> Chunk:
        top_mm = above.height_mm + gap_mm
        items = above.items + tuple(moved(item, 0.0, top_mm) for item in below.items)
        return replace(above, items=items, height_mm=top_mm + below.height_mm, divisible=False)

    return reduce(joined, parts)


def beside(parts: Iterable[tuple[float, Chunk]]) -> Chunk:
    """Chunks next to one another, each at its x, as one that is never divided."""
    placed = tuple(parts)
    items = tuple(moved(item, x_mm, 0.0) for x_mm, chunk in placed for item in chunk.items)
    first = placed[0][1]
    height_mm = max(chunk.height_mm for _, chunk in placed)
    return replace(first, items=items, height_mm=height_mm, divisible=False)


def at(chunk: Chunk, box: Box, y_mm: float) -> tuple[Item, ...]:
    """The chunk's items in an area's box, `y_mm` below its top."""
    return tuple(moved(item, box.x_mm, box.y_mm + y_mm) for item in chunk.items)
