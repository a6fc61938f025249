"""Shapes and their order against Pango (by WeasyPrint), in pixels.

The same font files, the same rasteriser (PDFium), 18 pt at 300 dpi. The figure is the share
of ink that has no ink of the other picture within one dot; negatives set the threshold: a
right text is at least ten times closer than the nearest wrong one.
"""

from importlib import resources

import numpy as np
import pytest
from drawn_text import PAGE, Pixels, pdf_of, pixels
from needed import need

from labelkit.ground.box import Box
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import Fitted

try:
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration
except OSError:  # it loads Pango when it is imported
    need(["libpango-1.0-0", "libpangoft2-1.0-0"])

DPI = 300
SIZE_PT = 18
BOX = Box(5, 5, 110, 20)
MOST = 0.005
"""Most of stray ink in a right text; the nearest negative below has ten times as much."""

FACES = {
    "Latn": ("fontpkg_ibm_plex_sans", "files/IBMPlexSans[wdth,wght].ttf"),
    "Arab": ("fontpkg_noto_sans_arabic", "files/NotoSansArabic[wdth,wght].ttf"),
    "Deva": ("fontpkg_noto_sans_devanagari", "files/NotoSansDevanagari[wdth,wght].ttf"),
    "Hans": ("justmytype_intl_cjk", "fonts/ofl/notosanssc/NotoSansSC[wght].ttf"),
    "Kore": ("justmytype_intl_cjk", "fonts/ofl/notosanskr/NotoSansKR[wght].ttf"),
}

TEXTS = [
    ("en", "Latn", "Peel, don’t push AVATAR fi"),
    ("es", "Latn", "¿Señor Núñez? Debajo de"),
    ("fr", "Latn", "Œuvre naïve : où ça ?"),
    ("pt-BR", "Latn", "Não mastigue o coração"),
    ("de", "Latn", "Größe für Jörg Weiß"),
    ("pl", "Latn", "Żółć źdźbło łąka pod"),
    ("ru", "Latn", "Положите под язык"),
    ("vi", "Latn", "Đặt viên dưới lưỡi ấn"),
    ("ar", "Arab", "ضع قرصا واحدا تحت اللسان"),
    ("ar", "Arab", "مُحَمَّد لَا تَبْلَعْ"),
    ("hi", "Deva", "क्षत्रिय विद्यार्थी प्रार्थना कि हिंदी"),
    ("zh-Hans", "Hans", "将药片放在舌下，直至溶解。"),
    ("ko", "Kore", "알약을 혀 밑에 놓으십시오"),
]


def by_pango(text: str, language: str, script: str) -> Pixels:
    package, path = FACES[script]
    url = (resources.files(package) / path).as_uri()
    fonts = FontConfiguration()
    style = (
        f"@font-face {{ font-family: f; src: url('{url}') }}"
        f"@page {{ size: {PAGE[0]}mm {PAGE[1]}mm; margin: 0 }}"
        f"p {{ position: absolute; left: {BOX.x_mm}mm; top: {BOX.y_mm}mm; margin: 0;"
        f" width: {BOX.w_mm}mm; font: {SIZE_PT}pt f; text-align: left }}"
    )
    side = "rtl" if language == "ar" else "ltr"
    page = HTML(string=f'<html lang="{language}"><p dir="{side}">{text}</p></html>')
    css = CSS(string=style, font_config=fonts)
    return cropped(pixels(page.write_pdf(stylesheets=[css], font_config=fonts), DPI))


def by_us(text: str, language: str) -> Pixels:
    found = fit(text, language, BOX.w_mm, BOX.h_mm, wanted_pt=SIZE_PT, least_pt=SIZE_PT)
    assert isinstance(found, Fitted)
    assert len(found.lines) == 1
    return cropped(pixels(pdf_of(found, BOX, language), DPI))


def cropped(dark: Pixels) -> Pixels:
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    return dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def stray(one: Pixels, other: Pixels) -> float:
    """Ink of either picture farther than a dot from the other's, as a share of all ink."""
    shape = tuple(max(a, b) + 2 for a, b in zip(one.shape, other.shape, strict=True))
    first, second = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool)
    first[1 : one.shape[0] + 1, 1 : one.shape[1] + 1] = one
    second[1 : other.shape[0] + 1, 1 : other.shape[1] + 1] = other
    lone = (first & ~grown(second)) | (second & ~grown(first))
    return float(lone.sum() / (first | second).sum())


def grown(dark: Pixels) -> Pixels:
    wide = dark | np.roll(dark, 1, 1) | np.roll(dark, -1, 1)
    return wide | np.roll(wide, 1, 0) | np.roll(wide, -1, 0)


@pytest.mark.parametrize(("language", "script", "text"), TEXTS)
def test_shapes_and_order_are_pangos(language: str, script: str, text: str) -> None:
    """A text of each language looks as Pango sets it, and unlike the same text with its
    first two words changed about or its characters reversed."""
    wanted = by_pango(text, language, script)
    assert stray(wanted, by_us(text, language)) < MOST
    assert stray(wanted, by_us(text[::-1], language)) > 10 * MOST
    words = text.split(" ")
    if len(words) > 1:
        swapped = " ".join([words[1], words[0], *words[2:]])
        assert stray(wanted, by_us(swapped, language)) > 10 * MOST


NEGATIVES = [
    (
        "ar",
        "Arab",
        "ضع قرصا واحدا تحت اللسان",
        "unjoined",
        "\u200c".join("ضع قرصا واحدا تحت اللسان"),
    ),
    ("ar", "Arab", "ضع قرصا واحدا تحت اللسان", "one join lost", "ض\u200cع قرصا واحدا تحت اللسان"),
    ("ar", "Arab", "مُحَمَّد", "one join lost", "مُ\u200cحَمَّد"),
    ("hi", "Deva", "क्षत्रिय विद्यार्थी", "no conjuncts", "क्\u200cषत्\u200cरिय विद्\u200cयार्\u200cथी"),
    ("hi", "Deva", "क्षत्रिय विद्यार्थी", "one conjunct lost", "क्षत्रिय विद्\u200cयार्थी"),
    ("vi", "Latn", "Đặt viên dưới lưỡi", "marks lost", "Dat vien duoi luoi"),
]


@pytest.mark.parametrize(("language", "script", "text", "what", "wrong"), NEGATIVES)
def test_the_comparison_sees_what_is_wrong(
    language: str, script: str, text: str, what: str, wrong: str
) -> None:
    """Unjoined letters, one join or conjunct lost, marks lost: each is far over the threshold."""
    wanted = by_pango(text, language, script)
    assert stray(wanted, by_us(text, language)) < MOST, what
    assert stray(wanted, by_us(wrong, language)) > 10 * MOST, what
