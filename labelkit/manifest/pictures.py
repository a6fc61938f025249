"""What each drawing must look like: its ink on a coarse grid, from the drawing's own file.

Reads the shipped drawings (SVG 1.1: paths of one stroke width, filled with nothing, white or
black, and ``use``) and paints them by itself, so that what the artwork drew is compared with
what the file says. Pictures that flow with a document's text aren't stated: their place is not
known before the text is set.
"""

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from PIL import Image, ImageDraw

from labelkit.geometry.model import Area, Face, Field, Kind, Layout, Piece, What
from labelkit.ground import door
from labelkit.ground.box import Box
from labelkit.manifest.loads import PieceLoad, SheetLoad
from labelkit.manifest.model import RequiredPicture, place
from labelkit.manifest.paper import kept_keys

FOLDER = Path(__file__).resolve().parents[1] / "artwork" / "drawings"

GRID = 12
"""Squares along the shorter side of a drawing; along the longer one, as many as are square."""

MOST = 60
"""Most squares along a side."""

FINE = 24
"""Pixels along each square's side when a drawing is painted."""

MOST_STROKE_MM = 0.5
"""Lines are never drawn thicker (as the artwork's rule has it, and pads of a pen draw)."""

CURVE_STEPS = 16

_SVG = "{http://www.w3.org/2000/svg}"

Points = tuple[tuple[float, float], ...]
Line = tuple[Points, str, float]
"""Points in the drawing's units, what fills them, and how much smaller than its file it is."""


class Pictures:
    """The pictures of pages, each painted once."""

    def __init__(self) -> None:
        self._known: dict[tuple[object, ...], RequiredPicture] = {}

    def of(self, layout: Layout, face: Face, sheet: SheetLoad) -> Iterator[RequiredPicture]:
        """Orientation keys, and the picture fields of all pieces that carry something."""
        for key, box in kept_keys(face, sheet):
            known = (face.id, key.points)
            if known not in self._known:
                self._known[known] = _key(key.points, box)
            yield self._known[known]
        for piece in face.pieces:
            load = sheet.of(piece.id, piece.card)
            if load is None:
                continue
            used = {cell.number for cell in load.cells if cell.used}
            for area in piece.areas:
                if area.number and load.cells and area in piece.cells and area.number not in used:
                    continue
                for field in area.fields:
                    if field.what is What.PICTURE and load.prints(field):
                        yield self._picture(layout, piece, area, field, load)

    def _picture(
        self, layout: Layout, piece: Piece, area: Area, field: Field, load: PieceLoad
    ) -> RequiredPicture:
        rtl = _reader_rtl(layout, field, load)
        key = (id(field), id(area), rtl)
        if key not in self._known:
            mirrored = area.tab.edge == "right" if area.tab is not None else rtl
            align = field.align
            if rtl and area.tab is None:
                align = {"start": "end", "end": "start"}.get(align, align)
            self._known[key] = _painted(field, align, mirrored)
        return self._known[key]


def _reader_rtl(layout: Layout, field: Field, load: PieceLoad) -> bool:
    """Whether who reads the piece reads from right to left."""
    if layout.kind in (Kind.SLEEVE, Kind.LEAFLET) or field.language != "pharmacy":
        return load.patient.rtl
    return load.pharmacy.rtl


def _key(points: Points, box: Box) -> RequiredPicture:
    moved = tuple((x - box.x_mm, y - box.y_mm) for x, y in points)
    ink = _ink(((moved, "black", 0.0),), box.w_mm, box.h_mm, 0.0)
    return RequiredPicture(name="orientation-key", within=place(box), ink=ink)


def _painted(field: Field, align: str, mirrored: bool) -> RequiredPicture:
    width, height, stroke, lines = _drawing(field.arg)
    box = field.box
    scale = min(box.w_mm / width, box.h_mm / height)
    w_mm, h_mm = width * scale, height * scale
    x_mm = box.x_mm + _before(box.w_mm - w_mm, align)
    y_mm = box.y_mm + _before(box.h_mm - h_mm, field.valign)
    if mirrored:
        lines = tuple((tuple((width - x, y) for x, y in p), fill, s) for p, fill, s in lines)
    widest = MOST_STROKE_MM / scale
    within = place(Box(x_mm, y_mm, w_mm, h_mm))
    return RequiredPicture(
        name=field.arg, within=within, ink=_ink(lines, width, height, stroke, widest)
    )


def _before(spare_mm: float, align: str) -> float:
    return {"start": 0.0, "top": 0.0, "end": spare_mm, "bottom": spare_mm}.get(align, spare_mm / 2)


def _ink(
    lines: tuple[Line, ...], width: float, height: float, stroke: float, widest: float = 0.0
) -> tuple[str, ...]:
    """The tenths of ink of each square of the grid."""
    square = min(width, height) / GRID
    columns, rows = min(round(width / square), MOST), min(round(height / square), MOST)
    across, down = columns * FINE / width, rows * FINE / height
    canvas = Image.new("L", (columns * FINE, rows * FINE), 0)
    pen = ImageDraw.Draw(canvas)
    for points, fill, scale in lines:
        at = [(x * across, y * down) for x, y in points]
        if fill:
            pen.polygon(at, fill=255 if fill == "black" else 0)
        if scale:
            thick = min(stroke * scale, widest) * (across + down) / 2
            pen.line(at, fill=255, width=max(1, round(thick)))
            for x, y in at:
                half = thick / 2
                pen.ellipse((x - half, y - half, x + half, y + half), fill=255)
    small = canvas.resize((columns, rows), Image.Resampling.BOX)
    shades = small.tobytes()
    return tuple(
        "".join(
            str(min(9, shades[row * columns + column] * 10 // 256)) for column in range(columns)
        )
        for row in range(rows)
    )


@cache
def _drawing(name: str) -> tuple[float, float, float, tuple[Line, ...]]:
    """Width, height, stroke width and lines of a drawing, in its own units."""
    root = ET.fromstring(door.read_bytes(FOLDER / f"{name}.svg"))
    _, _, width, height = (float(part) for part in root.attrib["viewBox"].split())
    lines = tuple(line for element in root for line in _lines(element))
    return width, height, float(root.attrib["stroke-width"]), lines


def _lines(element: ET.Element) -> Iterator[Line]:
    if element.tag == f"{_SVG}path":
        fill = element.attrib.get("fill", "none").replace("none", "")
        for points in _flattened(element.attrib["d"]):
            yield points, fill, 1.0
    elif element.tag == f"{_SVG}use":
        width, height, _, lines = _drawing(element.attrib["href"].removesuffix(".svg"))
        x, y, w, h = (float(element.attrib[key]) for key in ("x", "y", "width", "height"))
        scale = min(w / width, h / height)
        for points, fill, smaller in lines:
            yield (
                tuple((x + px * scale, y + py * scale) for px, py in points),
                fill,
                smaller * scale,
            )


def _flattened(data: str) -> Iterator[Points]:
    """The parts of a path as points, curves as short straight lines."""
    pen = RecordingPen()
    parse_path(data, pen)
    points: list[tuple[float, float]] = []
    for operator, operands in pen.value:
        if operator == "moveTo":
            if points:
                yield tuple(points)
            points = [operands[0]]
        elif operator == "lineTo":
            points.append(operands[0])
        elif operator == "curveTo":
            points += _curve(points[-1], *operands)
        elif operator == "closePath":
            points.append(points[0])
    if points:
        yield tuple(points)


def _curve(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> Iterator[tuple[float, float]]:
    """Points of a cubic curve after its first."""
    for step in range(1, CURVE_STEPS + 1):
        t = step / CURVE_STEPS
        u = 1 - t
        yield (
            u**3 * a[0] + 3 * u * u * t * b[0] + 3 * u * t * t * c[0] + t**3 * d[0],
            u**3 * a[1] + 3 * u * u * t * b[1] + 3 * u * t * t * c[1] + t**3 * d[1],
        )
