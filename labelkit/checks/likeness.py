"""Whether equal characters of a page look equal: one that doesn't is covered or damaged.

Compared on a coarse grid of mean shades, and those that differ again on all pixels: where a
glyph falls between pixels moves its edges by up to one, which is no difference. Letters that
change with their neighbours aren't compared.
"""

from dataclasses import dataclass
from itertools import product
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.crossing import is_joined
from labelkit.ground.units import MM_PER_INCH, PT_PER_INCH

BLOCKS = 4
"""Rows and columns of the coarse grid on which equal glyphs are compared."""

MOVED_PX = 2
"""How far equal glyphs are moved to find that they are equal."""

_MOVES = sorted(
    product(range(-MOVED_PX, MOVED_PX + 1), repeat=2), key=lambda m: abs(m[0]) + abs(m[1])
)

STRANGE_DIFFERENCE = 0.2
"""Mean difference of a glyph's picture from its likes on the page that makes it another."""

LIKES = 4
"""How many equal glyphs a page needs before one of them can be called strange."""

LEAST_LIKENESS_PX = 8
"""Smaller glyphs aren't compared: half a pixel is too much of them."""

Key = tuple[str, int, int, int, int]
"""Character, face, size in quarters of a point, angle, and width in fiftieths of an em: a
letter of a ligature has only its share of the ligature's box."""

Levels = tuple[NDArray[np.uint8], NDArray[np.uint8], NDArray[np.uint8]]
"""Pictures, darkest and lightest level of each glyph."""

_Kind = TypeVar("_Kind", bound=np.generic)


@dataclass(frozen=True)
class Likeness:
    """Which characters look unlike their likes, and what the next page needs to know of it."""

    strange: NDArray[np.bool_]
    shades: NDArray[np.float32]
    keys: list[Key]
    groups: dict[Key, list[int]]


def likeness(
    characters: Characters,
    grey: NDArray[np.uint8],
    boxes: NDArray[np.float64],
    levels: Levels,
    before: tuple[Likeness, NDArray[np.intp]] | None = None,
) -> Likeness:
    """Glyphs that look unlike the page's others of the same character, face and size.

    `boxes` are in pixels; `before` is the answer for the page before, and the characters that
    aren't the same as there.
    """
    count = len(boxes)
    if before is None:
        everything = np.arange(count)
        keys = _keys(characters, everything)
        shades = _shades(levels, everything)
        strange = np.zeros(count, dtype=np.bool_)
        groups: dict[Key, list[int]] = {}
        for index, key in enumerate(keys):
            groups.setdefault(key, []).append(index)
        touched = set(groups)
    else:
        old, fresh = before
        shades = renewed(old.shades, fresh, _shades(levels, fresh))
        keys, groups, touched = _regrouped(old, fresh.tolist(), _keys(characters, fresh))
        strange = old.strange.copy()
    for key in touched:
        members = groups.get(key, [])
        strange[members] = False
        if len(members) >= LIKES and not is_joined(key[0]):
            strange[_strange(members, grey, boxes, shades)] = True
    return Likeness(strange, shades, keys, groups)


def renewed(old: NDArray[_Kind], places: NDArray[np.intp], new: NDArray[_Kind]) -> NDArray[_Kind]:
    """An array with other values in some places."""
    answer = old.copy()
    answer[places] = new
    return answer


def _regrouped(
    old: Likeness, fresh: list[int], new: list[Key]
) -> tuple[list[Key], dict[Key, list[int]], set[Key]]:
    """Keys and groups with the fresh characters in their new groups, and which groups that
    touches."""
    keys, groups = old.keys.copy(), old.groups.copy()
    touched = {keys[index] for index in fresh} | set(new)
    gone = set(fresh)
    arrived: dict[Key, list[int]] = {}
    for index, key in zip(fresh, new, strict=True):
        keys[index] = key
        arrived.setdefault(key, []).append(index)
    for key in touched:
        stayed = [index for index in groups.get(key, ()) if index not in gone]
        groups[key] = sorted(stayed + arrived.get(key, []))
    return keys, groups, touched


def _keys(characters: Characters, chosen: NDArray[np.intp]) -> list[Key]:
    sizes = characters.sizes_pt[chosen]
    em = np.maximum(sizes, 0.1) * (MM_PER_INCH / PT_PER_INCH)
    boxes, codes = characters.boxes[chosen], characters.codes
    wide = (boxes[:, 2] - boxes[:, 0]) / em
    return list(
        zip(
            [codes[index] for index in chosen.tolist()],
            characters.faces[chosen].tolist(),
            (sizes * 4).round().astype(int).tolist(),
            characters.angles[chosen].tolist(),
            (wide * 50).round().astype(int).tolist(),
            strict=True,
        )
    )


def _shades(levels: Levels, chosen: NDArray[np.intp]) -> NDArray[np.float32]:
    """Each glyph as BLOCKS by BLOCKS mean shades, 0 its darkest and 1 its lightest."""
    pictures, dark, light = (part[chosen] for part in levels)
    count, samples = len(pictures), pictures.shape[1]
    side = samples // BLOCKS
    rows = pictures.reshape(count, BLOCKS, side, samples).sum(axis=2, dtype=np.uint16)
    sums = rows.reshape(count, BLOCKS, BLOCKS, side).sum(axis=3, dtype=np.uint16)
    span = np.maximum(light.astype(np.float32) - dark, 1.0)
    shades = (sums / np.float32(side * side) - dark[:, None, None]) / span[:, None, None]
    return np.asarray(shades, dtype=np.float32)


def _strange(
    members: list[int],
    grey: NDArray[np.uint8],
    boxes: NDArray[np.float64],
    shades: NDArray[np.float32],
) -> list[int]:
    """Those of one group that look unlike the others."""
    of_group = shades[members]
    usual = np.sort(of_group, axis=0)[len(members) // 2]
    apart = np.abs(of_group - usual).mean(axis=(1, 2))
    model = boxes[members[int(apart.argmin())]]
    others = [members[int(place)] for place in np.nonzero(apart > STRANGE_DIFFERENCE)[0]]
    return [
        index
        for index in others
        if float((boxes[index, 2:] - boxes[index, :2]).min()) >= LEAST_LIKENESS_PX
        and _differs(grey, boxes[index], model)
    ]


def _differs(grey: NDArray[np.uint8], one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    """Whether two glyphs differ on the pixels, however one is moved by a pixel or two.

    A renderer may set each glyph on whole pixels, to either side of its exact place.
    """
    width, height = (int(v) for v in np.ceil(other[2:] - other[:2]))
    left, top = (round(float(v)) for v in other[:2])
    model = grey[max(top, 0) : top + height, max(left, 0) : left + width].astype(np.int16)
    left, top = (round(float(v)) for v in one[:2])
    for down, across in _MOVES:
        y, x = max(top + down, 0), max(left + across, 0)
        part = grey[y : y + height, x : x + width]
        if part.shape != model.shape or not part.size:
            continue
        if float(np.abs(part - model).mean()) <= STRANGE_DIFFERENCE / 2 * 255:
            return False
    return True
