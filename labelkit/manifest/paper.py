"""What must be found on the paper itself: nothing where a place is gone, marks to register by."""

from collections.abc import Iterator

from labelkit.geometry.model import MARK_ARM_MM, Area, AreaKind, Face, Key, Piece, What
from labelkit.ground.box import Box
from labelkit.manifest.loads import SheetLoad
from labelkit.manifest.model import EmptyPlace, Place, RequiredMark, RequiredText, place
from labelkit.wording.model import Voice

EMPTY_CELL = "cell.empty"
"""The statement of a cell over an empty cavity."""

LEAST_EMPTY_PT = 6.0
"""Least size of that statement (common practice, no source)."""

CROSSED = 0.42
"""Share of an empty cell's sides from each corner within which it is crossed out."""

_LINED = (What.PICTURE, What.FLOW, What.WRITING, What.TICKS, What.TABLE, What.RULE)
"""Fields in which something is drawn."""


def bare_places(piece: Piece, sheet: SheetLoad) -> Iterator[EmptyPlace]:
    """What stays paper of a piece without a load.

    All of it where it was taken off the sheet before. Else the fields of its header band: its
    cells say that they are empty, and it keeps its orientation key.
    """
    if piece.card <= sheet.taken:
        yield EmptyPlace(within=place(piece.outline), piece=piece.id, area="")
        return
    for area in piece.areas:
        if area.kind is AreaKind.DRAFT:
            yield EmptyPlace(within=place(area.box), piece=piece.id, area=area.id)
        elif area.kind is not AreaKind.CELL:
            for field in area.fields:
                yield EmptyPlace(within=place(field.box), piece=piece.id, area=area.id)


def marks(face: Face) -> tuple[RequiredMark, ...]:
    """The registration marks of a face."""
    return tuple(
        RequiredMark(
            x_mm=round(mark.x_mm, 3),
            y_mm=round(mark.y_mm, 3),
            arm_mm=MARK_ARM_MM,
            ring_mm=mark.ring_mm,
        )
        for mark in face.marks
    )


def empty_text(piece: Piece, area: Area, voice: Voice) -> RequiredText:
    """What a cell over an empty cavity must say."""
    said = voice.say(EMPTY_CELL)
    return RequiredText(
        id=EMPTY_CELL,
        origin=said.origin,
        text=said.text,
        language=said.language,
        within=place(area.box),
        piece=piece.id,
        area=area.id,
        least_pt=LEAST_EMPTY_PT,
        least_x_height_mm=0.0,
        source="common practice: a cell over an empty cavity says so",
    )


def drawn_places(face: Face, sheet: SheetLoad) -> tuple[Place, ...]:
    """Where something is drawn: keys, marks, fields of pictures and lines, crossed-out cells."""
    boxes = [
        Box(mark.x_mm - reach, mark.y_mm - reach, 2 * reach, 2 * reach)
        for mark in face.marks
        for reach in (max(MARK_ARM_MM, mark.ring_mm),)
    ]
    boxes += [box for _, box in kept_keys(face, sheet)]
    for piece in face.pieces:
        if piece.card <= sheet.taken:
            continue
        load = sheet.of(piece.id, piece.card)
        used = {cell.number for cell in load.cells if cell.used} if load else set()
        for area in piece.areas:
            if area.kind is AreaKind.CELL and area.number not in used:
                boxes += _arms(area.box)
            elif load is not None:
                boxes += [f.box for f in area.fields if f.what in _LINED and load.prints(f)]
    return tuple(place(box) for box in boxes)


def _arms(cell: Box) -> list[Box]:
    """The corners of an empty cell, in which it is crossed out; its middle holds words alone."""
    width, height = CROSSED * cell.w_mm, CROSSED * cell.h_mm
    return [
        Box(x_mm, y_mm, width, height)
        for x_mm in (cell.x_mm, cell.right_mm - width)
        for y_mm in (cell.y_mm, cell.bottom_mm - height)
    ]


def kept_keys(face: Face, sheet: SheetLoad) -> Iterator[tuple[Key, Box]]:
    """The orientation keys of what is still on a sheet, each with the rectangle round it."""
    gone = [piece.outline for piece in face.pieces if piece.card <= sheet.taken]
    for key in face.keys:
        box = _round(key.points)
        if not any(outline.overlaps(box) for outline in gone):
            yield key, box


def _round(points: tuple[tuple[float, float], ...]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
