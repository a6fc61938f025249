"""Text fields: paragraphs set into the field's box at the largest size that fits.

Cuts nothing. A text that doesn't fit at its least size gives way to the field's
alternative statement where the layout names one; else the field is refused with its box,
the size that is needed, and by how much it is over.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from labelkit.artwork.page import Tag, TextItem
from labelkit.artwork.spots import Spot
from labelkit.artwork.words import Paragraph, alternatives, paragraphs
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused, Fault
from labelkit.ground.units import pt_to_mm
from labelkit.typeset.fitting import STEP_PT, fit
from labelkit.typeset.model import Fitted, TooBig

GAP_SHARE = 1.5
"""Space between two languages of one field, of the space between lines: enough to see two
texts, less than between fields (common practice, no source)."""

LEAST_GAP = 0.05
"""Least space between two languages, as a ratio of the type size."""

TIGHT_LEADING = 1.0
"""Tried where a label's text doesn't fit at the usual line spacing: lines closer together stay
readable longer than letters get smaller (common practice, no source)."""

TALL_MM = 10_000.0
"""A height that no text needs: for measuring."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a text field is set."""

    wanted_pt: float
    least_pt: float
    weight: str = "regular"
    family: str = "sans"
    align: str = "start"
    valign: str = "top"
    leading: float = 1.2
    beside_pt: float = 0.0
    """Size of every text after the first; 0: as large as that. Never larger."""


def style_of(spot: Spot) -> Style:
    """The style that the layout gives the field."""
    field = spot.field
    return Style(
        field.wanted_pt,
        field.least_pt,
        field.weight,
        field.family,
        field.align,
        field.valign,
        beside_pt=field.beside_pt,
    )


def text_items(spot: Spot) -> tuple[TextItem, ...]:
    """The items of a STATEMENT or VALUE field. Raises ArtworkRefused where it doesn't fit."""
    return set_items(spot, paragraphs(spot), style_of(spot), alternatives(spot))


def set_items(
    spot: Spot,
    texts: tuple[Paragraph, ...],
    style: Style,
    shorter: tuple[Paragraph, ...] = (),
    box: Box | None = None,
) -> tuple[TextItem, ...]:
    """`texts` below one another in `box` (the field's own by default), all at one size."""
    if not texts:
        return ()
    place = box or spot.box
    room = place if spot.field.turn == 0 else _turned_room(place)
    refused: list[TooBig] = []
    for chosen in filter(None, (texts, shorter)):
        for setting in (style, replace(style, leading=TIGHT_LEADING)):
            found = stacked(chosen, setting, room)
            if not isinstance(found, TooBig):
                return _items(spot, place, room, zip(chosen, found, strict=True))
            refused.append(found)
    raise ArtworkRefused([too_big(spot, refused[1], room)])  # the field's own text, set tightly


def _items(
    spot: Spot, place: Box, room: Box, parts: Iterable[tuple[Paragraph, tuple[Box, Fitted]]]
) -> tuple[TextItem, ...]:
    tag = Tag("P") if spot.layout.kind == "leaflet" else None
    return tuple(
        TextItem(
            box=_turned_back(part, room, place, spot.field.turn),
            lines=fitted.lines,
            origin=spot.origin(text.source, text.language),
            tag=tag,
            turn=spot.field.turn,
        )
        for text, (part, fitted) in parts
    )


def stacked(
    texts: tuple[Paragraph, ...], style: Style, room: Box
) -> tuple[tuple[Box, Fitted], ...] | TooBig:
    """Each paragraph's part of `room` and its lines, all at the largest size that holds all."""
    if len(texts) == 1:
        found = set_in(texts[0], style, room.w_mm, room.h_mm)
        return found if isinstance(found, TooBig) else ((room, found),)
    size = style.wanted_pt
    while True:
        tried = _at(texts, style, room, max(size, style.least_pt))
        if not isinstance(tried, TooBig) or size <= style.least_pt:
            return tried
        size -= STEP_PT


def _at(
    texts: tuple[Paragraph, ...], style: Style, room: Box, size_pt: float
) -> tuple[tuple[Box, Fitted], ...] | TooBig:
    beside_pt = min(size_pt, style.beside_pt or size_pt)
    parts: list[Fitted] = []
    inks: list[Fitted | TooBig] = []
    for number, text in enumerate(texts):
        own_pt = beside_pt if number else size_pt
        fixed = replace(style, wanted_pt=own_pt, least_pt=own_pt, valign="top")
        found = set_in(text, fixed, room.w_mm, TALL_MM)
        if isinstance(found, TooBig):
            return found
        parts.append(found)
        inks.append(set_in(text, fixed, room.w_mm, found.height_mm))
    heights = [_height(fitted, ink) for fitted, ink in zip(parts, inks, strict=True)]
    heights[-1] = _inked(parts[-1], inks[-1])  # nothing stands below the last
    gap_mm = max(LEAST_GAP, GAP_SHARE * (style.leading - 1)) * pt_to_mm(size_pt)
    needed_mm = sum(heights) + gap_mm * (len(parts) - 1)
    if needed_mm > room.h_mm:
        whole = "\n".join(text.text for text in texts)
        return TooBig(whole, size_pt, room.w_mm, needed_mm, 0.0, needed_mm - room.h_mm)
    spare_mm = room.h_mm - needed_mm
    y_mm = room.y_mm + {"middle": spare_mm / 2, "bottom": spare_mm}.get(style.valign, 0.0)
    boxes: list[tuple[Box, Fitted]] = []
    for fitted, height_mm in zip(parts, heights, strict=True):
        boxes.append((Box(room.x_mm, y_mm, room.w_mm, height_mm), fitted))
        y_mm += height_mm + gap_mm
    return tuple(boxes)


def _height(fitted: Fitted, ink: Fitted | TooBig) -> float:
    """From the box's top to below the last line's descenders, and its lowest ink."""
    plain = fitted.lines[-1].baseline_mm + fitted.leading_mm * 0.22
    return max(plain, _inked(fitted, ink))


def _inked(fitted: Fitted, ink: Fitted | TooBig) -> float:
    """From the box's top to the lowest ink.

    `ink` is the same text in a box as high as its ink: where its first line stands in it.
    """
    first = fitted.lines[0].baseline_mm
    above = first if isinstance(ink, TooBig) else first - ink.lines[0].baseline_mm
    return above + fitted.height_mm


def set_in(text: Paragraph, style: Style, width_mm: float, height_mm: float) -> Fitted | TooBig:
    """One paragraph in a room of that size."""
    return fit(
        text.text,
        text.language,
        width_mm,
        height_mm,
        wanted_pt=style.wanted_pt,
        least_pt=style.least_pt,
        weight=style.weight,
        family=style.family,
        align=style.align,
        valign=style.valign,
        leading=style.leading,
        verbatim=text.verbatim,
        quoted=text.quoted,
    )


def too_big(spot: Spot, found: TooBig, room: Box) -> Fault:
    """The refusal of a text that doesn't fit: its box, what it needs, by how much it is over."""
    over = [
        f"{up(mm):.1f} mm too {way}"
        for mm, way in ((found.over_w_mm, "wide"), (found.over_h_mm, "high"))
        if mm > 0
    ]
    return spot.fault(
        f"“{found.text}” needs {up(found.needed_w_mm):.1f} × {up(found.needed_h_mm):.1f} mm at "
        f"{found.least_pt:g} pt, and its box is {room.w_mm:.1f} × {room.h_mm:.1f} mm: "
        f"{' and '.join(over)}",
        "give the field a larger box or a shorter alternative statement, or shorten the record",
    )


def up(mm: float) -> float:
    """Rounded up to a tenth of a millimetre, so that a box of the size said does hold it."""
    return math.ceil(mm * 10 - 1e-6) / 10


def _turned_room(box: Box) -> Box:
    """The box as it lies before turning by 90 or 270 degrees: same centre, sides swapped."""
    centre_x, centre_y = box.x_mm + box.w_mm / 2, box.y_mm + box.h_mm / 2
    return Box(centre_x - box.h_mm / 2, centre_y - box.w_mm / 2, box.h_mm, box.w_mm)


def _turned_back(part: Box, room: Box, place: Box, turn: int) -> Box:
    """Where a part of the unturned room lies once the room is turned about its centre."""
    if turn == 0:
        return part
    dx = part.x_mm + part.w_mm / 2 - (room.x_mm + room.w_mm / 2)
    dy = part.y_mm + part.h_mm / 2 - (room.y_mm + room.h_mm / 2)
    if turn == 90:
        dx, dy = -dy, dx
    else:
        dx, dy = dy, -dx
    centre_x, centre_y = place.x_mm + place.w_mm / 2 + dx, place.y_mm + place.h_mm / 2 + dy
    return Box(centre_x - part.h_mm / 2, centre_y - part.w_mm / 2, part.h_mm, part.w_mm)
