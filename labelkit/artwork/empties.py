"""What stands over an empty cavity, be it one cell or all of a piece.

A cell over an empty cavity is crossed out and says so, and holds no drug, no strength, no
lot, no date and no code, so that it can't be taken for a dose.
"""

from labelkit.artwork.page import Item
from labelkit.artwork.spots import Spot
from labelkit.artwork.strokes import rule
from labelkit.artwork.texts import Style, set_items
from labelkit.artwork.words import of
from labelkit.geometry.model import Field, Piece, What
from labelkit.ground.box import Box
from labelkit.manifest.loads import PieceLoad, SheetLoad

EMPTY_CELL = "cell.empty"

INSET_MM = 2.0
"""The cross keeps clear of the kiss cut."""

EMPTY = Style(wanted_pt=9.0, least_pt=6.0, align="centre", valign="middle")


def empty_field(box: Box) -> Field:
    """The field that an empty cell has in place of its own."""
    return Field("empty", What.STATEMENT, EMPTY_CELL, box, language="pharmacy")


def unused(piece: Piece, sheet: SheetLoad) -> PieceLoad:
    """The load of a piece that the sheet doesn't use: no facts, and every cell empty."""
    voice = sheet.pieces[0].pharmacy
    return PieceLoad(piece.id, piece.card, voice, voice, {voice.language: {}}, {})


def empty_items(spot: Spot) -> tuple[Item, ...]:
    """A fine cross, open in the middle for the words that say the cell is empty."""
    box = spot.area.box.inset(INSET_MM)
    words = Box(box.x_mm, box.y_mm + box.h_mm * 0.38, box.w_mm, box.h_mm * 0.24)
    origin = spot.origin("layout")
    # Each arm ends before the words' band begins at 38 %: some letters reach a little out of it.
    reach_x, reach_y = 0.35 * box.w_mm, 0.35 * box.h_mm
    arms = [
        rule(x, y, x + dx, y + dy, origin)
        for x, dx in ((box.x_mm, reach_x), (box.right_mm, -reach_x))
        for y, dy in ((box.y_mm, reach_y), (box.bottom_mm, -reach_y))
    ]
    said = of(spot.load.pharmacy.say(EMPTY_CELL))
    return (*arms, *set_items(spot, (said,), EMPTY, box=words))
