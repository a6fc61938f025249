"""Faces of a workspace's own: used last, for their scripts, and only what may be embedded.

Tried with Heebo (SIL Open Font License 1.1), a face of Hebrew, which no face of labelkit has.
"""

from collections.abc import Callable
from importlib import resources
from io import BytesIO
from pathlib import Path

import pytest
from drawn_text import ink_mm, pdf_of, pixels
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.ttLib import TTFont

from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused
from labelkit.ground.quoting import whole
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import Fitted
from labelkit.typeset.own_faces import OWN, OwnFace, keep, shelved

HEEBO = Path(str(resources.files("fontpkg_heebo"))) / "files/Heebo[wght].ttf"
NAME = "דנה לוי-כהן (סניף 2)"


def set_in_a_line(text: str, language: str = "en") -> Fitted:
    found = fit(text, language, 100, 20, wanted_pt=12, least_pt=12, quoted=whole(text))
    assert isinstance(found, Fitted)
    return found


def with_usage(bits: int) -> bytes:
    """Heebo with other embedding permissions."""
    font, out = TTFont(HEEBO), BytesIO()
    font["OS/2"].fsType = bits
    font.save(out)
    return out.getvalue()


def with_cff() -> bytes:
    """A font of one empty letter, with PostScript outlines."""
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", "alef"])
    builder.setupCharacterMap({0x5D0: "alef"})
    glyph = T2CharStringPen(500, None).getCharString()
    builder.setupCFF("Test", {}, {".notdef": glyph, "alef": glyph}, {})
    builder.setupHorizontalMetrics({".notdef": (500, 0), "alef": (500, 0)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupOS2()
    builder.setupPost()
    out = BytesIO()
    builder.save(out)
    return out.getvalue()


def test_without_a_font_the_refusal_says_how_to_add_one() -> None:
    """The character, its script and the way to add a font are named."""
    with pytest.raises(ArtworkRefused) as refused:
        set_in_a_line("Dana דנה")
    (fault,) = refused.value.faults
    assert "U+05D3 HEBREW LETTER DALET" in fault.wrong
    assert "its script is Hebr" in fault.wrong
    assert "fonts.toml" in fault.mend
    assert "glyf" in fault.mend


def test_a_font_serves_its_scripts_and_no_other() -> None:
    """With Heebo on the shelf a Hebrew name is set from right to left and drawn; digits, Latin and
    Arabic letters stay in labelkit's own faces; off the shelf it is refused again."""
    digest = keep(HEEBO.read_bytes())
    with shelved((OwnFace(digest, ("Hebr",)),)):
        found = set_in_a_line(NAME)
        mixed = fit("Dana 12 علي דנה", "en", 100, 20, wanted_pt=12, least_pt=12)
    (line,) = found.lines
    assert line.runs[0].rtl
    assert {run.face.script for run in line.runs if run.face.family == OWN} == {digest}
    assert isinstance(mixed, Fitted)
    for run in mixed.lines[0].runs:
        assert (run.face.family == OWN) == ("ד" in run.text)
    left, _, right, _ = ink_mm(pixels(pdf_of(found, Box(5, 5, 100, 20))))
    assert right - left == pytest.approx(found.width_mm, abs=0.6)
    with pytest.raises(ArtworkRefused):
        set_in_a_line(NAME)


@pytest.mark.parametrize("bits", [0, 4, 8])
def test_fonts_that_may_be_embedded_are_kept(bits: int) -> None:
    """Installable, preview and print, editable (OpenType 1.9, OS/2, fsType)."""
    assert keep(with_usage(bits))


@pytest.mark.parametrize(
    ("data", "wrong"),
    [
        (lambda: with_usage(2), "restricts the licence"),
        (lambda: with_usage(0x0100), "may not be embedded in part"),
        (lambda: with_usage(0x0200), "may not be embedded in part"),
        (with_cff, "no TrueType outlines"),
        (lambda: b"no font at all", "isn't an OpenType font"),
        (lambda: HEEBO.read_bytes()[:3000], "isn't an OpenType font"),
    ],
)
def test_other_fonts_are_refused(data: Callable[[], bytes], wrong: str) -> None:
    """A restricted licence, no subsets, bitmaps alone, other outlines, no font: each is told."""
    with pytest.raises(ValueError, match=wrong):
        keep(data())
