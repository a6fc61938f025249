"""Shaping: clusters with their texts, and no run shaped twice."""

import pytest
import uharfbuzz as hb

from labelkit.typeset import fitting, shaping
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import FaceKey
from labelkit.typeset.shaping import measure, shape

LATIN = FaceKey("sans", "Latn", "regular")
ARABIC = FaceKey("sans", "Arab", "regular")
DEVANAGARI = FaceKey("sans", "Deva", "regular")


@pytest.mark.parametrize(
    ("text", "key", "script", "language", "rtl"),
    [
        ("Office affix", LATIN, "Latn", "en", False),
        ("Nguyễn Thị", LATIN, "Latn", "vi", False),
        ("مُحَمَّد", ARABIC, "Arab", "ar", True),
        ("क्षत्रिय कि", DEVANAGARI, "Deva", "hi", False),
    ],
)
def test_clusters_hold_every_character_once(
    text: str, key: FaceKey, script: str, language: str, rtl: bool
) -> None:
    """The glyphs' texts, in reading order, are the text; measuring and shaping agree."""
    found = shape(text, key, script, language, rtl)
    said = [glyph.text for glyph in found.glyphs]
    assert "".join(reversed(said) if rtl else said) == text
    assert sum(measure(text, key, script, language, rtl).each) == pytest.approx(found.advance)


def test_a_lid_of_twenty_cells_shapes_each_run_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty cells with the same five lines, set at several sizes, call HarfBuzz five times."""
    shaped: list[str] = []
    real = hb.shape

    def counted(font: hb.Font, buffer: hb.Buffer) -> None:
        shaped.append("")
        real(font, buffer)

    monkeypatch.setattr(shaping.hb, "shape", counted)
    for cache in (fitting._fitted, fitting._setter, shape, measure, shaping._buffer):
        cache.cache_clear()
    lines = ("Sildenafil", "25 mg", "Lot TV2611", "Use by 25 Nov 2026", "Peel here")
    for _ in range(20):
        for line in lines:
            for wanted in (9.0, 10.0):
                fit(line, "en", 40, 8, wanted_pt=wanted, least_pt=6)
    assert len(shaped) == len(lines)
