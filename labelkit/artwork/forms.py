"""What is left for a pen: lines to write on, boxes to tick; and plain rules.

Ticks nothing beforehand. A line too short or too low to write on is refused.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from labelkit.artwork.mirroring import other_side
from labelkit.artwork.page import Item
from labelkit.artwork.spots import Spot
from labelkit.artwork.strokes import FINE_MM, frame, rule
from labelkit.artwork.texts import (
    TALL_MM,
    Style,
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
from labelkit.manifest.loads import TickList
from labelkit.typeset.fitting import STEP_PT
from labelkit.typeset.model import TooBig
from labelkit.wording.model import Said

LEAST_LINE_MM = 15.0
"""Least length of a writing line beside its label (common practice, no source)."""

LEAST_WRITING_MM = 5.0
"""Least height to write in over a line whose label stands above it (common practice)."""

TICK_MM = 4.0
"""Side of a box to tick on a pad (common practice, no source)."""

TICK_GAP_MM = 1.5
ENTRY_GAP_MM = 4.0

_SHARES = (1.0, 0.5, 0.0)
"""Powers of their need by which columns share a room that is too narrow for lines of one row."""


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
    """Heads in bold, and a box to tick before each row, all at the largest size that fits.

    Raises ArtworkRefused where the rows don't fit at the least size.
    """
    ticks = spot.load.lists.get(spot.field.arg)
    if ticks is None or not ticks.rows:
        return ()
    style = replace(style_of(spot), align="start", valign="middle")
    size_pt = style.wanted_pt
    while True:
        fixed = replace(style, wanted_pt=size_pt, least_pt=size_pt)
        tried = [_ticked(spot, ticks, fixed, power) for power in _SHARES]
        for found in tried:
            if not isinstance(found, Fault):
                return found
        if size_pt <= style.least_pt:
            raise ArtworkRefused(found for found in tried[:1] if isinstance(found, Fault))
        size_pt = max(size_pt - STEP_PT, style.least_pt)


@dataclass(frozen=True, slots=True)
class _Cell:
    """A text with the style it is set in, and its width in one line."""

    text: Paragraph
    style: Style
    width_mm: float


def _ticked(spot: Spot, ticks: TickList, style: Style, power: float) -> tuple[Item, ...] | Fault:
    """The whole list at one size, or the refusal that tells what it lacks."""
    head_style = replace(style, weight="bold", valign="bottom")
    rows = [
        [_cell(said, row_style) for said in row]
        for row, row_style in ((ticks.heads, head_style), *((row, style) for row in ticks.rows))
    ]
    widths = _columns(rows, spot.box.w_mm, power)
    items: list[Item] = []
    y_mm = spot.box.y_mm
    for number, row in enumerate(rows):
        high_mm = TICK_MM if number else 0.0
        for cell, width in zip(row, widths, strict=True):
            fitted = set_in(cell.text, cell.style, width, TALL_MM)
            if isinstance(fitted, TooBig):
                return too_big(spot, fitted, Box(0.0, 0.0, width, spot.box.h_mm))
            high_mm = max(high_mm, len(fitted.lines) * fitted.leading_mm, fitted.height_mm)
        if y_mm + high_mm > spot.box.bottom_mm:
            return _too_low(spot, rows[number:], y_mm + high_mm - spot.box.bottom_mm)
        items.extend(_row(spot, row, widths, Box(spot.box.x_mm, y_mm, spot.box.w_mm, high_mm)))
        if number:
            items.append(_tick(spot, y_mm, high_mm))
        y_mm += high_mm + TICK_GAP_MM
    return tuple(items)


def _cell(said: Said, style: Style) -> _Cell:
    text = of(said)
    found = set_in(text, style, TALL_MM, TALL_MM)
    return _Cell(text, style, 0.0 if isinstance(found, TooBig) else found.width_mm)


def _columns(rows: list[list[_Cell]], room_mm: float, power: float) -> tuple[float, ...]:
    """Widths of the columns: what each needs in one line, and an equal share of what is over;
    where that is more than there is, shares of the room by that power of the need."""
    before_mm = TICK_MM + TICK_GAP_MM
    wanted = [max(cell.width_mm for cell in column) for column in zip(*rows, strict=True)]
    free_mm = room_mm - before_mm - ENTRY_GAP_MM * (len(wanted) - 1)
    spare_mm = free_mm - sum(wanted)
    if spare_mm >= 0:
        return tuple(width + spare_mm / len(wanted) for width in wanted)
    weights = [width**power for width in wanted]
    return tuple(free_mm * weight / sum(weights) for weight in weights)


def _row(spot: Spot, row: list[_Cell], widths: tuple[float, ...], place: Box) -> Iterator[Item]:
    """The texts of one row, in columns; the first stands behind the box to tick."""
    x_mm = place.x_mm + TICK_MM + TICK_GAP_MM
    for cell, width in zip(row, widths, strict=True):
        box = Box(x_mm, place.y_mm, width, place.h_mm)
        yield from set_items(
            spot, (cell.text,), cell.style, box=other_side(box, spot.box) if spot.rtl else box
        )
        x_mm += width + ENTRY_GAP_MM


def _tick(spot: Spot, y_mm: float, high_mm: float) -> Item:
    box = Box(spot.box.x_mm, y_mm + (high_mm - TICK_MM) / 2, TICK_MM, TICK_MM)
    place = other_side(box, spot.box) if spot.rtl else box
    return frame(place.inset(FINE_MM / 2), FINE_MM, spot.origin(f"ticks:{spot.field.arg}"))


def _too_low(spot: Spot, left: list[list[_Cell]], over_mm: float) -> Fault:
    """The refusal of a list: the first row that doesn't fit, and those after it, if as low as can
    be."""
    over_mm += (len(left) - 1) * (TICK_MM + TICK_GAP_MM)
    return spot.fault(
        f"“{left[0][0].text.text}” and what follows need {up(spot.box.h_mm + over_mm):.1f} mm in "
        f"height or more, and the box has {spot.box.h_mm:.1f} mm: {up(over_mm):.1f} mm too high",
        "give the list a larger box",
    )
