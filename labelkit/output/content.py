"""Items to PDF operators: text, codes and strokes, in points from the bottom left.

Decides nothing: places, sizes, colours and glyphs are the page's. Codes are snapped to
whole printer dots, measured from the sheet's top left, where a raster begins.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import zip_longest

import numpy as np

from labelkit.artwork.page import CodeItem, Item, StrokeItem, TextItem
from labelkit.barcodes.model import Symbol
from labelkit.ground.box import Box
from labelkit.ground.units import dots_to_mm, mm_to_pt, pt_to_mm
from labelkit.output.clusters import Cluster, Part
from labelkit.output.embedding import EmbeddedFont
from labelkit.output.reading import Placed, in_reading_order, parts_words
from labelkit.output.writer import number
from labelkit.typeset.fonts import face
from labelkit.typeset.model import FaceKey, GlyphRun, TextLine

_TURNS = {0: (1, 0, 0, 1), 90: (0, -1, 1, 0), 270: (0, 1, -1, 0)}
"""Text matrices for text turned clockwise by so many degrees."""

_MASK_INSET_PT = 0.01
"""A code's mask is drawn so much smaller on each side: PDFium stretches a mask that ends on
a dot's edge over one dot more. Far under half a dot, so no sample changes its dots."""

_LEAST_SHIFT = 0.005
"""1/1000 em below which a pen's difference is floating-point noise."""


@dataclass
class Fonts:
    """The faces used in a file, in the order they are met."""

    by_key: dict[FaceKey, EmbeddedFont] = field(default_factory=dict)

    def of(self, key: FaceKey) -> EmbeddedFont:
        """The embedded font for a face."""
        if key not in self.by_key:
            self.by_key[key] = EmbeddedFont(key, f"F{len(self.by_key)}")
        return self.by_key[key]


class Drawer:
    """Writes the operators of a file's items; a line is encoded once."""

    def __init__(self, fonts: Fonts) -> None:
        self._fonts = fonts
        self._encoded: dict[int, tuple[TextLine, list[tuple[GlyphRun, float, str]]]] = {}

    def items(self, items: tuple[Item, ...], height_mm: float) -> str:
        """The operators of items in their order, on a page of this height."""
        return "\n".join(self.item(item, height_mm) for item in items)

    def item(self, item: Item, height_mm: float) -> str:
        """The operators of one item."""
        if isinstance(item, TextItem):
            return self._text(item, height_mm)
        if isinstance(item, CodeItem):
            return _code(item, height_mm)
        return _stroke(item, height_mm)

    def _text(self, item: TextItem, height_mm: float) -> str:
        said = [colour(item.colour, "fill"), "BT"]
        for line, after in zip_longest(item.lines, item.lines[1:]):
            said += self._line(line, item, height_mm)
            if after is not None and parts_words(line):
                said.append(self._space(line))
        said.append("ET")
        return "\n".join(said)

    def _line(self, line: TextLine, item: TextItem, height_mm: float) -> list[str]:
        matrix = " ".join(map(str, _TURNS[item.turn]))
        said = []
        for run, start_mm, shown in self._shown(line):
            along = line.x_mm + run.x_mm + start_mm
            x_mm, y_mm = turned(item.box, item.turn, along, line.baseline_mm)
            x, y = number(mm_to_pt(x_mm)), number(mm_to_pt(height_mm - y_mm))
            font = self._fonts.of(run.face)
            said.append(f"/{font.name} {number(run.size_pt)} Tf {matrix} {x} {y} Tm")
            said.append(shown)
        return said

    def _space(self, line: TextLine) -> str:
        """The space that the line's end stands for: who reads the content without looking at
        places (a screen reader) needs it."""
        key = line.runs[-1].face
        gid = face(key).hb_font.get_nominal_glyph(ord(" "))
        code = self._fonts.of(key).code(Cluster((Part(gid, 0.0, 0.0),), 0.0, " "))
        return f"<{code.digits}> Tj"

    def _shown(self, line: TextLine) -> list[tuple[GlyphRun, float, str]]:
        """Per run: the run, where its first glyph is from its left end, and what shows it.
        Kept by the line's identity (the line is kept too)."""
        known = self._encoded.get(id(line))
        if known is None:
            shown = []
            for run, placed in zip(line.runs, in_reading_order(line), strict=True):
                start_mm = placed[0].x * pt_to_mm(run.size_pt) / 1000
                shown.append((run, start_mm, _show(placed, self._fonts.of(run.face))))
            known = self._encoded[id(line)] = (line, shown)
        return known[1]


def _show(placed: list[Placed], font: EmbeddedFont) -> str:
    """One TJ array: character ids, with moves where the pen isn't where widths put it."""
    said: list[str] = []
    codes: list[str] = []
    pen = placed[0].x
    for cluster, start in placed:
        code = font.code(cluster)
        x = start + code.shift
        if not -_LEAST_SHIFT < x - pen < _LEAST_SHIFT:
            if codes:
                said.append(f"<{''.join(codes)}>")
                codes = []
            said.append(number(pen - x))
            pen = x
        codes.append(code.digits)
        pen += code.width
    said.append(f"<{''.join(codes)}>")
    return f"[{' '.join(said)}] TJ"


def turned(box: Box, turn: int, x_mm: float, y_mm: float) -> tuple[float, float]:
    """A point of the unturned box, from its top left, on the page after turning.

    Clockwise about the centre; the unturned box of a turned item is as wide as the item's
    box is high.
    """
    if turn == 0:
        return box.x_mm + x_mm, box.y_mm + y_mm
    dx, dy = x_mm - box.h_mm / 2, y_mm - box.w_mm / 2
    centre_x, centre_y = box.x_mm + box.w_mm / 2, box.y_mm + box.h_mm / 2
    if turn == 90:
        return centre_x - dy, centre_y + dx
    return centre_x + dy, centre_y - dx


@lru_cache(maxsize=256)
def colour(said: str, use: str) -> str:
    """The operator that sets a fill or stroke colour; grey where the three are equal, so that
    black is one ink (ISO 32000-1, 8.6.4)."""
    red, green, blue = (int(said[i : i + 2], 16) for i in (1, 3, 5))
    if red == green == blue:
        return f"{number(red / 255)} {'g' if use == 'fill' else 'G'}"
    parts = " ".join(number(part / 255) for part in (red, green, blue))
    return f"{parts} {'rg' if use == 'fill' else 'RG'}"


def snapped(box: Box, symbol: Symbol) -> tuple[float, float, float, float]:
    """Left, top, width and height in mm of the dark modules' rectangle, on whole dots.

    The quiet zone lies between the box and this rectangle; Code 128 has it left and right only.
    """
    dot = dots_to_mm(1, symbol.dpi)
    quiet = symbol.quiet_modules * symbol.x_mm
    above = quiet if len(symbol.rows) > 1 else 0.0
    left = round((box.x_mm + quiet) / dot) * dot
    top = round((box.y_mm + above) / dot) * dot
    width = len(symbol.rows[0]) * symbol.module_dots * dot
    if len(symbol.rows) > 1:
        return left, top, width, len(symbol.rows) * symbol.module_dots * dot
    return left, top, width, round(symbol.height_mm / dot) * dot


def _code(item: CodeItem, height_mm: float) -> str:
    """A 1-bit image mask: one sample per module, dark samples painted black.

    A mask paints a device dot by the sample at its centre, so modules keep their whole dots;
    a filled path paints every dot it touches (ISO 32000-1, 10.6.5).
    """
    rows = item.symbol.rows
    columns = len(rows[0])
    light = 1 - np.frombuffer(b"".join(rows), dtype=np.uint8).reshape(-1, columns)
    packed = np.packbits(light, axis=1)
    packed[:, -1] |= (1 << (-columns % 8)) - 1
    data = packed.tobytes().hex().upper()
    left, top, width, height = (mm_to_pt(length) for length in snapped(item.box, item.symbol))
    bottom = mm_to_pt(height_mm) - top - height
    sides = (number(length - 2 * _MASK_INSET_PT) for length in (width, height))
    corner = (number(edge + _MASK_INSET_PT) for edge in (left, bottom))
    return (
        f"q 0 g {' 0 0 '.join(sides)} {' '.join(corner)} cm\n"
        f"BI /W {columns} /H {len(rows)} /BPC 1 /IM true /F /AHx ID\n{data}>\nEI Q"
    )


def _stroke(item: StrokeItem, height_mm: float) -> str:
    said = ["q"]
    if item.fill:
        said.append(colour(item.fill, "fill"))
    if item.stroke:
        said += [colour(item.stroke, "stroke"), f"{number(mm_to_pt(item.width_mm))} w 1 J 1 j"]
    if item.dash_mm:
        dashes = " ".join(number(mm_to_pt(part)) for part in item.dash_mm)
        said.append(f"0 J [{dashes}] 0 d")
    for verb, values in item.path:
        points = [
            number(mm_to_pt(height_mm - value if i % 2 else value))
            for i, value in enumerate(values)
        ]
        said.append(" ".join([*points, {"M": "m", "L": "l", "C": "c", "Z": "h"}[verb]]))
    said.append(
        {(True, True): "B", (True, False): "f", (False, True): "S"}.get(
            (bool(item.fill), bool(item.stroke)), "n"
        )
    )
    said.append("Q")
    return "\n".join(said)
