"""Outlines to a small TrueType font file: the glyphs that one file uses, and no others.

Outlines come from HarfBuzz at the weight they were shaped at, so a variable font needs no
instance; several glyphs of a cluster become one. A glyph is compiled once (fontTools) and kept;
a file's font is put together from them. Only the tables that a CIDFontType2 needs are
written (ISO 32000-1, 9.9). No hinting: labels are printed, not read on coarse screens.
"""

import struct
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen

from labelkit.output.clusters import Part
from labelkit.typeset.fonts import face
from labelkit.typeset.model import FaceKey

_MAGIC = 0x5F0F3CF5
_CHECKSUM = 0xB1B0AFBA
"""Of a whole font file, and `head`'s magic number (OpenType 1.9, head)."""


class Drawn(NamedTuple):
    """A glyph of the embedded font: one of the face's, several together, or none (blank)."""

    parts: tuple[Part, ...]
    advance: float
    """1/1000 em."""


@dataclass(frozen=True, slots=True)
class _Compiled:
    """A glyph's entry in `glyf`, padded to four bytes, and what other tables say of it."""

    data: bytes
    bounds: tuple[int, int, int, int]
    points: int
    contours: int
    advance: int


@lru_cache(maxsize=20_000)
def _compiled(key: FaceKey, drawn: Drawn) -> _Compiled:
    known = face(key)
    pen = TTGlyphPen(None)
    for part in drawn.parts:
        moved = TransformPen(pen, (1, 0, 0, 1, part.x / known.scale, part.y / known.scale))
        known.hb_font.draw_glyph_with_pen(part.gid, moved)
    glyph = pen.glyph()
    advance = round(drawn.advance / known.scale)
    if not glyph.numberOfContours:
        return _Compiled(b"", (0, 0, 0, 0), 0, 0, advance)
    glyph.recalcBounds(None)
    data = bytes(glyph.compile(None, recalcBBoxes=False))
    bounds = (glyph.xMin, glyph.yMin, glyph.xMax, glyph.yMax)
    padded = data + b"\0" * (-len(data) % 4)
    return _Compiled(padded, bounds, len(glyph.coordinates), glyph.numberOfContours, advance)


def font_file(key: FaceKey, glyphs: Iterable[Drawn]) -> bytes:
    """A font with these glyphs as indices 1 and on; 0 is the face's own missing-glyph box.

    Advances are rounded to font units, as in the face's own tables.
    """
    missing = Drawn((Part(0, 0.0, 0.0),), 500.0)
    made = [_compiled(key, one) for one in (missing, *glyphs)]
    inked = [one.bounds for one in made if one.contours]
    box = (
        min((one[0] for one in inked), default=0),
        min((one[1] for one in inked), default=0),
        max((one[2] for one in inked), default=0),
        max((one[3] for one in inked), default=0),
    )
    places = (0, *accumulate(len(one.data) for one in made))
    return _assembled(
        {
            b"glyf": b"".join(one.data for one in made),
            b"head": _head(face(key).hb_face.upem, box),
            b"hhea": _hhea(made, box),
            b"hmtx": b"".join(struct.pack(">Hh", one.advance, one.bounds[0]) for one in made),
            b"loca": struct.pack(f">{len(places)}I", *places),
            b"maxp": _maxp(made),
        }
    )


def _head(units: int, box: tuple[int, int, int, int]) -> bytes:
    """Font header, without dates; long offsets in `loca`."""
    return struct.pack(
        ">HHIIIHHqqhhhhHHhhh",
        *(1, 0, 0x10000, 0, _MAGIC, 0b1011, units, 0, 0, *box, 0, 8, 2, 1, 0),
    )


def _hhea(made: list[_Compiled], box: tuple[int, int, int, int]) -> bytes:
    """Horizontal header."""
    widest = max(one.advance for one in made)
    return struct.pack(
        ">HHhhhHhhhhhhhhhhhH",
        *(1, 0, box[3], box[1], 0, widest, box[0], 0, box[2]),
        *(1, 0, 0, 0, 0, 0, 0, 0, len(made)),
    )


def _maxp(made: list[_Compiled]) -> bytes:
    """Maximum profile; no composite glyphs, no instructions."""
    points, contours = max(one.points for one in made), max(one.contours for one in made)
    return struct.pack(
        ">IHHHHHHHHHHHHHH", 0x10000, len(made), points, contours, 0, 0, 2, *([0] * 8)
    )


def _sum(data: bytes) -> int:
    """Checksum of a table (OpenType 1.9, 'Calculating Checksums')."""
    padded = data + b"\0" * (-len(data) % 4)
    words: tuple[int, ...] = struct.unpack(f">{len(padded) // 4}I", padded)
    return sum(words) & 0xFFFFFFFF


def _assembled(tables: dict[bytes, bytes]) -> bytes:
    """The tables as one file (OpenType 1.9, 'Organization of an OpenType Font')."""
    count = len(tables)
    power = count.bit_length() - 1
    head = struct.pack(">IHHHH", 0x10000, count, 16 << power, power, count * 16 - (16 << power))
    place = len(head) + 16 * count
    directory, body = b"", b""
    for tag, data in sorted(tables.items()):
        directory += struct.pack(">4sIII", tag, _sum(data), place + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    whole = head + directory + body
    adjust = (_CHECKSUM - _sum(whole)) & 0xFFFFFFFF
    start = place + whole[place:].index(tables[b"head"]) + 8
    return whole[:start] + struct.pack(">I", adjust) + whole[start + 4 :]
