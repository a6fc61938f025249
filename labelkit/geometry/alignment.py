"""How a printer lands on a sheet, as a person read it: offset, scale, skew, and what is left.

Readings that no printer gives are refused. `labelkit.geometry.moving` puts it to use.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import hypot

import numpy as np

from labelkit.ground.box import Box
from labelkit.ground.errors import Fault, LayoutRefused

PAPERS: Mapping[str, tuple[float, float]] = {
    "letter": (215.9, 279.4),
    "letter-sideways": (279.4, 215.9),
    "a4": (210.0, 297.0),
    "a4-sideways": (297.0, 210.0),
}
"""Width and height as the page lies (ANSI/ASME Y14.1; ISO 216). A page that lies sideways goes
through the printer turned, and is read for itself."""

FROM_EDGE_MM = 25.0
"""How far the corner marks stand from both edges."""

READING_MM = 0.1
"""One division of the vernier: what a reading may be off by."""

MOST_OFF_MM = 5.0
"""A mark further off than this is a slip of the pen, or another sheet."""

MOST_SCALE = 0.01
"""Paper and printers stretch by less; "fit to page" shrinks by 3 % and more."""

MOST_SKEW = 0.02
"""Millimetres to the millimetre: just over one degree. A feed that crooked is mended first."""

SURE_FROM = 3
"""Sheets from which a residual says how much one sheet differs from the next."""

Point = tuple[float, float]


def marks(width_mm: float, height_mm: float) -> dict[str, Point]:
    """Names of the alignment sheet's crosses, and where each is printed."""
    left, top, right, low = (
        FROM_EDGE_MM,
        FROM_EDGE_MM,
        width_mm - FROM_EDGE_MM,
        height_mm - FROM_EDGE_MM,
    )
    return {
        "top-left": (left, top),
        "top-right": (right, top),
        "centre": (width_mm / 2, height_mm / 2),
        "bottom-left": (left, low),
        "bottom-right": (right, low),
    }


@dataclass(frozen=True, slots=True)
class Alignment:
    """Where a printer puts what stands at a point of the page, for one paper."""

    printer: str
    paper: str
    offset_x_mm: float
    """At the centre of the sheet; to the right is positive."""
    offset_y_mm: float
    """Downwards is positive."""
    scale_x: float
    scale_y: float
    skew_x: float
    """Millimetres to the right for each millimetre down from the centre."""
    skew_y: float
    """Millimetres down for each millimetre to the right of the centre."""
    residual_mm: float
    """How far a mark may still land from its place once this is taken out."""
    sheets: int
    """How many sheets were read."""
    flip: str = ""
    """Empty: where the printer puts the front. ``long-edge`` or ``short-edge``: where it puts the
    back of a sheet turned over about that edge, from its front, as seen from the front."""

    def off(self, x_mm: float, y_mm: float) -> Point:
        """How far from its place a point of the page lands."""
        width, height = PAPERS[self.paper]
        x, y = x_mm - width / 2, y_mm - height / 2
        return (
            self.offset_x_mm + (self.scale_x - 1) * x + self.skew_x * y,
            self.offset_y_mm + self.skew_y * x + (self.scale_y - 1) * y,
        )

    def shift(self, x_mm: float, y_mm: float) -> Point:
        """What to add to a point so that it lands in its place (to the square of the error)."""
        dx, dy = self.off(x_mm, y_mm)
        back_x, back_y = self.off(x_mm - dx, y_mm - dy)
        return -back_x, -back_y

    def stretch_mm(self, box: Box) -> float:
        """How far a corner of a box that is moved as a whole still lands from its place."""
        x, y = box.x_mm + box.w_mm / 2, box.y_mm + box.h_mm / 2
        dx, dy = self.off(x, y)
        corners = [(a, b) for a in (box.x_mm, box.right_mm) for b in (box.y_mm, box.bottom_mm)]
        return max(hypot(cx - dx, cy - dy) for cx, cy in (self.off(*corner) for corner in corners))


def fitted_back(
    printer: str, paper: str, flip: str, readings: Iterable[tuple[str, float, float]]
) -> Alignment:
    """How a printer puts the back to its front, from what a person read on register sheets.

    `readings` name a mark and say how far the back's cross lies from the front's when the sheet
    is held against the light, seen from the front: to the right and downwards are positive.
    Raises LayoutRefused.
    """
    where = marks(*PAPERS[paper])
    beside = (
        (name, x + where[name][0], y + where[name][1]) if name in where else (name, x, y)
        for name, x, y in readings
    )
    return replace(fitted(printer, paper, beside), flip=flip)


def fitted(printer: str, paper: str, readings: Iterable[tuple[str, float, float]]) -> Alignment:
    """The alignment from what a person read on the alignment sheets.

    `readings` name a mark and say where its cross is found: millimetres from the left and from
    the top edge of the sheet. Each mark is read equally often, once on each sheet. Offset,
    scale and skew are those with the least squares of what is left; the residual is the most
    that is left anywhere, and a division of the vernier. Raises LayoutRefused.
    """
    read = tuple(readings)
    where = marks(*PAPERS[paper])
    _refuse_readings(read, where)
    width, height = PAPERS[paper]
    at = np.array([where[name] for name, _, _ in read]) - (width / 2, height / 2)
    off = np.array([(x, y) for _, x, y in read]) - np.array([where[name] for name, _, _ in read])
    terms = np.column_stack([np.ones(len(read)), at])
    found = np.linalg.lstsq(terms, off, rcond=None)[0]
    left = off - terms @ found
    (offset_x, offset_y), (along_x, skew_y), (skew_x, along_y) = found.tolist()
    alignment = Alignment(
        printer=printer,
        paper=paper,
        offset_x_mm=round(offset_x, 4),
        offset_y_mm=round(offset_y, 4),
        scale_x=round(1 + along_x, 6),
        scale_y=round(1 + along_y, 6),
        skew_x=round(skew_x, 6),
        skew_y=round(skew_y, 6),
        residual_mm=round(float(np.hypot(*left.T).max()) + READING_MM, 3),
        sheets=len(read) // len(where),
    )
    _refuse_wild(alignment)
    return alignment


def _refuse_readings(
    read: tuple[tuple[str, float, float], ...], where: Mapping[str, Point]
) -> None:
    names = [name for name, _, _ in read]
    faults = [
        _fault(name, "there is no such mark", f"name {', '.join(where)}")
        for name in dict.fromkeys(names)
        if name not in where
    ]
    counts = {name: names.count(name) for name in where}
    if len(set(counts.values())) != 1 or not read:
        said = ", ".join(f"{name} {count} times" for name, count in counts.items())
        mend = "read every mark once on each sheet"
        faults.append(_fault("", f"the marks aren't read equally often: {said}", mend))
    for name, x, y in read:
        if name in where and not all(
            abs(found - printed) <= MOST_OFF_MM
            for found, printed in zip((x, y), where[name], strict=True)
        ):
            px, py = where[name]
            wrong = (
                f"{x:g}, {y:g} mm was read where {px:g}, {py:g} is printed: "
                f"more than {MOST_OFF_MM:g} mm off"
            )
            mend = "read it again from the left and the top edge of the sheet"
            faults.append(_fault(name, wrong, mend))
    if faults:
        raise LayoutRefused(faults)


def _refuse_wild(found: Alignment) -> None:
    faults = [
        _fault(
            name,
            f"the print is {scale:.2%} of its size",
            "print the sheet at actual size, not fitted to the page, and read it again",
        )
        for name, scale in (("scale across", found.scale_x), ("scale down", found.scale_y))
        if abs(scale - 1) > MOST_SCALE
    ]
    if max(abs(found.skew_x), abs(found.skew_y)) > MOST_SKEW:
        wrong = (
            f"the print leans by {max(abs(found.skew_x), abs(found.skew_y)) * 100:.1f} mm in 100"
        )
        faults.append(_fault("skew", wrong, "mend the printer's feed, and read a new sheet"))
    if faults:
        raise LayoutRefused(faults)


def _fault(field: str, wrong: str, mend: str) -> Fault:
    return Fault("alignment", "", field, wrong, mend)
