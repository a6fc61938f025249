"""The draft mark, in the area that each piece reserves for it, in both languages.

Nothing else stands there, and on artwork that isn't a draft nothing at all.
"""

from dataclasses import replace

from labelkit.artwork.page import Item
from labelkit.artwork.spots import Spot
from labelkit.artwork.texts import TALL_MM, Style, set_in, set_items
from labelkit.artwork.words import Paragraph, of
from labelkit.geometry.model import Field, What
from labelkit.ground.box import Box
from labelkit.manifest.derive import DRAFT_MARKS
from labelkit.typeset.model import TooBig

ROW_GAP_MM = 0.2
"""Between the two languages' rows, so that accents and descenders don't meet."""

DRAFT = Style(wanted_pt=9.0, least_pt=6.0, weight="bold", align="centre", valign="middle")


def draft_field(box: Box) -> Field:
    """The field of a piece's reserved draft area: the mark in both languages."""
    return Field("draft", What.STATEMENT, DRAFT_MARKS[0], box, language="both")


def draft_items(spot: Spot) -> tuple[Item, ...]:
    """The draft mark in the patient's language and the pharmacy's: below one another, else side
    by side, else its short form. Raises ArtworkRefused where none of these fits.
    """
    texts: tuple[Paragraph, ...] = ()
    for statement in DRAFT_MARKS:
        texts = tuple(of(voice.say(statement)) for voice in spot.voices)
        for boxes in (_below(spot, texts), _side_by_side(spot, texts)):
            items = _marks(spot, texts, boxes)
            if items:
                return items
    return set_items(spot, texts, DRAFT)


def _marks(spot: Spot, texts: tuple[Paragraph, ...], boxes: list[Box]) -> tuple[Item, ...]:
    """Each text in one line in its box, all at one size; nothing where that can't be."""
    sizes = []
    for text, box in zip(texts, boxes, strict=True):
        found = set_in(text, DRAFT, box.w_mm, box.h_mm)
        if isinstance(found, TooBig) or len(found.lines) > 1:
            return ()
        sizes.append(found.size_pt)
    style = replace(DRAFT, wanted_pt=min(sizes))
    return tuple(
        item
        for text, box in zip(texts, boxes, strict=True)
        for item in set_items(spot, (text,), style, box=box)
    )


def _below(spot: Spot, texts: tuple[Paragraph, ...]) -> list[Box]:
    """The area in as many rows as there are texts."""
    box, count = spot.box, len(texts)
    height_mm = (box.h_mm - ROW_GAP_MM * (count - 1)) / count
    return [
        Box(box.x_mm, box.y_mm + (height_mm + ROW_GAP_MM) * n, box.w_mm, height_mm)
        for n in range(count)
    ]


def _side_by_side(spot: Spot, texts: tuple[Paragraph, ...]) -> list[Box]:
    """The area in columns, each as wide as its text asks for, and a share of what is left."""
    least = replace(DRAFT, wanted_pt=DRAFT.least_pt)
    natural = [set_in(text, least, TALL_MM, TALL_MM) for text in texts]
    widths = [found.width_mm for found in natural if not isinstance(found, TooBig)]
    spare_mm = (spot.box.w_mm - sum(widths)) / len(texts)
    boxes: list[Box] = []
    x_mm = spot.box.x_mm
    for width_mm in widths:
        boxes.append(Box(x_mm, spot.box.y_mm, max(0.0, width_mm + spare_mm), spot.box.h_mm))
        x_mm += width_mm + spare_mm
    return boxes
