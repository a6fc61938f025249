"""Right-to-left, Indic and East Asian text: found where it reads right, told where it doesn't.

Shaped here with Unicode's own presentation forms and python-bidi, drawn glyph by glyph.
"""

import unicodedata
from functools import cache
from importlib.resources import files

import pytest
from bidi.algorithm import get_display
from checked_sheets import PT, Place, Sheet, Words, good_page, manifest, text
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from labelkit.checks.model import FindingKind as K
from labelkit.checks.reading_back import check
from labelkit.manifest.model import Manifest

for name, package, file in (
    ("Arabic", "fontpkg_noto_sans_arabic", "NotoSansArabic[wdth,wght].ttf"),
    ("Devanagari", "fontpkg_noto_sans_devanagari", "NotoSansDevanagari[wdth,wght].ttf"),
):
    pdfmetrics.registerFont(TTFont(name, str(files(package) / "files" / file)))

PLACE = Place(x_mm=20.0, y_mm=20.0, w_mm=150.0, h_mm=40.0)
SAID = "استعمل القرص 50 مغ قبل 24 مايو 2027 فقط"


@cache
def forms(letter: str) -> dict[str, str]:
    """A letter's presentation forms by Unicode's decomposition tag, such as ``<initial>``."""
    found = {}
    for point in range(0xFE70, 0xFEFD):
        tag, *letters = unicodedata.decomposition(chr(point)).split() or [""]
        if [int(v, 16) for v in letters] == [ord(letter)]:
            found[tag] = chr(point)
    return found


def shaped(said: str) -> str:
    """The text in presentation forms, still in logical order."""
    out = []
    for at, letter in enumerate(said):
        own = forms(letter)
        before = at > 0 and "<initial>" in forms(said[at - 1])
        after = "<initial>" in own and at + 1 < len(said) and bool(forms(said[at + 1]))
        tag = {(True, True): "<medial>", (True, False): "<final>", (False, True): "<initial>"}
        out.append(own.get(tag.get((before, after), "<isolated>"), letter))
    return "".join(out)


def wanted(said: str, **change: object) -> Manifest:
    """A manifest that asks for one text and nothing else."""
    page = good_page().model_copy(
        update={
            "texts": (text("note", said, PLACE, "x"),),
            "values": (),
            "codes": (),
            "empty": (),
            "draft_marks": (),
        }
    )
    return manifest(page, **change)


def kinds(sheet: Sheet, said: str) -> set[K]:
    """Kinds of findings for one text."""
    return {f.kind for f in check(sheet.pdf(), wanted(said), read_in=2026).findings}


def arabic(drawn: str) -> Sheet:
    """A line of Arabic drawn from left to right as given."""
    return Sheet(words=[Words(drawn, 25, 40, 14, font="Arabic")])


def glyph_by_glyph(drawn: str) -> Sheet:
    """The same with each glyph an object of its own, in no useful order."""
    sheet, x = Sheet(), 25.0
    for glyph in drawn:
        if not glyph.isspace():
            sheet.words.append(Words(glyph, x, 40, 14, font="Arabic"))
        x += pdfmetrics.stringWidth(glyph, "Arabic", 14) / PT
    sheet.words = sheet.words[::3] + sheet.words[1::3] + sheet.words[2::3]
    return sheet


def test_arabic_set_right_is_found() -> None:
    """Shaped and in visual order, in one object or in many, the text is found."""
    visual = get_display(shaped(SAID), base_dir="R")
    assert kinds(arabic(visual), SAID) == set()
    assert kinds(glyph_by_glyph(visual), SAID) == set()


def test_arabic_in_logical_order_is_told() -> None:
    """Letters drawn from left to right in logical order read backwards."""
    assert kinds(arabic(shaped(SAID)), SAID) == {K.TEXT_MISSING}


def test_arabic_without_joins_is_told() -> None:
    """The right order with isolated letters is found, and told as unjoined."""
    assert kinds(arabic(get_display(SAID, base_dir="R")), SAID) == {K.TEXT_UNJOINED}


@pytest.mark.parametrize(
    "other", ["استعمل القرص 05 مغ قبل 24 مايو 2027 فقط", SAID[:-1], SAID.replace("50", "5")]
)
def test_another_arabic_text_is_never_taken_for_it(other: str) -> None:
    """Digits turned round, a letter less, a digit less: missing."""
    assert K.TEXT_MISSING in kinds(arabic(get_display(shaped(other), base_dir="R")), SAID)


def test_devanagari_without_shaping_is_told() -> None:
    """A vowel sign after the consonant it is written before is told."""
    sheet = Sheet(words=[Words("गोली सिर्फ एक", 25, 40, 14, font="Devanagari")])
    assert K.TEXT_UNJOINED in kinds(sheet, "गोली सिर्फ एक")
