"""Outlines to a small TrueType font file: the glyphs that one file uses, and no others.

Outlines come from HarfBuzz at the weight they were shaped at, so a variable font needs no
instance; several glyphs of a cluster become one. Only the tables that a CIDFontType2 needs
are written (ISO 32000-1, 9.9). No hinting: labels are printed, not read on coarse screens.
"""

from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib.tables._g_l_y_f import Glyph

from labelkit.output.clusters import Part
from labelkit.typeset.fonts import face
from labelkit.typeset.model import FaceKey

_NEEDED = ("head", "hhea", "maxp", "hmtx", "glyf", "loca")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A glyph of the embedded font: one of the face's, several together, or none (blank)."""

    parts: tuple[Part, ...]
    advance: float
    """1/1000 em."""


@lru_cache(maxsize=20_000)
def _outline(key: FaceKey, drawn: Drawn) -> Glyph:
    known = face(key)
    pen = TTGlyphPen(None)
    for part in drawn.parts:
        moved = TransformPen(pen, (1, 0, 0, 1, part.x / known.scale, part.y / known.scale))
        known.hb_font.draw_glyph_with_pen(part.gid, moved)
    return pen.glyph(dropImpliedOnCurves=True)


def font_file(key: FaceKey, glyphs: tuple[Drawn, ...]) -> bytes:
    """A font with these glyphs as indices 1 and on; 0 is the face's own missing-glyph box.

    Advances are rounded to font units, as in the face's own tables.
    """
    known = face(key)
    wanted = (Drawn((Part(0, 0.0, 0.0),), 500.0), *glyphs)
    names = [".notdef", *(f"g{i}" for i in range(1, len(wanted)))]
    outlines = dict(zip(names, (_outline(key, one) for one in wanted), strict=True))
    builder = FontBuilder(known.hb_face.upem, isTTF=True)
    builder.font.recalcTimestamp = False
    builder.updateHead(created=0, modified=0)
    builder.setupGlyphOrder(names)
    builder.setupGlyf(outlines)
    builder.setupHorizontalMetrics(
        {
            name: (round(one.advance / known.scale), getattr(outlines[name], "xMin", 0))
            for name, one in zip(names, wanted, strict=True)
        }
    )
    builder.setupHorizontalHeader(
        ascent=round(known.bounds[3] / known.scale), descent=round(known.bounds[1] / known.scale)
    )
    made = builder.font
    for table in set(map(str, made.keys())) - {*_NEEDED, "GlyphOrder"}:
        del made[table]
    out = BytesIO()
    made.save(out)
    return out.getvalue()
