"""What is left for a pen: lines to write on, boxes to tick; and plain rules.

Ticks nothing beforehand. A line too short or too low to write on is refused.
"""

from dataclasses import replace

from labelkit.artwork.mirroring import other_side
from labelkit.artwork.page import Item
from labelkit.artwork.spots import Spot
from labelkit.artwork.strokes import FINE_MM, frame, rule
from labelkit.artwork.texts import (
    TALL_MM,
    set_in,
    set_items,
    stacked,
    style_of,
    too_big,
    up,
)
from labelkit.artwork.words import Paragraph, of, paragraphs
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused, Fault
from labelkit.typeset.model import TooBig

LEAST_LINE_MM = 15.0
"""Least length of a writing line beside its label (common practice, no source)."""

LEAST_WRITING_MM = 5.0
"""Least height to write in over a line whose label stands above it (common practice)."""

TICK_MM = 4.0
"""Side of a box to tick on a pad (common practice, no source)."""

TICK_GAP_MM = 1.5
ENTRY_GAP_MM = 4.0


def rule_items(spot: Spot) -> tuple[Item, ...]:
    """A fine line along the longer side of the box, in its middle."""
    box, origin = spot.box, spot.origin("layout")
    if box.w_mm >= box.h_mm:
        y_mm = box.y_mm + box.h_mm / 2
        return (rule(box.x_mm, y_mm, box.right_mm, y_mm, origin),)
    x_mm = box.x_mm + box.w_mm / 2
    return (rule(x_mm, box.y_mm, x_mm, box.bottom_mm, origin),)


def writing_items(spot: Spot) -> tuple[Item, ...]:
    """The label and a line to write on along the lower edge: under the label in a high box,
    beside it in a low one. Raises ArtworkRefused where neither leaves room for a pen.
    """
    box, texts, style = spot.box, paragraphs(spot), style_of(spot)
    found = stacked(texts, style, Box(0.0, 0.0, box.w_mm, box.h_mm))
    if isinstance(found, TooBig):
        raise ArtworkRefused([too_big(spot, found, box)])
    above_mm = sum(len(fitted.lines) * fitted.leading_mm for _, fitted in found)
    beside_mm = max(fitted.width_mm for _, fitted in found) + TICK_GAP_MM
    left_mm, right_mm = box.x_mm, box.right_mm
    if box.h_mm - above_mm >= LEAST_WRITING_MM:
        label = set_items(spot, texts, style)
    elif box.w_mm - beside_mm >= LEAST_LINE_MM:
        # The label stands a little over the line, as handwriting will.
        place = replace(box, h_mm=box.h_mm - FINE_MM - 0.3)
        label = set_items(spot, texts, replace(style, valign="bottom"), box=place)
        if spot.rtl:
            right_mm -= beside_mm
        else:
            left_mm += beside_mm
    else:
        raise ArtworkRefused([_no_room(spot, texts[0].text, above_mm, beside_mm)])
    y_mm = box.bottom_mm - FINE_MM / 2
    return (*label, rule(left_mm, y_mm, right_mm, y_mm, spot.origin("layout")))


def _no_room(spot: Spot, label: str, above_mm: float, beside_mm: float) -> Fault:
    box = spot.box
    return spot.fault(
        f"the label “{label}” leaves {max(0.0, box.w_mm - beside_mm):.1f} mm to write on beside "
        f"it and {max(0.0, box.h_mm - above_mm):.1f} mm below it",
        f"give the box {up(beside_mm + LEAST_LINE_MM):.1f} mm of width or "
        f"{up(above_mm + LEAST_WRITING_MM):.1f} mm of height",
    )


def tick_items(spot: Spot) -> tuple[Item, ...]:
    """A box to tick before each entry of the list, in rows that fill the field's width.

    Raises ArtworkRefused where the entries don't fit.
    """
    entries = [of(said) for said in spot.load.lists.get(spot.field.arg, ())]
    sizes = [_entry_size(spot, entry) for entry in entries]
    items: list[Item] = []
    for entry, place in zip(entries, _in_rows(sizes, spot.box), strict=True):
        if place.bottom_mm > spot.box.bottom_mm:
            over_mm = place.bottom_mm - spot.box.bottom_mm
            wrong = (
                f"“{entry.text}” needs a box {spot.box.h_mm + over_mm:.1f} mm high, and it has "
                f"{spot.box.h_mm:.1f} mm: {over_mm:.1f} mm too high"
            )
            raise ArtworkRefused([spot.fault(wrong, "give the list a larger box")])
        items.extend(_entry(spot, entry, other_side(place, spot.box) if spot.rtl else place))
    return tuple(items)


def _entry_size(spot: Spot, entry: Paragraph) -> tuple[float, float]:
    """Width and height of an entry with its box to tick."""
    before_mm = TICK_MM + TICK_GAP_MM
    fitted = set_in(entry, style_of(spot), spot.box.w_mm - before_mm, TALL_MM)
    if isinstance(fitted, TooBig):
        raise ArtworkRefused([too_big(spot, fitted, spot.box)])
    return before_mm + fitted.width_mm, max(TICK_MM, fitted.height_mm)


def _in_rows(sizes: list[tuple[float, float]], box: Box) -> list[Box]:
    """A place for each entry, row by row from the top; the last may stand below the box."""
    places: list[Box] = []
    x_mm, y_mm, row_mm = 0.0, 0.0, 0.0
    for width_mm, height_mm in sizes:
        if x_mm and x_mm + width_mm > box.w_mm:
            x_mm, y_mm, row_mm = 0.0, y_mm + row_mm + TICK_GAP_MM, 0.0
        places.append(Box(box.x_mm + x_mm, box.y_mm + y_mm, width_mm, height_mm))
        x_mm += width_mm + ENTRY_GAP_MM
        row_mm = max(row_mm, height_mm)
    return places


def _entry(spot: Spot, entry: Paragraph, place: Box) -> tuple[Item, ...]:
    tick = Box(place.x_mm, place.y_mm + (place.h_mm - TICK_MM) / 2, TICK_MM, TICK_MM)
    before_mm = TICK_MM + TICK_GAP_MM
    text = Box(place.x_mm + before_mm, place.y_mm, place.w_mm - before_mm, place.h_mm)
    if spot.rtl:
        tick, text = other_side(tick, place), other_side(text, place)
    style = replace(style_of(spot), align="start", valign="middle")
    return (
        frame(tick.inset(FINE_MM / 2), FINE_MM, spot.origin(f"ticks:{spot.field.arg}")),
        *set_items(spot, (entry,), style, box=text),
    )
