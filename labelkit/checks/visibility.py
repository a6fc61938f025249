"""Whether each character is really seen: ink where its glyph stands, and enough contrast.

Every glyph's box is sampled on the rendered page as a small picture of fixed size. A glyph
that is covered, clipped, white on white or not painted has no ink at some side of its box,
or nothing but ink in it; the contrast is measured between its darkest and its surroundings'
lightest part. Glyphs that are the same as on the page before, and their pixels too, keep what
was measured there.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.ideographs import other_ideographs
from labelkit.checks.likeness import Likeness, likeness, renewed
from labelkit.checks.places import pixels
from labelkit.checks.raster import LUMINANCE, Raster
from labelkit.checks.sameness import Sameness
from labelkit.checks.shapes import SIDE, Shapes, other_shapes

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

_BARS = frozenset(
    "Il1i|.,:;-_'\u2018\u2019\u201c\u201d\"\u00b7\u2013\u2014\u2212\u2026\u25a0\u25aa\u2022\u0131\u3001\u3002=/\x02!\u0964\u0965\u4e00\u30fc\u2015\u0627\u0661"
)
"""Characters whose outline may fill its whole box."""


@dataclass(frozen=True)
class Glyphs:
    """What is measured of each glyph by itself."""

    pictures: NDArray[np.uint8]
    """Each box as SAMPLES by SAMPLES grey levels."""
    dark: NDArray[np.uint8]
    light: NDArray[np.uint8]
    """Darkest level of the glyph, lightest of it and its border."""
    reaches: NDArray[np.bool_]
    """Whether ink begins near enough to each side of the box."""
    blot: NDArray[np.bool_]
    """Whether the box is all ink though its character isn't a bar."""

    def with_new(self, places: NDArray[np.intp], new: "Glyphs") -> "Glyphs":
        """These, with other ones in some places."""
        return Glyphs(
            renewed(self.pictures, places, new.pictures),
            renewed(self.dark, places, new.dark),
            renewed(self.light, places, new.light),
            renewed(self.reaches, places, new.reaches),
            renewed(self.blot, places, new.blot),
        )


@dataclass(frozen=True)
class Visibility:
    """One answer for each character of the page."""

    on_page: NDArray[np.bool_]
    inked: NDArray[np.bool_]
    """Ink reaches every side of the glyph's box, and the box is no blot."""
    contrast: NDArray[np.float64]
    glyphs: Glyphs
    likeness: Likeness
    shapes: Shapes
    ideographs: dict[int, str]
    """Han and Hangul letters that show another one."""

    @property
    def shown(self) -> dict[int, str]:
        """Characters that show another one, with the one that is seen."""
        return self.shapes.shown | self.ideographs


def look(
    characters: Characters,
    raster: Raster,
    before: Visibility | None = None,
    same: Sameness | None = None,
) -> Visibility:
    """Look at every character of the page at once, and closer at those that seem unseen.

    `before` and `same` tell what was seen on the page before, and what is the same here.
    """
    boxes = characters.boxes * pixels(1.0, raster.dpi)
    height, width = raster.grey.shape
    on_page = (
        (boxes[:, 0] > -0.5)
        & (boxes[:, 1] > -0.5)
        & (boxes[:, 2] < width + 0.5)
        & (boxes[:, 3] < height + 0.5)
    )
    if before is None or same is None:
        before, fresh = None, np.arange(len(boxes))
        glyphs = _measured(characters, raster.grey, boxes, on_page, fresh)
    else:
        fresh = np.nonzero(~(same.characters & same.still(characters.boxes)))[0]
        new = _measured(characters, raster.grey, boxes, on_page, fresh)
        glyphs = before.glyphs.with_new(fresh, new)
    light, dark = LUMINANCE[glyphs.light], LUMINANCE[glyphs.dark]
    contrast = (np.maximum(light, dark) + 0.05) / (dark + 0.05)
    like = likeness(
        characters,
        raster.grey,
        boxes,
        (glyphs.pictures, glyphs.dark, glyphs.light),
        (before.likeness, fresh) if before else None,
    )
    return Visibility(
        on_page,
        glyphs.reaches
        & ~glyphs.blot
        & (contrast > LEAST_SEEN)
        & ~characters.hidden
        & ~like.strange,
        contrast,
        glyphs,
        like,
        other_shapes(
            characters,
            glyphs.pictures,
            boxes,
            (before.shapes, fresh, same.characters) if before and same else None,
        ),
        before.ideographs
        if before and not len(fresh)
        else other_ideographs(characters, glyphs.pictures, boxes),
    )


def _measured(
    characters: Characters,
    grey: NDArray[np.uint8],
    all_boxes: NDArray[np.float64],
    on_page: NDArray[np.bool_],
    chosen: NDArray[np.intp],
) -> Glyphs:
    """What is seen of the chosen characters."""
    boxes = all_boxes[chosen]
    count = len(boxes)
    pictures = _sampled(grey, boxes)
    dark, light = _extremes(pictures, grey, boxes)
    middle = (dark.astype(np.int16) + light) // 2
    ink = np.asarray(pictures < middle[:, None, None], dtype=np.bool_)
    reaches = _reaches_sides(ink, boxes)
    for index in np.nonzero(~reaches & on_page[chosen])[0]:
        reaches[index], dark[index] = _closer(grey, boxes[index], light[index])
    bar = characters.where(_BARS.__contains__)[chosen]
    full = np.count_nonzero(ink.reshape(count, SAMPLES**2), axis=1) > FULL_SHARE * SAMPLES**2
    return Glyphs(pictures, dark, light, reaches, full & ~bar)


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
    rows: NDArray[np.uint8], grey: NDArray[np.uint8], boxes: NDArray[np.float64]
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """The darkest part of each glyph and the lightest of it and its border.

    Not the one darkest sample, which a speck would give, but that of the third darkest row.
    """
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
