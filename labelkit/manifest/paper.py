"""What must be found on the paper itself: nothing where a place is gone, marks to register by."""

from collections.abc import Iterator

from labelkit.geometry.model import MARK_ARM_MM, AreaKind, Face, Piece
from labelkit.manifest.loads import SheetLoad
from labelkit.manifest.model import EmptyPlace, RequiredMark, place


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
