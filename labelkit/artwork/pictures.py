"""Drawings as data, placed in a box: SVG files in ``drawings/`` to strokes on a page.

The files hold a small part of SVG 1.1: ``path`` elements in one stroke width, with
``fill="none"`` (the default here), ``"white"`` (hides what lies behind it) or ``"black"``,
and ``use`` elements that set another drawing into a rectangle. There is no text in them, so
each can be mirrored for languages written from right to left. Anything else is refused:
a drawing that can't be drawn exactly isn't drawn at all.
"""

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path

from labelkit.artwork.page import Origin, StrokeItem, Tag
from labelkit.artwork.spots import Spot
from labelkit.geometry.model import Kind
from labelkit.ground import door
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused, Fault

FOLDER = Path(__file__).resolve().parent / "drawings"

LEAST_STROKE_MM = 0.2
"""Two dots and a bit of a 300 dpi printer: thinner lines break up (common practice, no source)."""

MOST_STROKE_MM = 0.5
"""Thicker lines shout louder than the text beside them (common practice, no source)."""

_SVG = "{http://www.w3.org/2000/svg}"
_FILLS = {"none": "", "white": "#ffffff", "black": "#000000"}
_OPERATORS = {"moveTo": "M", "lineTo": "L", "curveTo": "C", "closePath": "Z"}

Segment = tuple[str, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Stroke:
    """One path of a drawing, in the drawing's own units."""

    path: tuple[Segment, ...]
    fill: str
    scale: float = 1.0
    """How much smaller than its own file it is drawn by a ``use``."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing: its size and stroke width in its own units, and its strokes from back to front."""

    name: str
    width: float
    height: float
    stroke_width: float
    strokes: tuple[Stroke, ...]


def names() -> tuple[str, ...]:
    """The names of the shipped drawings."""
    return tuple(path.stem for path in door.listed(FOLDER, "*.svg"))


@lru_cache(maxsize=64)
def drawing(name: str) -> Drawing:
    """The drawing of that name. Raises ArtworkRefused for an unknown name or an unreadable file."""
    if name not in names():
        raise _refused(name, "there is no such drawing", f"name one of: {', '.join(names())}")
    try:
        root = ET.fromstring(door.read_bytes(FOLDER / f"{name}.svg"))
    except ET.ParseError as error:
        raise _refused(name, f"it isn't well-formed XML ({error})", "mend the file") from error
    _, _, width, height = (float(part) for part in root.attrib["viewBox"].split())
    strokes = tuple(stroke for element in root for stroke in _strokes(name, element))
    return Drawing(name, width, height, float(root.attrib["stroke-width"]), strokes)


def _strokes(name: str, element: ET.Element) -> Iterator[Stroke]:
    if element.tag == f"{_SVG}title":
        return
    if element.tag == f"{_SVG}path":
        fill = _FILLS.get(element.attrib.get("fill", "none"))
        if fill is None:
            raise _refused(name, f"a fill of {element.attrib['fill']!r}", "use none, white, black")
        yield Stroke(_segments(name, element.attrib["d"]), fill)
    elif element.tag == f"{_SVG}use":
        yield from _placed(element)
    else:
        raise _refused(name, f"the element {element.tag!r}", "use path, use and title only")


def _placed(element: ET.Element) -> Iterator[Stroke]:
    inner = drawing(element.attrib["href"].removesuffix(".svg"))
    x, y, width, height = (float(element.attrib[key]) for key in ("x", "y", "width", "height"))
    scale = min(width / inner.width, height / inner.height)
    for stroke in inner.strokes:
        path = tuple((op, _moved(points, scale, x, y)) for op, points in stroke.path)
        yield Stroke(path, stroke.fill, stroke.scale * scale)


def _segments(name: str, data: str) -> tuple[Segment, ...]:
    """An SVG path (SVG 1.1, section 8.3) as moves, lines and cubic curves."""
    pen = RecordingPen()
    parse_path(data, pen)
    segments: list[Segment] = []
    for operator, points in pen.value:
        if operator == "endPath":
            continue
        if operator not in _OPERATORS:
            raise _refused(name, f"the path operator {operator}", "use lines, arcs, cubic curves")
        flat = tuple(float(value) for point in points for value in point)
        segments.append((_OPERATORS[operator], flat))
    return tuple(segments)


def _moved(points: tuple[float, ...], scale: float, x: float, y: float) -> tuple[float, ...]:
    return tuple(value * scale + (y if index % 2 else x) for index, value in enumerate(points))


@lru_cache(maxsize=4096)
def placed(
    name: str,
    box: Box,
    origin: Origin,
    *,
    align: str = "centre",
    valign: str = "middle",
    mirrored: bool = False,
    tag: Tag | None = None,
) -> tuple[StrokeItem, ...]:
    """The drawing as large as `box` allows, its proportions kept; `tag` goes on its first stroke.

    `mirrored` flips it left to right inside its own width. Raises ArtworkRefused for an unknown
    drawing, or where the box is so small that its lines would be under `LEAST_STROKE_MM`.
    """
    shape = drawing(name)
    scale = min(box.w_mm / shape.width, box.h_mm / shape.height)
    finest = min(stroke.scale for stroke in shape.strokes) * shape.stroke_width * scale
    if finest < LEAST_STROKE_MM:
        grow = LEAST_STROKE_MM / finest
        raise _refused(
            name,
            f"its lines would be {finest:.2f} mm thin in a box of "
            f"{box.w_mm:.1f} × {box.h_mm:.1f} mm",
            f"give it at least {shape.width * scale * grow:.1f} × "
            f"{shape.height * scale * grow:.1f} mm",
        )
    width_mm, height_mm = shape.width * scale, shape.height * scale
    x_mm = box.x_mm + _slack(box.w_mm - width_mm, align)
    y_mm = box.y_mm + _slack(box.h_mm - height_mm, valign)
    place = Box(x_mm, y_mm, width_mm, height_mm)
    items: list[StrokeItem] = []
    for stroke in shape.strokes:
        path = tuple((op, _moved(points, scale, x_mm, y_mm)) for op, points in stroke.path)
        if mirrored:
            path = tuple((op, _flipped(points, place)) for op, points in path)
        width = min(MOST_STROKE_MM, shape.stroke_width * stroke.scale * scale)
        items.append(
            StrokeItem(place, path, width, origin, fill=stroke.fill, tag=tag if not items else None)
        )
    return tuple(items)


def picture_items(spot: Spot) -> tuple[StrokeItem, ...]:
    """The drawing of a PICTURE field, turned round where what it shows runs the other way:
    a peel from the right edge, or a language written from right to left."""
    field, tab = spot.field, spot.area.tab
    mirrored = tab.edge == "right" if tab is not None else spot.rtl
    align = field.align
    if spot.rtl and tab is None:
        align = {"start": "end", "end": "start"}.get(align, align)
    tag = None
    if spot.layout.kind is Kind.LEAFLET:
        tag = Tag("Figure", alt=spot.reader.say(f"picture.{field.arg}").text)
    return placed(
        field.arg,
        spot.box,
        spot.origin(f"picture:{field.arg}"),
        align=align,
        valign=field.valign,
        mirrored=mirrored,
        tag=tag,
    )


def _slack(room_mm: float, align: str) -> float:
    """How much of the spare room comes before the drawing."""
    return {"start": 0.0, "top": 0.0, "end": room_mm, "bottom": room_mm}.get(align, room_mm / 2)


def _flipped(points: tuple[float, ...], place: Box) -> tuple[float, ...]:
    return tuple(
        value if index % 2 else place.x_mm + place.right_mm - value
        for index, value in enumerate(points)
    )


def _refused(name: str, wrong: str, mend: str) -> ArtworkRefused:
    return ArtworkRefused([Fault(f"drawings/{name}.svg", "", "", wrong, mend)])
