"""The loading map of one card: where each tablet goes, and what stays empty.

Drawn as the tray is seen from its open side, which is also how its lid is seen from the
printed side, so that nothing is mirrored: piece, cavity and key lie as in the layout. In
full size where the paper has room, so that the tray can be laid on it. It chooses nothing:
which cells are filled comes from the plan.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from labelkit.artwork.bench_rows import set_text
from labelkit.artwork.page import Item, Origin, StrokeItem
from labelkit.artwork.strokes import frame as outlined
from labelkit.artwork.strokes import polygon, ring, rule
from labelkit.artwork.texts import Style
from labelkit.geometry.model import Area, AreaKind, Layout, Piece
from labelkit.ground.box import SLACK_MM, Box
from labelkit.rules.model import PlannedCard, PlannedPiece
from labelkit.wording.model import ReviewState, Said, Voice

PIECE = Style(12, 8, "bold")
NUMBER = Style(18, 10, "bold", align="centre", valign="middle")
EMPTY = Style(9, 6, align="centre", valign="middle")

OVERHANG_MM = 5.0
"""How far a cut line stands out of the card, so that the blade is laid on by it."""

_LAYOUT = Origin("layout")


@dataclass(frozen=True, slots=True)
class _Frame:
    """From the layout's sheet to the map's place on the page."""

    card: Box
    x_mm: float
    y_mm: float
    scale: float

    def box(self, box: Box) -> Box:
        x_mm, y_mm = self.point(box.x_mm, box.y_mm)
        return Box(x_mm, y_mm, box.w_mm * self.scale, box.h_mm * self.scale)

    def point(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        return (
            self.x_mm + (x_mm - self.card.x_mm) * self.scale,
            self.y_mm + (y_mm - self.card.y_mm) * self.scale,
        )


def cut_pairs(card: PlannedCard) -> tuple[tuple[str, str], ...]:
    """The pieces between which the card is cut: after each filled one but the last piece."""
    names = [piece.piece for piece in card.pieces]
    return tuple(
        (piece.piece, names[place + 1])
        for place, piece in enumerate(card.pieces[:-1])
        if piece.filled
    )


def map_items(card: PlannedCard, layout: Layout, voice: Voice, room: Box) -> tuple[Item, ...]:
    """The map in the middle of `room`, in full size or as large as fits.

    Raises ArtworkRefused where a text doesn't fit, WordingRefused where there are no words.
    """
    pieces = [piece for piece in layout.faces[0].pieces if piece.card == 1]
    outline = _around([piece.outline for piece in pieces])
    high_mm = room.h_mm - 2 * OVERHANG_MM
    scale = min(1.0, room.w_mm / outline.w_mm, high_mm / outline.h_mm)
    left_mm = room.x_mm + (room.w_mm - outline.w_mm * scale) / 2
    frame = _Frame(outline, left_mm, room.y_mm + OVERHANG_MM, scale)
    items: list[Item] = []
    for piece, planned in zip(pieces, card.pieces, strict=True):
        items.extend(_piece(piece, planned, voice, frame))
    cut = {first for first, _ in cut_pairs(card)}
    for piece, after in pairwise(pieces):
        if piece.id in cut:
            items.append(_cut(piece.outline, after.outline, frame))
    for key in layout.faces[0].keys:
        if all(outline.contains(Box(x, y, 0.0, 0.0)) for x, y in key.points):
            items.append(polygon(tuple(frame.point(x, y) for x, y in key.points), _LAYOUT))
    return tuple(items)


def _around(boxes: list[Box]) -> Box:
    x_mm, y_mm = min(b.x_mm for b in boxes), min(b.y_mm for b in boxes)
    right_mm, bottom_mm = max(b.right_mm for b in boxes), max(b.bottom_mm for b in boxes)
    return Box(x_mm, y_mm, right_mm - x_mm, bottom_mm - y_mm)


def _piece(piece: Piece, planned: PlannedPiece, voice: Voice, frame: _Frame) -> Iterator[Item]:
    yield outlined(frame.box(piece.outline), 0.35, _LAYOUT)
    band = next((a for a in piece.areas if a.kind is AreaKind.BAND), None)
    if band is not None:
        box = frame.box(band.box)
        words = Box(box.x_mm + 3.5, box.y_mm + 3.5, box.w_mm - 5.0, box.h_mm - 4.5)
        yield set_text(piece_words(planned, voice), words, PIECE)
        yield rule(box.x_mm, box.bottom_mm, box.right_mm, box.bottom_mm, _LAYOUT)
    for cell in piece.cells:
        yield from _cell(cell, cell.number <= planned.filled, voice, frame)


def piece_words(planned: PlannedPiece, voice: Voice) -> Said:
    """What a piece is for: a prescription's pack, stock, or nothing."""
    values: dict[str, object] = {"piece": planned.piece, "tablets": planned.filled}
    if planned.filled == 0:
        return voice.say("plan.piece-empty", values)
    if planned.pack is None:
        return voice.say("plan.piece-stock", values)
    pack = planned.pack
    values |= {"rx_number": pack.rx, "number": pack.number, "of": pack.of}
    return voice.say("plan.piece-for", values)


def _cell(cell: Area, filled: bool, voice: Voice, frame: _Frame) -> Iterator[Item]:
    """A bold ring with the place in the loading order, or a crossed cavity that says empty."""
    place = frame.box(cell.cavity or cell.box.inset(min(cell.box.w_mm, cell.box.h_mm) / 4))
    x_mm, y_mm = place.x_mm + place.w_mm / 2, place.y_mm + place.h_mm / 2
    r_mm = min(place.w_mm, place.h_mm) / 2
    if filled:
        yield ring(x_mm, y_mm, r_mm, 1.0, _LAYOUT)
        number = Said(str(cell.number), voice.language, "layout", ReviewState.ACCEPTED)
        yield set_text(number, place.inset(0.15 * r_mm), NUMBER)
        return
    yield ring(x_mm, y_mm, r_mm, 0.25, _LAYOUT, (1.0, 1.0))
    arm_mm = r_mm * 0.707
    for turn in (1, -1):
        yield rule(
            x_mm - arm_mm, y_mm - turn * arm_mm, x_mm + arm_mm, y_mm + turn * arm_mm, _LAYOUT
        )
    box = frame.box(cell.box)
    below = Box(box.x_mm + 0.5, place.bottom_mm, box.w_mm - 1.0, box.bottom_mm - place.bottom_mm)
    yield set_text(voice.say("cell.empty"), below, EMPTY)


def _cut(piece: Box, after: Box, frame: _Frame) -> StrokeItem:
    """A heavy dashed line along the edge that two pieces share, standing out of the card."""
    if after.x_mm >= piece.right_mm - SLACK_MM:
        ends = (after.x_mm, piece.y_mm), (after.x_mm, piece.bottom_mm)
        out_x, out_y = 0.0, OVERHANG_MM
    else:
        ends = (piece.x_mm, after.y_mm), (piece.right_mm, after.y_mm)
        out_x, out_y = OVERHANG_MM, 0.0
    (x1, y1), (x2, y2) = (frame.point(*end) for end in ends)
    start, end = (x1 - out_x, y1 - out_y), (x2 + out_x, y2 + out_y)
    box = Box(start[0], start[1], end[0] - start[0], end[1] - start[1])
    return StrokeItem(box, (("M", start), ("L", end)), 1.0, _LAYOUT, dash_mm=(4.0, 2.0))
