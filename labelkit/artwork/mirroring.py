"""Layouts for languages read from right to left.

A sleeve's panels are where the die cuts them, so the fields of each panel change sides
within it. A leaflet is folded by hand, so its panels and folds change sides as a whole.
Cells of a lid keep the pharmacy's language and their tabs, and stay; fields of its header band
change sides where the orientation key lets them, so that a label stands before its value.
Boxes move; what stands in them (drug, strength, lot, codes) keeps its own order.
"""

from dataclasses import replace

from labelkit.geometry.model import (
    Area,
    AreaKind,
    Face,
    Field,
    Key,
    Kind,
    Layout,
    Line,
    LineKind,
    Piece,
)
from labelkit.ground.box import Box


def mirrored(layout: Layout) -> Layout:
    """The layout as a right-to-left reader needs it; pads come back unchanged."""
    if layout.kind is Kind.PAD:
        return layout
    return replace(layout, faces=tuple(_face(face, layout.kind) for face in layout.faces))


def _face(face: Face, kind: Kind) -> Face:
    if kind is Kind.SLEEVE:
        pieces = tuple(
            replace(piece, areas=tuple(_fields(area, area.box) for area in piece.areas))
            for piece in face.pieces
        )
        return replace(face, pieces=pieces)
    if kind is Kind.LIDDING:
        return replace(face, pieces=tuple(_lid(piece, face.keys) for piece in face.pieces))
    lines = tuple(_line(line, face.pieces) for line in face.lines)
    return replace(face, pieces=tuple(_piece(piece) for piece in face.pieces), lines=lines)


def _piece(piece: Piece) -> Piece:
    areas = (
        replace(_fields(area, piece.outline), box=other_side(area.box, piece.outline))
        for area in piece.areas
    )
    return replace(piece, areas=tuple(areas))


def _lid(piece: Piece, keys: tuple[Key, ...]) -> Piece:
    """A piece of lidding with its draft area and its band's fields on their other side; a field
    stays where the orientation key would be in its way."""
    areas: list[Area] = []
    for area in piece.areas:
        if area.kind is AreaKind.BAND:
            turned = ((field, _field(field, area, area.box)) for field in area.fields)
            fields = (old if _covers(new.box, keys) else new for old, new in turned)
            areas.append(replace(area, fields=tuple(fields)))
        elif area.kind is AreaKind.DRAFT:
            areas.append(replace(area, box=other_side(area.box, piece.outline)))
        else:
            areas.append(area)
    return replace(piece, areas=tuple(areas))


def _covers(box: Box, keys: tuple[Key, ...]) -> bool:
    """Whether a corner of a key lies in the box."""
    return any(
        box.x_mm <= x <= box.right_mm and box.y_mm <= y <= box.bottom_mm
        for key in keys
        for x, y in key.points
    )


def _fields(area: Area, room: Box) -> Area:
    return replace(area, fields=tuple(_field(field, area, room) for field in area.fields))


def _field(field: Field, area: Area, room: Box) -> Field:
    """A field on the other side of the room; a turned one (a spine's) at the area's other end
    too, because its line begins there."""
    box = other_side(field.box, room)
    if field.turn:
        box = replace(box, y_mm=area.box.y_mm + area.box.bottom_mm - box.bottom_mm)
    return replace(field, box=box)


def _line(line: Line, pieces: tuple[Piece, ...]) -> Line:
    """A fold inside a piece changes sides with it; cuts stay."""
    for piece in pieces if line.kind is LineKind.FOLD else ():
        room = piece.outline
        if all(room.x_mm <= x_mm <= room.right_mm for x_mm in (line.x1_mm, line.x2_mm)):
            turn = room.x_mm + room.right_mm
            return replace(line, x1_mm=turn - line.x1_mm, x2_mm=turn - line.x2_mm)
    return line


def other_side(box: Box, room: Box) -> Box:
    """The box as far from the room's right edge as it was from the left one."""
    return replace(box, x_mm=room.x_mm + room.right_mm - box.right_mm)
