"""How a printer lands on a sheet, read by a person, and a layout moved so that it lands right.

Moves origins only: an area goes as a whole, with its fields, to where the printer puts it in
its place. Nothing is scaled or turned, least of all a code. What a move can't put right is the
residual, and a layout that keeps less distance than that from its lines is refused.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import hypot

import numpy as np

from labelkit.geometry.model import Area, Face, Key, Layout, Line, Mark, Piece
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


def paper_of(layout: Layout) -> str:
    """The paper a layout is for. Raises LayoutRefused for a stock of another size."""
    stock = layout.stock
    for name, (width, height) in PAPERS.items():
        if abs(stock.width_mm - width) < 0.05 and abs(stock.height_mm - height) < 0.05:
            return name
    wrong = f"{stock.width_mm:g} × {stock.height_mm:g} mm is no paper that printers are aligned for"
    mend = f"use a layout for {', '.join(PAPERS)}, or make it without --printer"
    raise LayoutRefused([Fault(layout.file, "", "stock", wrong, mend)])


def moved(layout: Layout, alignment: Alignment) -> Layout:
    """The layout as the page must hold it for the printer to put it in its place.

    Areas with their fields, lines and keys move alike; the stock's tolerance becomes the
    residual (where fewer than three sheets were read, it never becomes less than it was).
    Raises LayoutRefused where the residual exceeds the layout's tolerance, or where something
    would move into the unprintable edge.
    """
    areas = [area for face in layout.faces for piece in face.pieces for area in piece.areas]
    stretch = max((alignment.stretch_mm(area.box) for area in areas), default=0.0)
    residual = alignment.residual_mm + stretch
    _refuse_residual(layout, alignment, stretch)
    kept = residual if alignment.sheets >= SURE_FROM else layout.stock.tolerance_mm
    done = replace(
        layout,
        faces=tuple(_face(face, alignment) for face in layout.faces),
        stock=replace(layout.stock, tolerance_mm=round(kept, 3)),
    )
    _refuse_edge(done, alignment)
    return done


def _refuse_residual(layout: Layout, alignment: Alignment, stretch: float) -> None:
    residual, keeps = alignment.residual_mm + stretch, layout.stock.tolerance_mm
    if residual > keeps:
        wrong = (
            f"on {alignment.printer} print lands up to {residual:.2f} mm from its place when moved "
            f"({alignment.residual_mm:.2f} mm read, {stretch:.2f} mm within the largest area), and "
            f"this layout keeps {keeps:g} mm from its cuts and folds"
        )
        mend = "mend the printer's feed and align it again, or use another printer or layout"
        raise LayoutRefused([Fault(layout.file, "", "tolerance_mm", wrong, mend)])


def _refuse_edge(layout: Layout, alignment: Alignment) -> None:
    stock = layout.stock
    safe = Box(0, 0, stock.width_mm, stock.height_mm).inset(stock.margin_mm)
    faults = [
        Fault(
            layout.file,
            f"{face.id}, card {piece.card}, piece {piece.id}, {area.id}",
            field.id,
            f"moved for {alignment.printer} it comes nearer than {stock.margin_mm:g} mm to the "
            "edge of the sheet, where printers don't print",
            "adjust the printer so that its offset is smaller, and align it again",
        )
        for face in layout.faces
        for piece in face.pieces
        for area in piece.areas
        for field in area.fields
        if not safe.contains(field.box)
    ]
    if faults:
        raise LayoutRefused(faults)


def _face(face: Face, alignment: Alignment) -> Face:
    return replace(
        face,
        pieces=tuple(_piece(piece, alignment) for piece in face.pieces),
        lines=tuple(_line(line, alignment) for line in face.lines),
        keys=tuple(_key(key, alignment) for key in face.keys),
        marks=tuple(_mark(mark, alignment) for mark in face.marks),
    )


def _mark(mark: Mark, alignment: Alignment) -> Mark:
    dx, dy = alignment.shift(mark.x_mm, mark.y_mm)
    return replace(mark, x_mm=mark.x_mm + dx, y_mm=mark.y_mm + dy)


def _piece(piece: Piece, alignment: Alignment) -> Piece:
    return replace(
        piece,
        outline=_as_a_whole(piece.outline, alignment),
        areas=tuple(_area(area, alignment) for area in piece.areas),
    )


def _area(area: Area, alignment: Alignment) -> Area:
    by = _shift(area.box, alignment)
    return replace(
        area,
        box=area.box.moved(*by),
        fields=tuple(replace(field, box=field.box.moved(*by)) for field in area.fields),
        tab=replace(area.tab, box=area.tab.box.moved(*by)) if area.tab else None,
        cavity=area.cavity.moved(*by) if area.cavity else None,
    )


def _line(line: Line, alignment: Alignment) -> Line:
    (ax, ay), (bx, by) = (
        alignment.shift(line.x1_mm, line.y1_mm),
        alignment.shift(line.x2_mm, line.y2_mm),
    )
    return replace(
        line,
        x1_mm=line.x1_mm + ax,
        y1_mm=line.y1_mm + ay,
        x2_mm=line.x2_mm + bx,
        y2_mm=line.y2_mm + by,
    )


def _key(key: Key, alignment: Alignment) -> Key:
    x = sum(px for px, _ in key.points) / len(key.points)
    y = sum(py for _, py in key.points) / len(key.points)
    dx, dy = alignment.shift(x, y)
    return Key(tuple((px + dx, py + dy) for px, py in key.points))


def _as_a_whole(box: Box, alignment: Alignment) -> Box:
    return box.moved(*_shift(box, alignment))


def _shift(box: Box, alignment: Alignment) -> Point:
    return alignment.shift(box.x_mm + box.w_mm / 2, box.y_mm + box.h_mm / 2)
