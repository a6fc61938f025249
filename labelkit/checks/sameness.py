"""What a page shares with the one before it: characters, and parts of its picture.

The sheets of a lot differ in serials and codes alone. What was looked at on one page, and is
the same on the next to the last pixel, needs no second look: it gets the same answer. Says
nothing of right or wrong, and where two pages aren't of one make, that nothing is the same.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.places import pixels
from labelkit.checks.raster import Raster

TILE_PX = 8
"""Side of the squares in which changed pixels are counted."""

WORD = 8
"""Pixels that are compared at once: no more than a tile's side, so that a word lies in two
tiles at most."""

REACH_PX = 4
"""Pixels around a box that must be the same with it: more than any look at a glyph goes
beyond its box."""

REACH_MM = 1.0
"""The same around a place whose characters must be the same."""

Boxes = NDArray[np.float64]


@dataclass(frozen=True)
class Sameness:
    """One page compared with the page before it, character by character and pixel by pixel."""

    characters: NDArray[np.bool_]
    """Whether each character is the same in every way, at the same number."""
    boxes: Boxes
    """Boxes, here or on the page before, of those that aren't: millimetres, a row each."""
    changed: NDArray[np.bool_]
    """Tiles of the page that hold a changed pixel, row by row."""
    dpi: int

    @cached_property
    def _counts(self) -> NDArray[np.int32]:
        """How many changed tiles lie above and to the left of each corner of a tile."""
        rows, columns = self.changed.shape
        counts = np.zeros((rows + 1, columns + 1), dtype=np.int32)
        np.cumsum(self.changed, axis=0, out=counts[1:, 1:])
        np.cumsum(counts[1:, 1:], axis=1, out=counts[1:, 1:])
        return counts

    def still(self, boxes: Boxes, reach_px: int = REACH_PX) -> NDArray[np.bool_]:
        """Of each box (rows of left, top, right, bottom in millimetres), whether no pixel in it
        or so near it differs."""
        counts = self._counts
        low, high = self._tiles(boxes, reach_px)
        left, top, right, bottom = low[:, 0], low[:, 1], high[:, 0], high[:, 1]
        inside = counts[bottom, right] - counts[top, right] - counts[bottom, left]
        return np.asarray(inside + counts[top, left] == 0, dtype=np.bool_)

    def only_in(self, boxes: Boxes) -> bool:
        """Whether every pixel that differs lies in one of the boxes, or a tile beside it."""
        left_over = self.changed.copy()
        low, high = self._tiles(boxes, TILE_PX)
        for (left, top), (right, bottom) in zip(low.tolist(), high.tolist(), strict=True):
            left_over[top:bottom, left:right] = False
        return not left_over.any()

    def _tiles(self, boxes: Boxes, reach_px: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """First tile, across and down, of each box grown by `reach_px`, and the one after its
        last."""
        px, most = pixels(1.0, self.dpi), np.array(self.changed.shape[::-1])
        low = np.floor((boxes[:, :2] * px - reach_px) / TILE_PX).astype(np.intp)
        high = np.floor((boxes[:, 2:] * px + reach_px) / TILE_PX).astype(np.intp) + 1
        return np.clip(low, 0, most), np.clip(high, 0, most)

    def untouched(self, places: Boxes) -> NDArray[np.bool_]:
        """Of each place (rows as above), whether the characters in it and near it are the same
        ones."""
        return ~overlapping(places, self.boxes)


def overlapping(places: Boxes, boxes: Boxes) -> NDArray[np.bool_]:
    """Of each place, whether any of the boxes reaches into it or near it."""
    wide = places[:, None] + np.array([-REACH_MM, -REACH_MM, REACH_MM, REACH_MM])
    return np.asarray(
        (
            (wide[..., 0] <= boxes[:, 2])
            & (wide[..., 2] >= boxes[:, 0])
            & (wide[..., 1] <= boxes[:, 3])
            & (wide[..., 3] >= boxes[:, 1])
        ).any(axis=1)
    )


def sameness(
    before: tuple[Characters, Raster], characters: Characters, raster: Raster
) -> Sameness | None:
    """A page compared with the one before; None where they aren't of one make: of another size,
    with another number of characters, or with fewer than half of them the same."""
    old, picture = before
    if len(old.codes) != len(characters.codes) or picture.grey.shape != raster.grey.shape:
        return None
    same = _same_characters(old, characters)
    other = ~same
    if 2 * np.count_nonzero(other) > len(same):
        return None
    return Sameness(
        same,
        np.concatenate((old.boxes[other], characters.boxes[other])),
        _changed_tiles(picture.grey, raster.grey),
        raster.dpi,
    )


def _same_characters(old: Characters, new: Characters) -> NDArray[np.bool_]:
    count = len(new.codes)
    same = (old.boxes == new.boxes).all(axis=1)
    for name in ("points", "sizes_pt", "angles", "parted", "faces", "hidden", "distorted"):
        same &= getattr(old, name) == getattr(new, name)
    begins = np.zeros((2, count), dtype=np.bool_)
    begins[0, old.objects] = True
    begins[1, new.objects] = True
    return np.asarray(same & (begins[0] == begins[1]), dtype=np.bool_)


def _changed_tiles(old: NDArray[np.uint8], new: NDArray[np.uint8]) -> NDArray[np.bool_]:
    height, width = new.shape
    changed = np.zeros((height // TILE_PX + 1, width // TILE_PX + 1), dtype=np.bool_)
    # Eight pixels at a time; where a page doesn't end with a word, its last pixels follow.
    words = new.size // WORD * WORD
    one, other = (np.ascontiguousarray(grey).ravel() for grey in (old, new))
    unlike = np.nonzero(one[:words].view(np.uint64) != other[:words].view(np.uint64))[0] * WORD
    for first in (unlike, unlike + (WORD - 1), words + np.nonzero(one[words:] != other[words:])[0]):
        # A word may begin in one tile, or row, and end in the next.
        rows, columns = np.divmod(first, width)
        changed[rows // TILE_PX, columns // TILE_PX] = True
    return changed
