"""Registration marks on the pixels: where a cross stands, and whether a ring is about it.

Finds a cross by its arms: lines of their own length across and down through one point, with
little ink beside them. Anything else of the same size (a letter, a rule) isn't one.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import Edges, place_of
from labelkit.checks.raster import Raster
from labelkit.manifest.model import ManifestPage, RequiredMark

MOST_OFF_MM = 0.15
"""How far from its place a mark may stand on a finished file: under two dots of 300 dpi."""

LEAST_SPAN = 60
"""Grey levels between ink and paper below which nothing can be seen."""

ARM_INKED = 0.85
"""Share of an arm's length that is ink."""

BESIDE = 0.35
"""Share of ink in a mark's room from which it is something else."""

TURNS = (0.125, 0.375, 0.625, 0.875)
"""Where a ring is looked for, between the arms, as parts of a whole turn."""


@dataclass(frozen=True, slots=True)
class FoundMark:
    """A mark on a picture, in millimetres from its top left."""

    x_mm: float
    y_mm: float
    ringed: bool


def find(raster: Raster, mark: RequiredMark, reach_mm: float) -> FoundMark | None:
    """The cross nearest to where a mark should stand, no farther off than `reach_mm`."""
    px = raster.dpi / 25.4
    arm, middle = mark.arm_mm * px, (mark.x_mm * px, mark.y_mm * px)
    room = reach_mm * px + 1.6 * arm
    left, top = (max(int(v - room), 0) for v in middle)
    crop = raster.grey[top : int(middle[1] + room) + 1, left : int(middle[0] + room) + 1]
    if min(crop.shape) < 3 * arm:
        return None
    paper, ink = int(np.percentile(crop, 95)), int(crop.min())
    if paper - ink < LEAST_SPAN:
        return None
    dark: NDArray[np.bool_] = crop < (paper + ink) / 2
    darkness = np.clip((paper - crop.astype(np.float64)) / (paper - ink), 0, 1)
    rows, columns = np.nonzero(_along(dark, arm) & _along(dark.T, arm).T)
    wanted_x, wanted_y = middle[0] - left - 0.5, middle[1] - top - 0.5
    for index in np.argsort(np.hypot(columns - wanted_x, rows - wanted_y)):
        x, y = int(columns[index]), int(rows[index])
        if not _stands_alone(dark, x, y, arm):
            continue
        exact_x, exact_y = _centred(darkness.T, y, x, arm), _centred(darkness, x, y, arm)
        off = np.hypot(exact_x - wanted_x, exact_y - wanted_y) / px
        if off <= reach_mm:
            ringed = _ringed(dark, exact_x, exact_y, mark, px)
            return FoundMark((left + exact_x + 0.5) / px, (top + exact_y + 0.5) / px, ringed)
    return None


def _along(dark: NDArray[np.bool_], arm: float) -> NDArray[np.bool_]:
    """Pixels with ink on both sides of them along their row, nearly as far as an arm goes."""
    half = int(arm * 0.85)
    sums = np.cumsum(np.pad(dark, ((0, 0), (half + 1, half))), axis=1, dtype=np.int32)
    inked = sums[:, 2 * half + 1 :] - sums[:, : -2 * half - 1]
    return np.asarray(inked >= ARM_INKED * (2 * half + 1)) & dark


def _stands_alone(dark: NDArray[np.bool_], x: int, y: int, arm: float) -> bool:
    """Whether the arms end where a mark's do, and the room about them is mostly paper."""
    near, far = round(arm * 1.2), round(arm * 1.5)
    height, width = dark.shape
    if x < far or y < far or x + far >= width or y + far >= height:
        return False
    beyond = (
        dark[y, x - far : x - near],
        dark[y, x + near + 1 : x + far + 1],
        dark[y - far : y - near, x],
        dark[y + near + 1 : y + far + 1, x],
    )
    room = round(arm)
    square = dark[y - room : y + room + 1, x - room : x + room + 1]
    return not any(part.mean() > 0.5 for part in beyond) and bool(square.mean() < BESIDE)


def _centred(darkness: NDArray[np.float64], x: int, y: int, arm: float) -> float:
    """The row on which the arms to the left and right of a point lie, to a part of a pixel: by
    the weight of ink of their outer thirds, where no ring is."""
    inner, outer, reach = round(arm * 0.65), round(arm * 0.92), max(3, round(arm * 0.15))
    low = max(y - reach, 0)
    rows = darkness[low : y + reach + 1]
    ends = np.concatenate(
        (rows[:, x - outer : x - inner], rows[:, x + inner + 1 : x + outer + 1]), axis=1
    )
    weight = ends.sum(axis=1)
    return low + float((weight * np.arange(len(weight))).sum() / weight.sum())


def _ringed(dark: NDArray[np.bool_], x: float, y: float, mark: RequiredMark, px: float) -> bool:
    """Whether there is ink between the arms all round, at the ring's distance or near it."""
    reach = range(round(0.3 * mark.arm_mm * px), round(0.8 * mark.arm_mm * px))
    return all(
        any(
            dark[round(y + r * sin(2 * pi * turn)), round(x + r * cos(2 * pi * turn))]
            for r in reach
        )
        for turn in TURNS
    )


def check_marks(raster: Raster, page: ManifestPage, number: int) -> Iterator[Finding]:
    """A finding for each registration mark that doesn't stand where it must."""
    for mark in page.marks:
        found = find(raster, mark, MOST_OFF_MM)
        if found is None or found.ringed != bool(mark.ring_mm):
            yield missing(mark, number, f"within {MOST_OFF_MM:g} mm of its place")


def missing(mark: RequiredMark, number: int, expected: str) -> Finding:
    """What is said of a mark that isn't found."""
    ringed = " in a ring" if mark.ring_mm else ""
    return sentence(
        FindingKind.MARK_MISSING,
        number,
        f"the registration mark{ringed} at {mark.x_mm:.1f}, {mark.y_mm:.1f} mm isn't there",
        expected=f"a cross{ringed} {expected}",
        found="none",
        where=place_of(_room(mark)),
    )


def _room(mark: RequiredMark) -> Edges:
    arm = mark.arm_mm
    return (mark.x_mm - arm, mark.y_mm - arm, mark.x_mm + arm, mark.y_mm + arm)
