"""What stands where nothing may: empty cells and the draft mark.

A cell over an empty cavity is crossed out and says so, and holds no drug, no strength, no
lot, no date and no code, so that it can't be taken for a dose.
"""

from dataclasses import replace

from labelkit.artwork.page import Item
from labelkit.artwork.spots import Spot
from labelkit.artwork.strokes import rule
from labelkit.artwork.texts import TIGHT_LEADING, Style, set_items, stacked
from labelkit.artwork.words import of
from labelkit.geometry.model import Field, What
from labelkit.ground.box import Box
from labelkit.typeset.model import TooBig

EMPTY_CELL = "cell.empty"
DRAFT_MARK = "draft.mark"

INSET_MM = 2.0
"""The cross keeps clear of the kiss cut."""

EMPTY = Style(wanted_pt=9.0, least_pt=6.0, align="centre", valign="middle")
DRAFT = Style(wanted_pt=9.0, least_pt=6.0, weight="bold", align="centre", valign="middle")


def empty_field(box: Box) -> Field:
    """The field that an empty cell has in place of its own."""
    return Field("empty", What.STATEMENT, EMPTY_CELL, box, language="pharmacy")


def empty_items(spot: Spot) -> tuple[Item, ...]:
    """A fine cross, open in the middle for the words that say the cell is empty."""
    box = spot.area.box.inset(INSET_MM)
    words = Box(box.x_mm, box.y_mm + box.h_mm * 0.38, box.w_mm, box.h_mm * 0.24)
    origin = spot.origin("layout")
    # Each arm ends where the words' band begins: 38 % of the way along both axes.
    reach_x, reach_y = 0.38 * box.w_mm, 0.38 * box.h_mm
    arms = [
        rule(x, y, x + dx, y + dy, origin)
        for x, dx in ((box.x_mm, reach_x), (box.right_mm, -reach_x))
        for y, dy in ((box.y_mm, reach_y), (box.bottom_mm, -reach_y))
    ]
    said = of(spot.load.pharmacy.say(EMPTY_CELL))
    return (*arms, *set_items(spot, (said,), EMPTY, box=words))


def draft_field(box: Box) -> Field:
    """The field of a piece's reserved draft area: the mark in both languages."""
    return Field("draft", What.STATEMENT, DRAFT_MARK, box, language="both")


def draft_items(spot: Spot) -> tuple[Item, ...]:
    """The draft mark in the patient's language and the pharmacy's: below one another where
    the area is high enough, else side by side."""
    texts = tuple(of(voice.say(DRAFT_MARK)) for voice in spot.voices)
    box = spot.box
    close = replace(DRAFT, leading=TIGHT_LEADING)
    if len(texts) == 1 or not isinstance(stacked(texts, close, box), TooBig):
        return set_items(spot, texts, DRAFT)
    width_mm = box.w_mm / len(texts)
    halves = [Box(box.x_mm + width_mm * n, box.y_mm, width_mm, box.h_mm) for n in range(len(texts))]
    return tuple(
        item
        for text, half in zip(texts, halves, strict=True)
        for item in set_items(spot, (text,), DRAFT, box=half)
    )
