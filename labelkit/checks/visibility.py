"""Whether each character is really seen: ink where its glyph stands, and enough contrast.

Every glyph's box is sampled on the rendered page as a small picture of fixed size. A glyph
that is covered, clipped, white on white or not painted has no ink at some side of its box,
or nothing but ink in it; the contrast is measured between its darkest and its surroundings'
lightest part.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.crossing import is_joined
from labelkit.checks.places import pixels
from labelkit.checks.raster import LUMINANCE, Raster
from labelkit.checks.shapes import SIDE, other_shapes
from labelkit.ground.units import MM_PER_INCH, PT_PER_INCH

SAMPLES = SIDE
"""Samples along each side of a glyph's box: about one a pixel at 8 pt and 300 dpi."""

LEAST_CONTRAST = 4.5
"""WCAG 2.2, 1.4.3, level AA: between text and background."""

LEAST_SEEN = 1.05
"""Less contrast than this is none."""

SIDE_PX = 2.5
"""Ink must begin within this many pixels of each side of a glyph's box: rounding of outline
and box, one pixel each, and half for anti-aliasing."""

SIDE_SHARE = 0.16
"""The same as a share of the box, for large glyphs with thin or round ends."""

FULL_SHARE = 0.97
"""From this share of ink on, a box is a blot."""

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

_BARS = frozenset(
    "Il1i|.,:;-_'\u2018\u2019\u201c\u201d\"\u00b7\u2013\u2014\u2212\u2026\u25a0\u25aa\u2022\u0131\u3001\u3002=/\x02!\u0964\u0965\u4e00\u30fc\u2015\u0627\u0661"
)
"""Characters whose outline may fill its whole box."""


@dataclass(frozen=True)
class Visibility:
    """One answer for each character of the page."""

    on_page: NDArray[np.bool_]
    inked: NDArray[np.bool_]
    """Ink reaches every side of the glyph's box, and the box is no blot."""
    contrast: NDArray[np.float64]
    shown: dict[int, str]
    """Characters that show another one, with the one that is seen."""


def look(characters: Characters, raster: Raster) -> Visibility:
    """Look at every character of the page at once, and closer at those that seem unseen."""
    count = len(characters.codes)
    if not count:
        nothing = np.zeros(0, dtype=np.bool_)
        return Visibility(nothing, nothing, np.zeros(0), {})
    boxes = characters.boxes * pixels(1.0, raster.dpi)
    height, width = raster.grey.shape
    on_page = (
        (boxes[:, 0] > -0.5)
        & (boxes[:, 1] > -0.5)
        & (boxes[:, 2] < width + 0.5)
        & (boxes[:, 3] < height + 0.5)
    )
    pictures = _sampled(raster.grey, boxes)
    dark, light = _extremes(pictures.reshape(count, -1), raster.grey, boxes)
    middle = (dark.astype(np.int16) + light) // 2
    ink = np.asarray(pictures < middle[:, None, None], dtype=np.bool_)
    reaches = _reaches_sides(ink, boxes)
    for index in np.nonzero(~reaches & on_page)[0]:
        reaches[index], dark[index] = _closer(raster.grey, boxes[index], light[index])
    contrast = (np.maximum(LUMINANCE[light], LUMINANCE[dark]) + 0.05) / (LUMINANCE[dark] + 0.05)
    inked = reaches & ~_blots(ink, characters) & (contrast > LEAST_SEEN) & ~characters.hidden
    large = np.minimum(boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]) >= LEAST_LIKENESS_PX
    inked &= ~(large & _strange(characters, raster.grey, boxes, pictures, (dark, light)))
    return Visibility(on_page, inked, contrast, other_shapes(characters, pictures, boxes))


def _closer(
    grey: NDArray[np.uint8], box: NDArray[np.float64], light: np.uint8
) -> tuple[bool, np.uint8]:
    """Whether ink reaches all sides of one box, on every pixel of it, and its darkest level.

    The samples of a small glyph may pass between a stroke's pixels.
    """
    left, top, right, bottom = (int(v) for v in (*np.floor(box[:2]), *np.ceil(box[2:])))
    crop = grey[max(top, 0) : bottom, max(left, 0) : right]
    if not crop.size:
        return False, light
    dark = np.partition(crop, min(4, crop.size - 1), axis=None)[min(4, crop.size - 1)]
    ink: NDArray[np.bool_] = np.asarray(crop < (int(dark) + int(light) + 1) // 2, dtype=np.bool_)
    for axis, first in ((0, max(left, 0)), (1, max(top, 0))):
        where = np.nonzero(np.asarray(ink.any(axis=axis)))[0] + first
        low, high = float(box[axis]), float(box[axis + 2])
        allowed = max(SIDE_PX, SIDE_SHARE * (high - low))
        if not len(where) or where[0] - low > allowed or high - (where[-1] + 1) > allowed:
            return False, dark
    return True, dark


def _sampled(grey: NDArray[np.uint8], boxes: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Each box as SAMPLES by SAMPLES grey levels."""
    steps = (np.arange(SAMPLES) + 0.5) / SAMPLES
    left, top = boxes[:, 0], boxes[:, 1]
    wide, high = boxes[:, 2] - left, boxes[:, 3] - top
    columns = np.clip((left[:, None] + wide[:, None] * steps).astype(np.intp), 0, grey.shape[1] - 1)
    rows = np.clip((top[:, None] + high[:, None] * steps).astype(np.intp), 0, grey.shape[0] - 1)
    places = rows[:, :, None] * grey.shape[1] + columns[:, None, :]
    sampled: NDArray[np.uint8] = grey.ravel()[places]
    return sampled


def _extremes(
    flat: NDArray[np.uint8], grey: NDArray[np.uint8], boxes: NDArray[np.float64]
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """The darkest part of each glyph and the lightest of it and its border.

    Not the one darkest sample, which a speck would give, but that of the third darkest row.
    """
    rows = flat.reshape(len(flat), SAMPLES, SAMPLES)
    dark = np.partition(rows.min(axis=2), 2, axis=1)[:, 2]
    inside = np.partition(rows.max(axis=2), -3, axis=1)[:, -3]
    around = np.partition(_ring(grey, boxes), -5, axis=1)[:, -5]
    light = np.maximum(inside, around)
    return dark, light


def _ring(grey: NDArray[np.uint8], boxes: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Samples just outside each box, on all four sides."""
    steps = (np.arange(SAMPLES // 2) + 0.5) / (SAMPLES // 2)
    left, top, right, bottom = (boxes[:, i] for i in range(4))
    x = left[:, None] + (right - left)[:, None] * steps
    y = top[:, None] + (bottom - top)[:, None] * steps
    xs = np.concatenate(
        (
            x,
            x,
            np.broadcast_to(left[:, None] - 2, x.shape),
            np.broadcast_to(right[:, None] + 2, x.shape),
        ),
        axis=1,
    )
    ys = np.concatenate(
        (
            np.broadcast_to(top[:, None] - 2, y.shape),
            np.broadcast_to(bottom[:, None] + 2, y.shape),
            y,
            y,
        ),
        axis=1,
    )
    columns = np.clip(xs.astype(np.intp), 0, grey.shape[1] - 1)
    rows = np.clip(ys.astype(np.intp), 0, grey.shape[0] - 1)
    return grey[rows, columns]


def _reaches_sides(ink: NDArray[np.bool_], boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether ink begins near enough to each of the four sides."""
    answer: NDArray[np.bool_] = np.ones(len(ink), dtype=np.bool_)
    sides: tuple[tuple[NDArray[np.float64], NDArray[np.bool_]], ...] = (
        (boxes[:, 2] - boxes[:, 0], np.asarray(ink.any(axis=1))),
        (boxes[:, 3] - boxes[:, 1], np.asarray(ink.any(axis=2))),
    )
    for length, profile in sides:
        allowed = np.maximum(SIDE_PX, SIDE_SHARE * length)
        pixel = length / SAMPLES
        first = profile.argmax(axis=1) * pixel
        last = profile[:, ::-1].argmax(axis=1) * pixel
        answer &= profile.any(axis=1) & (first <= allowed) & (last <= allowed)
    return answer


def _blots(ink: NDArray[np.bool_], characters: Characters) -> NDArray[np.bool_]:
    """Boxes that are all ink though their character isn't a bar."""
    bar = np.fromiter((c in _BARS for c in characters.codes), dtype=np.bool_, count=len(ink))
    full: NDArray[np.bool_] = ink.mean(axis=(1, 2)) > FULL_SHARE
    return full & ~bar


def _strange(
    characters: Characters,
    grey: NDArray[np.uint8],
    boxes: NDArray[np.float64],
    pictures: NDArray[np.uint8],
    levels: tuple[NDArray[np.uint8], NDArray[np.uint8]],
) -> NDArray[np.bool_]:
    """Glyphs that look unlike the page's others of the same character, face and size.

    Compared on a coarse grid of mean shades, and those that differ again on all pixels:
    where a glyph falls between pixels moves its edges by up to one, which is no difference.
    Letters that change with their neighbours aren't compared.
    """
    dark, light = levels
    side = SAMPLES // BLOCKS
    rows = pictures.reshape(len(pictures), BLOCKS, side, SAMPLES).sum(axis=2, dtype=np.uint16)
    sums = rows.reshape(len(pictures), BLOCKS, BLOCKS, side).sum(axis=3, dtype=np.uint16)
    span = np.maximum(light.astype(np.float32) - dark, 1.0)
    shades = (sums / np.float32(side * side) - dark[:, None, None]) / span[:, None, None]
    groups: dict[tuple[str, int, int, int, int], list[int]] = {}
    em = characters.sizes_pt * (MM_PER_INCH / PT_PER_INCH)
    wide = (characters.boxes[:, 2] - characters.boxes[:, 0]) / em
    keys = zip(
        characters.codes,
        characters.faces,
        (characters.sizes_pt * 4).round().astype(int).tolist(),
        characters.angles.tolist(),
        # A letter of a ligature has only its share of the ligature's box.
        (wide * 50).round().astype(int).tolist(),
        strict=True,
    )
    for index, key in enumerate(keys):
        if not is_joined(key[0]):
            groups.setdefault(key, []).append(index)
    strange = np.zeros(len(characters.codes), dtype=np.bool_)
    for members in groups.values():
        if len(members) >= LIKES:
            of_group = shades[members]
            usual = np.sort(of_group, axis=0)[len(members) // 2]
            apart = np.abs(of_group - usual).mean(axis=(1, 2))
            model = members[int(apart.argmin())]
            for place in np.nonzero(apart > STRANGE_DIFFERENCE)[0]:
                index = members[int(place)]
                strange[index] = _differs(grey, boxes[index], boxes[model])
    return strange


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
