"""A layout's bare geometry: lines, cavities, tabs, keys and boxes, with no particulars in them.

`picture` is for reading: every part with its dimensions, in a margin round the sheet.
`die_lines` is for the maker of the die, never a part of what is printed on a label.
`overlay` is for holding against a tray: the sheet at full size on plain paper, with a scale
to prove that the printer didn't shrink it. Neither is artwork for a patient.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from labelkit.artwork.page import Artwork, Item, Origin, Page, StrokeItem, TextItem
from labelkit.artwork.strokes import frame, polygon
from labelkit.geometry.model import AreaKind, Face, Layout, Line, LineKind
from labelkit.ground.box import Box
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import TooBig

MARGIN_MM = 24.0
"""Room round the sheet for dimensions and the key to the lines."""

SCALE_MM = 100.0
"""Length of the overlay's scales: held against a ruler, they tell whether the size is kept."""

ORIGIN = Origin("layout")
LANGUAGE = "en"

STYLES: dict[LineKind, tuple[float, tuple[float, ...]]] = {
    LineKind.CUT: (0.4, ()),
    LineKind.PERFORATION: (0.4, (1.2, 0.8)),
    LineKind.FOLD: (0.25, (4.0, 1.2)),
    LineKind.KISS_CUT: (0.2, (0.6, 0.6)),
}
"""Width and dashes of each kind of line, so that they differ without colour."""

HAIR_MM = 0.12
GREY = "#8a8a8a"
_ROUND = 0.5523
"""Control points of a quarter circle, as a share of its radius."""


def picture(layout: Layout) -> Artwork:
    """A page for each face, larger than the sheet by the margin, with all dimensions."""
    stock = layout.stock
    pages = tuple(
        Page(
            stock.width_mm + 2 * MARGIN_MM,
            stock.height_mm + 2 * MARGIN_MM,
            tuple(_pictured(layout, face)),
        )
        for face in layout.faces
    )
    return Artwork(layout.kind.value, layout.title, LANGUAGE, pages)


def overlay(layout: Layout) -> Artwork:
    """One page of the sheet's own size: outlines, cavities and keys of its front, and scales."""
    face, stock = layout.faces[0], layout.stock
    x, y = stock.margin_mm + 3, stock.height_mm - stock.margin_mm - 3
    items = [
        *(_line(line, 0.0) for line in face.lines),
        *_openings(face, 0.0),
        *_scale(x, y, x + SCALE_MM, y),
        *_scale(x, y, x, y - SCALE_MM),
        *_text(layout.title, Box(x + SCALE_MM + 14, y - 5, 80, 6), 8.0),
    ]
    page = Page(stock.width_mm, stock.height_mm, tuple(items))
    return Artwork(layout.kind.value, layout.title, LANGUAGE, (page,))


def die_lines(layout: Layout) -> Artwork:
    """The lines of the die alone, a page of the sheet's own size for each face."""
    stock = layout.stock
    pages = tuple(
        Page(stock.width_mm, stock.height_mm, tuple(_line(line, 0.0) for line in face.lines))
        for face in layout.faces
    )
    return Artwork(layout.kind.value, f"{layout.title}: die lines", LANGUAGE, pages)


def _pictured(layout: Layout, face: Face) -> Iterator[Item]:
    off = MARGIN_MM
    sheet = Box(off, off, layout.stock.width_mm, layout.stock.height_mm)
    yield _rectangle(sheet, HAIR_MM)
    yield _rectangle(sheet.inset(layout.stock.margin_mm), HAIR_MM, (0.3, 1.5))
    for line in face.lines:
        yield _line(line, off)
    yield from _openings(face, off)
    for piece in face.pieces:
        for area in piece.areas:
            if area.kind is AreaKind.DRAFT:
                yield _rectangle(area.box.moved(off, off), HAIR_MM, (1.0, 0.5))
            if area.tab:
                yield _rectangle(area.tab.box.moved(off, off), HAIR_MM)
    yield from _fields(face, off)
    yield from _dimensions(face, sheet)
    yield from _legend(face, sheet)
    yield from _text(
        f"{layout.name}: {layout.title} ({face.id})", Box(off, 2.0, sheet.w_mm, 6.0), 12.0, "bold"
    )


def _openings(face: Face, off: float) -> Iterator[Item]:
    """Orientation keys, and each cavity with a cross at its centre."""
    for key in face.keys:
        yield polygon(tuple((x + off, y + off) for x, y in key.points), ORIGIN)
    for piece in face.pieces:
        for cell in piece.cells:
            if cell.cavity is None:
                continue
            box = cell.cavity.moved(off, off)
            x, y = box.x_mm + box.w_mm / 2, box.y_mm + box.h_mm / 2
            yield _circle(x, y, box.w_mm / 2)
            yield _stroke((x - 1.0, y), (x + 1.0, y), HAIR_MM)
            yield _stroke((x, y - 1.0), (x, y + 1.0), HAIR_MM)


def _fields(face: Face, off: float) -> Iterator[Item]:
    """Boxes and names of the fields of the first piece, its cells' of the first row; below
    them the cavity's diameter."""
    for piece in face.pieces[:1]:
        for area in piece.areas:
            if area.kind is not AreaKind.CELL or area.number <= 2:
                for field in area.fields:
                    box = field.box.moved(off, off)
                    yield _rectangle(box, HAIR_MM, stroke=GREY)
                    yield from _text(field.id, box.inset(0.15), 7.0)
            elif area.cavity and area.number <= 4:
                box = area.cavity.moved(off, off)
                place = Box(box.x_mm, box.y_mm + 1.5, box.w_mm, 2.4)
                yield from _text(f"Ø {box.w_mm:g}", place, 7.0)


def _dimensions(face: Face, sheet: Box) -> Iterator[Item]:
    """Chains of lengths between neighbouring lines, and the sheet's own sides."""
    upright = (line.x1_mm for line in face.lines if line.x1_mm == line.x2_mm)
    level = (line.y1_mm for line in face.lines if line.y1_mm == line.y2_mm)
    for start, end in _spans(upright, sheet.w_mm):
        yield from _across(sheet.x_mm + start, sheet.x_mm + end, sheet.y_mm - 4)
    for start, end in _spans(level, sheet.h_mm):
        yield from _down(sheet.y_mm + start, sheet.y_mm + end, sheet.x_mm - 4)
    yield from _across(sheet.x_mm, sheet.right_mm, sheet.y_mm - 10)
    yield from _down(sheet.y_mm, sheet.bottom_mm, sheet.x_mm - 12)


def _spans(found: Iterable[float], whole: float) -> Iterator[tuple[float, float]]:
    """From line to line, the sheet's edges included; lines on the same place count once."""
    places = sorted({0.0, round(whole, 2), *(round(at, 2) for at in found)})
    return pairwise(places)


def _across(x1: float, x2: float, y: float) -> Iterator[Item]:
    yield _stroke((x1, y), (x2, y), HAIR_MM)
    for x in (x1, x2):
        yield _stroke((x, y - 1.2), (x, y + 1.2), HAIR_MM)
    width = max(x2 - x1 - 0.4, 7.0)
    yield from _text(_length(x2 - x1), Box((x1 + x2 - width) / 2, y - 3.6, width, 3.0), 7.0)


def _down(y1: float, y2: float, x: float) -> Iterator[Item]:
    yield _stroke((x, y1), (x, y2), HAIR_MM)
    for y in (y1, y2):
        yield _stroke((x - 1.2, y), (x + 1.2, y), HAIR_MM)
    yield from _text(_length(y2 - y1), Box(x - 8.4, (y1 + y2) / 2 - 1.5, 8.0, 3.0), 7.0, "end")


def _length(mm: float) -> str:
    return f"{mm:.2f}".rstrip("0").rstrip(".")


def _legend(face: Face, sheet: Box) -> Iterator[Item]:
    """A sample of each kind of line on the face, with its name and how many there are."""
    x, y = sheet.x_mm, sheet.bottom_mm + 8
    for kind in LineKind:
        count = sum(line.kind is kind for line in face.lines)
        if count:
            yield _line(Line(kind, x, y, x + 14, y), 0.0)
            place = Box(x + 16, y - 2.2, 30, 4.0)
            yield from _text(f"{kind.value} ({count})", place, 8.0, "start")
            x += 50


def _scale(x1: float, y1: float, x2: float, y2: float) -> Iterator[Item]:
    """A line of `SCALE_MM` with ends, its length written at its far end."""
    level = y1 == y2
    yield _stroke((x1, y1), (x2, y2), HAIR_MM)
    for x, y in ((x1, y1), (x2, y2)):
        ends = ((x, y - 2), (x, y + 2)) if level else ((x - 2, y), (x + 2, y))
        yield _stroke(*ends, HAIR_MM)
    place = Box(x2 + 1, y2 - 2, 14, 4) if level else Box(x1 + 1, y1 - 8, 14, 4)
    yield from _text(f"{SCALE_MM:g} mm", place, 8.0)


def _line(line: Line, off: float) -> StrokeItem:
    width, dash = STYLES[line.kind]
    start, end = (line.x1_mm + off, line.y1_mm + off), (line.x2_mm + off, line.y2_mm + off)
    return _stroke(start, end, width, dash)


def _stroke(
    start: tuple[float, float],
    end: tuple[float, float],
    width_mm: float,
    dash_mm: tuple[float, ...] = (),
) -> StrokeItem:
    (x1, y1), (x2, y2) = start, end
    box = Box(min(x1, x2), min(y1, y2), abs(x2 - x1), abs(y2 - y1))
    return StrokeItem(box, (("M", start), ("L", end)), width_mm, ORIGIN, dash_mm=dash_mm)


def _rectangle(
    box: Box, width_mm: float, dash_mm: tuple[float, ...] = (), stroke: str = "#000000"
) -> StrokeItem:
    return replace(frame(box, width_mm, ORIGIN), stroke=stroke, dash_mm=dash_mm)


def _circle(x: float, y: float, r: float) -> StrokeItem:
    k = _ROUND * r
    path = (
        ("M", (x - r, y)),
        ("C", (x - r, y - k, x - k, y - r, x, y - r)),
        ("C", (x + k, y - r, x + r, y - k, x + r, y)),
        ("C", (x + r, y + k, x + k, y + r, x, y + r)),
        ("C", (x - k, y + r, x - r, y + k, x - r, y)),
        ("Z", ()),
    )
    return StrokeItem(Box(x - r, y - r, 2 * r, 2 * r), path, 0.2, ORIGIN)


def _text(text: str, box: Box, wanted_pt: float, style: str = "") -> Iterator[TextItem]:
    """One short text in its box, centred unless `style` says otherwise (``start``, ``end``,
    ``bold``); none where it can't fit."""
    if box.w_mm <= 0 or box.h_mm <= 0:
        return
    fitted = fit(
        text,
        LANGUAGE,
        box.w_mm,
        box.h_mm,
        wanted_pt=wanted_pt,
        least_pt=2.5,
        weight="bold" if style == "bold" else "regular",
        align={"start": "start", "end": "end", "bold": "start"}.get(style, "centre"),
        valign="middle",
        verbatim=(text,),
    )
    if not isinstance(fitted, TooBig):
        yield TextItem(box, fitted.lines, ORIGIN)
