"""A layout moved so that a printer, as it was aligned, puts everything in its place.

Moves origins only: an area goes as a whole, with its fields, to where the printer puts it in
its place. Nothing is scaled or turned, least of all a code. What a move can't put right is the
residual, and a layout that keeps less distance than that from its lines is refused.
"""

from dataclasses import replace

from labelkit.geometry.alignment import PAPERS, SURE_FROM, Alignment, Point
from labelkit.geometry.model import Area, Face, Key, Layout, Line, Mark, Piece
from labelkit.geometry.sides import mirrors_x, side_of
from labelkit.ground.box import Box
from labelkit.ground.errors import Fault, LayoutRefused


def paper_of(layout: Layout) -> str:
    """The paper a layout is for. Raises LayoutRefused for a stock of another size."""
    stock = layout.stock
    for name, (width, height) in PAPERS.items():
        if abs(stock.width_mm - width) < 0.05 and abs(stock.height_mm - height) < 0.05:
            return name
    wrong = f"{stock.width_mm:g} × {stock.height_mm:g} mm is no paper that printers are aligned for"
    mend = f"use a layout for {', '.join(PAPERS)}, or make it without --printer"
    raise LayoutRefused([Fault(layout.file, "", "stock", wrong, mend)])


def moved(layout: Layout, front: Alignment, register: Alignment | None = None) -> Layout:
    """The layout as the page must hold it for the printer to put it in its place.

    Areas with their fields, lines, keys and marks move alike; the stock's tolerance becomes the
    residual (where fewer than three sheets were read, it never becomes less than it was).
    `register` says how the back lies to the front: a layout of two sides needs it.
    Raises LayoutRefused where the residual exceeds the layout's tolerance, or where something
    would move into the unprintable edge.
    """
    by_face = {
        face.id: behind(front, register, layout)
        if register is not None and side_of(face.id) == "back"
        else front
        for face in layout.faces
    }
    residual = max(
        (_residual(layout, face, by_face[face.id]) for face in layout.faces), default=0.0
    )
    sheets = min(one.sheets for one in by_face.values())
    kept = residual if sheets >= SURE_FROM else layout.stock.tolerance_mm
    done = replace(
        layout,
        faces=tuple(_face(face, by_face[face.id]) for face in layout.faces),
        stock=replace(layout.stock, tolerance_mm=round(kept, 3)),
    )
    _refuse_edge(done, front)
    return done


def behind(front: Alignment, register: Alignment, layout: Layout) -> Alignment:
    """Where a printer puts what stands at a point of the back page.

    The error of the front and that of the back to it add up, as seen from the front; on the
    back page one direction is the other way round.
    """
    across = -1 if mirrors_x(layout.flip, layout.stock) else 1
    return Alignment(
        printer=front.printer,
        paper=front.paper,
        offset_x_mm=across * (front.offset_x_mm + register.offset_x_mm),
        offset_y_mm=-across * (front.offset_y_mm + register.offset_y_mm),
        scale_x=front.scale_x + register.scale_x - 1,
        scale_y=front.scale_y + register.scale_y - 1,
        skew_x=-(front.skew_x + register.skew_x),
        skew_y=-(front.skew_y + register.skew_y),
        residual_mm=round(front.residual_mm + register.residual_mm, 3),
        sheets=min(front.sheets, register.sheets),
        flip=register.flip,
    )


def _residual(layout: Layout, face: Face, alignment: Alignment) -> float:
    """How far from its place print may still land on a face. Raises LayoutRefused."""
    areas = [area for piece in face.pieces for area in piece.areas]
    stretch = max((alignment.stretch_mm(area.box) for area in areas), default=0.0)
    residual, keeps = alignment.residual_mm + stretch, layout.stock.tolerance_mm
    if residual > keeps:
        side = " on the back" if alignment.flip else ""
        wrong = (
            f"on {alignment.printer} print{side} lands up to {residual:.2f} mm from its place when "
            f"moved ({alignment.residual_mm:.2f} mm read, {stretch:.2f} mm within the largest "
            f"area), and this layout keeps {keeps:g} mm from its cuts and folds"
        )
        mend = "mend the printer's feed and align it again, or use another printer or layout"
        raise LayoutRefused([Fault(layout.file, "", "tolerance_mm", wrong, mend)])
    return residual


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
