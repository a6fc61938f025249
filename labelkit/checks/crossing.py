"""Whether ink runs through the gaps between a text's letters: a line that crosses it out.

A crossed-out strength is still whole as text, and each letter still has its ink. Between
letters there is none, unless something else is printed there. Scripts whose letters join
are left out, and a single touching pair proves nothing: faces have such pairs.
"""

from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.order import LINE_EM, Order
from labelkit.checks.places import Edges, grown
from labelkit.checks.raster import Raster
from labelkit.ground.units import MM_PER_INCH

LEAST_GAP_PX = 3.5
"""Narrower gaps aren't looked into: PDFium sets each glyph of a small size on a whole pixel, and
smooths its edge over another, so that up to a pixel and a half of a gap is the glyph beside it."""

MOST_GAP_EM = 1.0
"""Wider gaps aren't inside one text."""

SAMPLES = 8
"""Looks along each gap."""

OVER = 0.15
"""Share of the smaller character's width, and height, over which another text may not lie:
more than descenders and ascenders of closely set lines share."""

NEIGHBOURS = 3
"""How far apart in the content characters are that may overlap."""

LINE_SHARE = 0.45
"""Share of a row of pixels from which it may be a line: a row of letters has less, mostly."""

SYLLABLE = 12
"""The same in scripts whose syllables are stacked from many characters."""

ROUND_PX = 2
"""Pixels around a glyph's box that are still the glyph's."""

DARK = 128
"""Grey level below which a gap has ink: half of what black print reflects less than paper."""

CROWDED = 0.12
"""Share of the narrower character's width from which it stands on its neighbour."""

_JOINED = ((0x0590, 0x10FF), (0xFB1D, 0xFDFF), (0xFE70, 0xFEFF))
"""Blocks of right-to-left, Indic and other scripts with joined or stacked letters."""


def crossed(characters: Characters, order: Order, raster: Raster) -> NDArray[np.bool_]:
    """For each character, whether what parts it from the one before it has ink in it.

    A gap between words counts by itself; one between letters only when the gap before or
    after it has ink too.
    """
    count = len(characters.codes)
    answer = np.zeros(count, dtype=np.bool_)
    if count < 2:
        return answer
    px = raster.dpi / MM_PER_INCH
    gaps = order.starts[1:] - order.ends[:-1]
    low = np.maximum(order.near[1:], order.near[:-1])
    high = np.minimum(order.far[1:], order.far[:-1])
    joined = characters.where(is_joined)
    looked = (
        (gaps * px >= LEAST_GAP_PX)
        & (gaps <= MOST_GAP_EM * order.em[1:])
        & (high - low > 1 / px)
        & (characters.angles[1:] == characters.angles[:-1])
        & ~(joined[1:] | joined[:-1])
    )
    pairs = np.nonzero(looked)[0]
    if not len(pairs):
        return answer
    along = (order.starts[pairs + 1] + order.ends[pairs]) / 2
    share = (np.arange(SAMPLES) + 0.5) / SAMPLES
    across = low[pairs, None] + (high - low)[pairs, None] * share
    grey = _sampled(raster, characters.angles[pairs], along, across)
    inked = np.zeros(count + 1, dtype=np.bool_)
    inked[pairs + 1] = (grey < DARK).any(axis=1)
    answer[:] = inked[:-1] & (characters.parted | np.roll(inked, 1)[:-1] | inked[1:])
    return answer


def overprinted(
    characters: Characters, fresh: NDArray[np.bool_] | None = None
) -> NDArray[np.bool_]:
    """For each character, whether one of another text object lies over a good part of it.

    Neighbours in the content may overlap: accents, kerning. Characters that share one glyph
    share its box. Where it's known that none lies over another of those that aren't `fresh`,
    only these are looked at.
    """
    answer = np.zeros(len(characters.codes), dtype=np.bool_)
    boxes, starts = characters.boxes, characters.objects
    if len(starts) < 2:
        return answer
    ends = np.append(starts[1:], len(boxes))
    low = np.minimum.reduceat(boxes[:, :2], starts, axis=0)
    high = np.maximum.reduceat(boxes[:, 2:], starts, axis=0)
    first, second = np.nonzero(
        np.triu(
            (low[:, None, 0] < high[None, :, 0])
            & (low[None, :, 0] < high[:, None, 0])
            & (low[:, None, 1] < high[None, :, 1])
            & (low[None, :, 1] < high[:, None, 1])
            & _either(fresh, starts),
            1,
        )
    )
    for one, other in zip(first.tolist(), second.tolist(), strict=True):
        _mark_over(
            characters, range(starts[one], ends[one]), range(starts[other], ends[other]), answer
        )
    return answer


def crowded(characters: Characters, order: Order) -> NDArray[np.bool_]:
    """For each character, whether it stands on the one before it: digits on each other, or
    letters that run into each other in a row. A single pair of letters may: faces have such."""
    answer = np.zeros(len(characters.codes), dtype=np.bool_)
    if len(answer) < 2:
        return answer
    wide = order.ends - order.starts
    over = (order.ends[:-1] - order.starts[1:]) / np.maximum(np.minimum(wide[1:], wide[:-1]), 1e-6)
    plain = characters.where(_is_plain)
    figure = characters.where(_is_figure)
    same = (np.abs(order.middle[1:] - order.middle[:-1]) < LINE_EM * order.em[1:]) & (
        characters.angles[1:] == characters.angles[:-1]
    )
    pair = (over > CROWDED) & (over < 2) & same & plain[1:] & plain[:-1]
    pair &= (characters.boxes[1:] != characters.boxes[:-1]).any(axis=1)
    pair &= order.starts[1:] >= order.starts[:-1] - order.em[1:]
    row = np.zeros(len(answer) + 1, dtype=np.bool_)
    row[1:-1] = pair
    in_a_row = row[1:-1] & (row[:-2] | row[2:])
    answer[1:] = in_a_row | (pair & figure[1:] & figure[:-1])
    return answer


def _is_plain(character: str) -> bool:
    """Whether a character stands beside its neighbours, in a script that neither joins nor
    stacks letters."""
    return character.isalnum() and not is_joined(character)


def _is_figure(character: str) -> bool:
    return character.isascii() and character.isdigit()


def _either(fresh: NDArray[np.bool_] | None, starts: NDArray[np.intp]) -> NDArray[np.bool_] | bool:
    """Of each two text objects, whether one has fresh characters."""
    if fresh is None:
        return True
    some = np.logical_or.reduceat(fresh, starts)
    return np.asarray(some[:, None] | some[None, :], dtype=np.bool_)


def _mark_over(characters: Characters, one: range, other: range, answer: NDArray[np.bool_]) -> None:
    """Mark the characters of two text objects that lie over each other."""
    a = characters.boxes[one.start : one.stop, None]
    b = characters.boxes[None, other.start : other.stop]
    shared = np.minimum(a[..., 2:], b[..., 2:]) - np.maximum(a[..., :2], b[..., :2])
    least = np.minimum(a[..., 2:] - a[..., :2], b[..., 2:] - b[..., :2])
    over = (shared > OVER * least).all(axis=2) & (a != b).any(axis=2)
    for i, j in zip(*np.nonzero(over), strict=True):
        first, second = one.start + int(i), other.start + int(j)
        apart = SYLLABLE if is_joined(characters.codes[first]) else NEIGHBOURS
        if abs(first - second) > apart:
            answer[first] = answer[second] = True


def between_lines(
    characters: Characters, order: Order, raster: Raster, chosen: NDArray[np.intp]
) -> bool:
    """Whether ink runs between the lines of one text, where neither has a letter.

    Looks from the middle of each line to the middle of the next, where both have letters
    above and below; boxes of all characters around are left out.
    """
    lines = np.split(chosen, np.nonzero(_breaks(order, chosen))[0] + 1)
    px = raster.dpi / MM_PER_INCH
    for upper, lower in pairwise(lines):
        if characters.angles[upper[0]] != 0 or characters.angles[lower[0]] != 0:
            continue
        left = max(characters.boxes[upper, 0].min(), characters.boxes[lower, 0].min())
        right = min(characters.boxes[upper, 2].max(), characters.boxes[lower, 2].max())
        top = float((characters.boxes[upper, 1].min() + characters.boxes[upper, 3].max()) / 2)
        bottom = float((characters.boxes[lower, 1].min() + characters.boxes[lower, 3].max()) / 2)
        if right - left < 1 / px or bottom - top < 1 / px:
            continue
        rows, columns = raster.window((float(left), top, float(right), bottom))
        ink = raster.grey[rows, columns] < DARK
        if not ink.size or int(ink.sum(axis=1).max()) < LINE_SHARE * ink.shape[1]:
            continue
        around = _around(characters, grown((float(left), top, float(right), bottom), ROUND_PX / px))
        edges = np.rint(around * px).astype(np.intp)
        edges -= (columns.start, rows.start, columns.start, rows.start)
        edges += (-ROUND_PX, -ROUND_PX, ROUND_PX, ROUND_PX)
        for x1, y1, x2, y2 in np.maximum(edges, 0).tolist():
            ink[y1:y2, x1:x2] = False
        if ink.any():
            return True
    return False


def _breaks(order: Order, chosen: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Whether each character is the last of its line."""
    return np.abs(np.diff(order.middle[chosen])) > LINE_EM * order.em[chosen[1:]]


def _around(characters: Characters, box: Edges) -> NDArray[np.float64]:
    """Boxes of all characters that reach into a part of the page."""
    boxes = characters.boxes
    touching = (
        (boxes[:, 2] > box[0])
        & (boxes[:, 0] < box[2])
        & (boxes[:, 3] > box[1])
        & (boxes[:, 1] < box[3])
    )
    return boxes[touching]


def _sampled(
    raster: Raster,
    angles: NDArray[np.int16],
    along: NDArray[np.float64],
    across: NDArray[np.float64],
) -> NDArray[np.uint8]:
    """Grey levels at places given along and across the direction of writing."""
    far = np.broadcast_to(along[:, None], across.shape)
    turned = angles[:, None]
    # The same turns as in `Order`, back to the page.
    x = np.select([turned == 90, turned == 180, turned == 270], [-across, -far, across], far)
    y = np.select([turned == 90, turned == 180, turned == 270], [far, -across, -far], across)
    px = raster.dpi / MM_PER_INCH
    height, width = raster.grey.shape
    columns = np.clip((x * px).astype(np.intp), 0, width - 1)
    rows = np.clip((y * px).astype(np.intp), 0, height - 1)
    return np.asarray(raster.grey[rows, columns], dtype=np.uint8)


@lru_cache(maxsize=4096)
def is_joined(character: str) -> bool:
    """Whether a character belongs to a script whose letters join, or change with neighbours."""
    point = ord(character)
    return any(low <= point <= high for low, high in _JOINED)
