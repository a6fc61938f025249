"""Pictures and orientation keys: each one's ink on the pixels, square by square.

A peel arrow that points the other way leads a patient to tear the card. The manifest states the
ink of each drawing on a coarse grid; what is printed in its place must have the same.
"""

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import edges, pixels
from labelkit.checks.raster import Raster
from labelkit.manifest.model import ManifestPage

MOST_OFF = 0.2
"""Ink in the wrong squares, as a share of the drawing's own. Measured on the sample, where lines
fall between pixels: 0.13 at most."""


def check_pictures(raster: Raster, page: ManifestPage, number: int) -> Iterator[Finding]:
    """A finding for each picture that isn't seen as it is stated."""
    px = pixels(1.0, raster.dpi)
    for picture in page.pictures:
        rows, columns = raster.window(edges(picture.within))
        place = picture.within
        # The drawing's own edges, which fall between those pixels.
        low, left = place.y_mm * px - rows.start, place.x_mm * px - columns.start
        spans = (low, low + place.h_mm * px, left, left + place.w_mm * px)
        crop = raster.grey[rows, columns]
        off = _off(picture.ink, crop.tobytes(), crop.shape, tuple(round(v, 2) for v in spans))
        if off > MOST_OFF:
            yield sentence(
                FindingKind.PICTURE_WRONG,
                number,
                f"the picture {picture.name} isn't seen as it is: gone, covered, turned, too pale "
                "or another one",
                expected="the drawing in its place",
                found=f"{off:.0%} of its ink elsewhere",
                where=picture.within,
            )


@lru_cache(maxsize=4096)
def _off(
    ink: tuple[str, ...], dots: bytes, shape: tuple[int, int], spans: tuple[float, ...]
) -> float:
    """How much ink is missing or too much, as a share of the drawing's; `spans` are its top,
    bottom, left and right edge in pixels of the crop."""
    if min(shape) < 2:
        return 1.0
    wanted = np.array([[(int(d) + 0.5 if d != "0" else 0.0) / 10 for d in row] for row in ink])
    dark = 1.0 - np.frombuffer(dots, dtype=np.uint8).reshape(shape) / 255.0
    top, bottom, left, right = spans
    rows = _shares(wanted.shape[0], shape[0], top, bottom)
    columns = _shares(wanted.shape[1], shape[1], left, right)
    seen = rows @ dark @ columns.T
    return float(np.abs(seen - wanted).sum() / max(float(wanted.sum()), 1e-6))


def _shares(squares: int, count: int, begin: float, end: float) -> NDArray[np.float64]:
    """For each square, how much each pixel in a row is part of it; rows sum to one."""
    ends = begin + np.arange(squares + 1) * (end - begin) / squares
    at = np.arange(count)
    low = np.maximum(ends[:-1, None], at[None, :])
    high = np.minimum(ends[1:, None], at[None, :] + 1)
    shared = np.maximum(high - low, 0.0)
    return np.asarray(shared / np.maximum(shared.sum(axis=1, keepdims=True), 1e-9))
