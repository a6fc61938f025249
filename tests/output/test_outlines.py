"""The embedded font files, opened by fontTools and compared with the faces they came from."""

from io import BytesIO

import pytest
from fontTools.pens.recordingPen import DecomposingRecordingPen, RecordingPen
from fontTools.subset import Subsetter
from fontTools.ttLib import TTFont
from fontTools.ttLib.sfnt import calcChecksum
from fontTools.varLib import instancer

from labelkit.output.clusters import Part
from labelkit.output.outlines import Drawn, font_file
from labelkit.typeset.fonts import face
from labelkit.typeset.model import FaceKey

LATIN = FaceKey("sans", "Latn", "bold")


def plain(key: FaceKey, character: str) -> Drawn:
    known = face(key)
    gid = known.hb_font.get_nominal_glyph(ord(character))
    return Drawn((Part(gid, 0.0, 0.0),), known.hb_font.get_glyph_h_advance(gid) * known.scale)


def opened(key: FaceKey, *drawn: Drawn) -> TTFont:
    return TTFont(BytesIO(font_file(key, drawn)), checkChecksums=2, lazy=False)


def test_tables_are_sound() -> None:
    """fontTools reads every table, checksums hold, and the header's sums up the file."""
    data = font_file(LATIN, [plain(LATIN, one) for one in "Peel 25 mg"])
    font = TTFont(BytesIO(data), checkChecksums=2, lazy=False)
    assert set(font.keys()) == {"GlyphOrder", "glyf", "head", "hhea", "hmtx", "loca", "maxp"}
    assert font["maxp"].numGlyphs == 11
    assert font["head"].unitsPerEm == 1000
    start = data.index(b"head") + 8
    place = int.from_bytes(data[start : start + 4], "big")
    assert data[place + 20 : place + 36] == bytes(16)  # no date
    assert calcChecksum(data) == 0xB1B0AFBA
    again = BytesIO()
    font.save(again)
    assert again.getvalue()


def test_outlines_are_the_bold_instance() -> None:
    """Points of a variable face at weight 700 are those of the instance fontTools makes, to a
    unit of rounding."""
    source = TTFont(BytesIO(face(LATIN)._data))
    few = Subsetter()
    few.populate(text="aB5é")
    few.subset(source)  # an instance of every glyph takes seconds
    wanted = instancer.instantiateVariableFont(source, {"wght": 700, "wdth": 100})
    names, cmap = wanted.getGlyphSet(), wanted.getBestCmap()
    font = opened(LATIN, *(plain(LATIN, one) for one in "aB5é"))
    drawn = font.getGlyphSet()
    for number, character in enumerate("aB5é", start=1):
        ours, theirs = RecordingPen(), DecomposingRecordingPen(names)
        drawn[font.getGlyphOrder()[number]].draw(ours)
        names[cmap[ord(character)]].draw(theirs)
        mine = sorted({point for _, points in ours.value for point in points if point})
        bounds = [f(axis) for axis in zip(*mine, strict=True) for f in (min, max)]
        other = [point for _, points in theirs.value for point in points if point]
        limits = [f(axis) for axis in zip(*other, strict=True) for f in (min, max)]
        assert bounds == pytest.approx(limits, abs=1)
        width = wanted["hmtx"][cmap[ord(character)]][0]
        assert font["hmtx"][font.getGlyphOrder()[number]][0] == pytest.approx(width, abs=1)


def test_a_cluster_is_one_glyph() -> None:
    """Two glyphs drawn together have both outlines, the second one moved."""
    base = plain(LATIN, "o").parts[0]
    pair = Drawn((base, Part(base.gid, 700.0, 100.0)), 1300.0)
    font = opened(LATIN, Drawn((base,), 600.0), pair)
    one, two = (font["glyf"][name] for name in font.getGlyphOrder()[1:])
    assert two.numberOfContours == 2 * one.numberOfContours
    assert (two.xMax, two.yMax) == (one.xMax + 700, one.yMax + 100)


def test_a_mark_is_blank() -> None:
    """A glyph of no parts has no outline and no width."""
    font = opened(LATIN, Drawn((), 0.0))
    assert font["glyf"][font.getGlyphOrder()[1]].numberOfContours == 0
    assert font["hmtx"][font.getGlyphOrder()[1]] == (0, 0)
