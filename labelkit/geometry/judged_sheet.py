"""Rules for the sheet: what lies on it, what the printer reaches, front against back."""

from collections.abc import Iterator
from itertools import combinations

from labelkit.geometry.distances import beyond, shared
from labelkit.geometry.findings import (
    COMMON,
    Finding,
    every_area,
    every_field,
    every_piece,
    mm,
    place,
    rule,
)
from labelkit.geometry.model import Area, AreaKind, Face, Layout
from labelkit.geometry.sides import turned_over
from labelkit.ground.box import SLACK_MM, Box

REGISTER_MM = 0.01
"""How far front and back of a piece may lie apart by design; paper adds its own."""

COUNTS = {
    AreaKind.CELL: (AreaKind.CELL, AreaKind.BAND, AreaKind.PANEL, AreaKind.DRAFT),
    AreaKind.BAND: (AreaKind.BAND, AreaKind.PANEL),
    AreaKind.PANEL: (AreaKind.PANEL,),
    AreaKind.DRAFT: (AreaKind.DRAFT,),
}
"""Which areas may not share ground. A draft band may lie in a header band or a panel, clear of
its fields."""


def sheet_of(layout: Layout) -> Box:
    """The whole sheet."""
    return Box(0.0, 0.0, layout.stock.width_mm, layout.stock.height_mm)


def printable_of(layout: Layout) -> Box:
    """The part of the sheet that the printer reaches."""
    return sheet_of(layout).inset(layout.stock.margin_mm)


@rule("geometry.sheet", "printer manuals: about 4.2 mm unprintable edge; 5 mm assumed")
def outline_on_sheet(layout: Layout) -> Iterator[Finding]:
    """A piece lies within the printable area, or its side is the sheet's own edge."""
    whole, reached = sheet_of(layout), printable_of(layout)
    for face, piece in every_piece(layout):
        box = piece.outline
        sides = (
            ("left", box.x_mm, reached.x_mm - box.x_mm, box.x_mm - whole.x_mm),
            ("top", box.y_mm, reached.y_mm - box.y_mm, box.y_mm - whole.y_mm),
            ("right", box.right_mm, box.right_mm - reached.right_mm, whole.right_mm - box.right_mm),
            (
                "bottom",
                box.bottom_mm,
                box.bottom_mm - reached.bottom_mm,
                whole.bottom_mm - box.bottom_mm,
            ),
        )
        for side, _, over, inside in sides:
            if over > SLACK_MM and abs(inside) > SLACK_MM:
                yield Finding(
                    place(face, piece),
                    "sheet",
                    f"its {side} edge overflows the printable area by {mm(over)}",
                    "put fewer on the sheet, move it, or choose a larger sheet",
                )


@rule("geometry.printable", "printer manuals: about 4.2 mm unprintable edge; 5 mm assumed")
def field_printable(layout: Layout) -> Iterator[Finding]:
    """Every field and draft band lies where the printer prints."""
    reached = printable_of(layout)
    for face, piece, area, field in every_field(layout):
        if (over := beyond(field.box, reached)) > SLACK_MM:
            yield Finding(
                place(face, piece, area),
                field.id,
                f"it reaches {mm(over)} into the sheet's unprintable edge",
                "move or shrink its box",
            )
    for face, piece, area in every_area(layout):
        if area.kind is AreaKind.DRAFT and (over := beyond(area.box, reached)) > SLACK_MM:
            yield Finding(
                place(face, piece),
                area.id,
                f"the draft band reaches {mm(over)} into the sheet's unprintable edge",
                "move or shrink its box",
            )


@rule("geometry.marks", "printer manuals: about 4.2 mm unprintable edge; 5 mm assumed")
def marks_clear(layout: Layout) -> Iterator[Finding]:
    """Registration marks lie where the printer prints, also when moved for it, and clear of
    every field and draft band."""
    reached = printable_of(layout).inset(layout.stock.tolerance_mm)
    for face in layout.faces:
        for mark in face.marks:
            where = f"{face.id}, mark at {mark.x_mm:g}, {mark.y_mm:g} mm"
            if (over := beyond(mark.box, reached)) > SLACK_MM:
                yield Finding(
                    where,
                    "marks_mm",
                    f"it reaches {mm(over)} too near to the sheet's unprintable edge",
                    "move it inwards",
                )
            for piece in face.pieces:
                for area in piece.areas:
                    boxes = [(field.id, field.box) for field in area.fields]
                    boxes += [(area.id, area.box)] if area.kind is AreaKind.DRAFT else []
                    for name, box in boxes:
                        if mark.box.overlaps(box):
                            yield Finding(
                                where,
                                "marks_mm",
                                f"it overlaps {name} of {area.id}",
                                "move it where nothing is printed, as on a cut",
                            )


@rule("geometry.pieces-overlap", COMMON)
def pieces_apart(layout: Layout) -> Iterator[Finding]:
    """No two pieces share paper."""
    for face in layout.faces:
        for one, other in combinations(face.pieces, 2):
            if one.outline.overlaps(other.outline):
                width, height = shared(one.outline, other.outline)
                yield Finding(
                    place(face, one),
                    "sheet",
                    f"it overlaps piece {other.id} of card {other.card} by "
                    f"{mm(width)} × {mm(height)}",
                    "move them apart or put fewer on the sheet",
                )


@rule("geometry.area-outside", COMMON)
def areas_in_pieces(layout: Layout) -> Iterator[Finding]:
    """Every area lies on its piece."""
    for face, piece, area in every_area(layout):
        if (over := beyond(area.box, piece.outline)) > SLACK_MM:
            yield Finding(
                place(face, piece),
                area.id,
                f"it reaches {mm(over)} out of its piece",
                "move or shrink its box",
            )


@rule("geometry.areas-overlap", COMMON)
def areas_apart(layout: Layout) -> Iterator[Finding]:
    """Cells, bands and panels of a piece don't share ground."""
    for face, piece in every_piece(layout):
        for one, other in combinations(piece.areas, 2):
            if _must_part(one, other) and one.box.overlaps(other.box):
                width, height = shared(one.box, other.box)
                yield Finding(
                    place(face, piece, one),
                    "",
                    f"it overlaps {other.id} by {mm(width)} × {mm(height)}",
                    "move them apart or make them smaller",
                )


def _must_part(one: Area, other: Area) -> bool:
    return other.kind in COUNTS[one.kind] or one.kind in COUNTS[other.kind]


@rule("geometry.back", "common practice: a leaf's back lies exactly behind its front")
def back_behind_front(layout: Layout) -> Iterator[Finding]:
    """Each piece of the back lies behind its front once the sheet is turned over."""
    for front, back in zip(layout.faces[::2], layout.faces[1::2], strict=False):
        yield from _back(layout, front, back)


def _back(layout: Layout, front: Face, back: Face) -> Iterator[Finding]:
    backs = {(p.id, p.card): p for p in back.pieces}
    for piece in front.pieces:
        behind = backs.pop((piece.id, piece.card), None)
        if behind is None:
            yield Finding(
                place(front, piece), "", "it has no back", "add its back or drop the back face"
            )
            continue
        wanted = turned_over(piece.outline, layout.flip, layout.stock)
        off = max(beyond(behind.outline, wanted), beyond(wanted, behind.outline))
        if off > REGISTER_MM:
            yield Finding(
                place(back, behind),
                "",
                f"it lies {mm(off)} off its front when the sheet is turned about its "
                f"{layout.flip.replace('-', ' ')}",
                "mirror the places of the back",
            )
    for piece in backs.values():
        yield Finding(place(back, piece), "", "it has no front", "remove it from the back")


@rule("geometry.draft", "common practice: what nobody accepted is marked on every piece")
def draft_band(layout: Layout) -> Iterator[Finding]:
    """Every piece keeps a draft band, and no field lies in it."""
    for face, piece in every_piece(layout):
        bands = [area for area in piece.areas if area.kind is AreaKind.DRAFT]
        if not bands:
            yield Finding(
                place(face, piece),
                "",
                "it has no draft band",
                'add an area of kind "draft", at least 12 × 2.5 mm',
            )
        for band in bands:
            yield from (
                Finding(
                    place(face, piece, area),
                    field.id,
                    "it overlaps the draft band by "
                    + " × ".join(mm(side) for side in shared(field.box, band.box)),
                    "move one of them",
                )
                for area in piece.areas
                for field in area.fields
                if field.box.overlaps(band.box)
            )
            if band.box.w_mm < 12 - SLACK_MM or band.box.h_mm < 2.5 - SLACK_MM:
                yield Finding(
                    place(face, piece),
                    band.id,
                    f"the draft band is {mm(band.box.w_mm)} × {mm(band.box.h_mm)}, and its mark "
                    "needs 12.00 mm × 2.50 mm",
                    "make it larger",
                )
