"""Rectangles on a page: between millimetres and pixels, and how far from a line.

Works on plain tuples ``(left, top, right, bottom)`` in millimetres from the top left, the
form in which a page's many character boxes are kept.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from labelkit.ground.units import MM_PER_INCH
from labelkit.manifest.model import Cut, Place

Edges = tuple[float, float, float, float]
"""Left, top, right and bottom in millimetres."""


def edges(place: Place) -> Edges:
    """A manifest's place as edges."""
    return (place.x_mm, place.y_mm, place.x_mm + place.w_mm, place.y_mm + place.h_mm)


def place_of(box: Edges) -> Place:
    """Edges as a manifest's place, to a hundredth of a millimetre."""
    left, top, right, bottom = box
    return Place(
        x_mm=round(left, 2),
        y_mm=round(top, 2),
        w_mm=round(right - left, 2),
        h_mm=round(bottom - top, 2),
    )


def grown(box: Edges, by_mm: float) -> Edges:
    """The box with `by_mm` added on every side."""
    left, top, right, bottom = box
    return (left - by_mm, top - by_mm, right + by_mm, bottom + by_mm)


def inside(inner: Edges, outer: Edges, slack_mm: float) -> bool:
    """Whether `inner` stays within `outer`, give or take `slack_mm`."""
    return (
        inner[0] >= outer[0] - slack_mm
        and inner[1] >= outer[1] - slack_mm
        and inner[2] <= outer[2] + slack_mm
        and inner[3] <= outer[3] + slack_mm
    )


def overlap(one: Edges, other: Edges) -> bool:
    """Whether two boxes share an area."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


Lines = NDArray[np.float64]
"""Left, top, right, bottom of each line, and the distance to keep from it."""


def lines_of(cuts: Iterable[Cut]) -> Lines:
    """Cuts and folds as an array.

    Lines of a layout run along the sheet's edges; a slanted one is taken by its bounding
    box, which can only make a gap smaller.
    """
    rows = [
        (
            min(cut.x1_mm, cut.x2_mm),
            min(cut.y1_mm, cut.y2_mm),
            max(cut.x1_mm, cut.x2_mm),
            max(cut.y1_mm, cut.y2_mm),
            cut.clear_mm,
        )
        for cut in cuts
    ]
    return np.array(rows, dtype=np.float64).reshape(-1, 5)


def too_near(box: Edges, lines: Lines, slack_mm: float) -> list[tuple[int, float]]:
    """Which lines come nearer to a box than they may, each with the gap in millimetres."""
    across = np.maximum(np.maximum(lines[:, 0] - box[2], box[0] - lines[:, 2]), 0.0)
    along = np.maximum(np.maximum(lines[:, 1] - box[3], box[1] - lines[:, 3]), 0.0)
    gaps = np.hypot(across, along)
    near = np.nonzero(gaps < lines[:, 4] - slack_mm)[0]
    return [(int(i), float(gaps[i])) for i in near]


def pixels(mm: float, dpi: int) -> float:
    """Millimetres to pixels, unrounded."""
    return mm * dpi / MM_PER_INCH


def millimetres(px: float, dpi: int) -> float:
    """Pixels to millimetres."""
    return px * MM_PER_INCH / dpi
