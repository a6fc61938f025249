"""Whether each character is really seen: ink where its glyph stands, and enough contrast.

Every glyph's box is sampled on the rendered page as a small picture of fixed size. A glyph
that is covered, clipped, white on white or not painted has no ink at some side of its box,
or nothing but ink in it; the contrast is measured between its darkest and its surroundings'
lightest part.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.places import pixels
from labelkit.checks.raster import LUMINANCE, Raster

SAMPLES = 16
"""Samples along each side of a glyph's box: about one a pixel at 8 pt and 300 dpi."""

LEAST_CONTRAST = 4.5
"""WCAG 2.2, 1.4.3, level AA: between text and background."""

SIDE_PX = 2.5
"""Ink must begin within this many pixels of each side of a glyph's box: rounding of outline
and box, one pixel each, and half for anti-aliasing."""

SIDE_SHARE = 0.16
"""The same as a share of the box, for large glyphs with thin or round ends."""

FULL_SHARE = 0.97
"""From this share of ink on, a box is a blot."""

BLOCKS = 4
"""Rows and columns of the coarse grid on which equal glyphs are compared."""

STRANGE_DIFFERENCE = 0.2
"""Mean difference of a glyph's picture from its likes on the page that makes it another."""

LIKES = 4
"""How many equal glyphs a page needs before one of them can be called strange."""

LEAST_LIKENESS_PX = 8
"""Smaller glyphs aren't compared: half a pixel is too much of them."""

_BARS = frozenset(
    "Il1i|.,:;-_'\u2018\u2019\u201c\u201d\"\u00b7\u2013\u2014\u2212\u2026\u25a0\u25aa\u2022\u0131\u3001\u3002=/\x02!"
)
"""Characters whose outline may fill its whole box."""


@dataclass(frozen=True)
class Visibility:
    """One answer for each character of the page."""

    on_page: NDArray[np.bool_]
    inked: NDArray[np.bool_]
    """Ink reaches every side of the glyph's box, and the box is no blot."""
    contrast: NDArray[np.float64]


def look(characters: Characters, raster: Raster) -> Visibility:
    """Look at every character of the page at once."""
    count = len(characters.codes)
    if not count:
        nothing = np.zeros(0, dtype=np.bool_)
        return Visibility(nothing, nothing, np.zeros(0))
    boxes = characters.boxes * pixels(1.0, raster.dpi)
    height, width = raster.grey.shape
    on_page = (
        (boxes[:, 0] > -0.5)
        & (boxes[:, 1] > -0.5)
        & (boxes[:, 2] < width + 0.5)
        & (boxes[:, 3] < height + 0.5)
    )
    pictures = _sampled(raster.grey, boxes, 0.0)
    flat = pictures.reshape(count, -1)
    dark, light = _extremes(flat, raster.grey, boxes)
    contrast = (np.maximum(LUMINANCE[light], LUMINANCE[dark]) + 0.05) / (LUMINANCE[dark] + 0.05)
    middle = (dark.astype(np.int16) + light) // 2
    ink = np.asarray(pictures < middle[:, None, None], dtype=np.bool_)
    inked = _reaches_sides(ink, boxes) & ~_blots(ink, characters) & (contrast > 1.05)
    wide, high = boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]
    large = np.minimum(wide, high) >= LEAST_LIKENESS_PX
    inked &= ~characters.hidden & ~(large & _strange(characters, pictures, dark, light))
    return Visibility(on_page, inked, contrast)


def _sampled(
    grey: NDArray[np.uint8], boxes: NDArray[np.float64], margin: float
) -> NDArray[np.uint8]:
    """Each box as SAMPLES by SAMPLES grey levels, `margin` pixels added on every side."""
    steps = (np.arange(SAMPLES) + 0.5) / SAMPLES
    left, top = boxes[:, 0] - margin, boxes[:, 1] - margin
    wide = boxes[:, 2] - boxes[:, 0] + 2 * margin
    high = boxes[:, 3] - boxes[:, 1] + 2 * margin
    columns = np.clip((left[:, None] + wide[:, None] * steps).astype(np.intp), 0, grey.shape[1] - 1)
    rows = np.clip((top[:, None] + high[:, None] * steps).astype(np.intp), 0, grey.shape[0] - 1)
    places = rows[:, :, None] * grey.shape[1] + columns[:, None, :]
    sampled: NDArray[np.uint8] = grey.ravel()[places]
    return sampled


def _extremes(
    flat: NDArray[np.uint8], grey: NDArray[np.uint8], boxes: NDArray[np.float64]
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """The darkest part of each glyph and the lightest of it and its border.

    Not the one darkest sample, which a speck would give, but the fifth.
    """
    dark = np.partition(flat, 4, axis=1)[:, 4]
    ring = _ring(grey, boxes)
    light = np.maximum(np.partition(flat, -5, axis=1)[:, -5], np.partition(ring, -5, axis=1)[:, -5])
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
    pictures: NDArray[np.uint8],
    dark: NDArray[np.uint8],
    light: NDArray[np.uint8],
) -> NDArray[np.bool_]:
    """Glyphs that look unlike the page's others of the same character, face and size.

    Compared on a coarse grid of mean shades: where a glyph falls between pixels moves its
    edges by up to one, and that is no difference.
    """
    blocks = pictures.reshape(len(pictures), BLOCKS, SAMPLES // BLOCKS, BLOCKS, SAMPLES // BLOCKS)
    span = np.maximum(light.astype(np.float32) - dark, 1.0)
    shades = (blocks.mean(axis=(2, 4), dtype=np.float32) - dark[:, None, None]) / span[
        :, None, None
    ]
    groups: dict[tuple[str, int, int, int], list[int]] = {}
    sizes, angles = (
        (characters.sizes_pt * 4).round().astype(int).tolist(),
        characters.angles.tolist(),
    )
    for index, key in enumerate(
        zip(characters.codes, characters.faces, sizes, angles, strict=True)
    ):
        groups.setdefault(key, []).append(index)
    strange = np.zeros(len(characters.codes), dtype=np.bool_)
    for members in groups.values():
        if len(members) >= LIKES:
            of_group = shades[members]
            usual = np.sort(of_group, axis=0)[len(members) // 2]
            strange[members] = np.abs(of_group - usual).mean(axis=(1, 2)) > STRANGE_DIFFERENCE
    return strange
