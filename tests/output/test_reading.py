"""Copied text of lines that mix directions, by two readers with different habits."""

import re
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from drawn_pages import artwork, by_pdfium, by_poppler, dots, plain, text_item

from labelkit.ground.box import Box
from labelkit.ground.quoting import Span
from labelkit.output import reading
from labelkit.output.pdf import write
from labelkit.output.reading import in_reading_order

BOX = Box(20, 20, 80, 40)
KEPT = (
    "sildenafil 25 mg",
    "25 Nov 2026",
    "(512) 555-0142",
    "TV2611-0001",
    "50 mg",
    "100 mg",
    "محمد علي حسن",
)

MIXED = [
    ("ar", "الجرعة sildenafil 25 mg مرة واحدة"),
    ("ar", "اتصل بالصيدلية: (512) 555-0142"),
    ("ar", "تاريخ: 25 Nov 2026 الدفعة TV2611-0001"),
    ("ar", "أربعة (4) أقراص، 10:30"),
    ("ar", "الجرعة 2 قرص (50 mg)، لا أكثر من 100 mg في 24 ساعة."),
    ("ar", "الجرعة 50 mg. ثم انتظر"),
    ("ar", "Sildenafil Citrate Oral Tablets قرص"),
    ("ar", "خذ 1 قرصا قبل 30 إلى 60 دقيقة!"),
    ("ar", "(512) 555-0142"),
    ("en", "Patient: محمد علي حسن (pack 3)"),
    ("en", "For محمد علي حسن"),
    ("en", "محمد علي حسن"),
    ("es", "¿Preguntas? محمد علي حسن: 555-0142"),
    ("en", "For محمد علي حسن 3 tablets"),
]

NAMES = [
    "محمد علي حسن",
    "Ana María O’Neill",
    "علي بن حسن (فرع)",
    "सीता देवी-शर्मा",
    "王小明 李",
    "김민수 박",
]


def kept(text: str) -> tuple[Span, ...]:
    """Where the text quotes a record."""
    places = ((text.find(one), one) for one in KEPT)
    return tuple(sorted((at, at + len(one)) for at, one in places if at >= 0))


def grown(dark: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """The dots and their neighbours."""
    wide = dark | np.roll(dark, 1, 1) | np.roll(dark, -1, 1)
    return wide | np.roll(wide, 1, 0) | np.roll(wide, -1, 0)


def unspaced(text: str) -> str:
    """Without a space before a closing mark: PDFium adds one where such a mark follows a
    Latin stretch of a right-to-left line, since it finds them far apart in the content."""
    return re.sub(r" ([.,:;!?)،؟])", r"\1", text)


@pytest.mark.parametrize(("language", "text"), MIXED)
def test_mixed_lines_are_copied_in_logical_order(language: str, text: str, tmp_path: Path) -> None:
    """Both readers give names, strengths, dates and telephone numbers in their own order
    inside a line of the other direction."""
    data = write(artwork(text_item(text, BOX, language, quoted=kept(text)), language=language))
    assert unspaced(plain(by_pdfium(data, BOX))) == unspaced(plain(text))
    assert plain(by_poppler(data, BOX, tmp_path)) == plain(text)


@pytest.mark.parametrize(("language", "text"), MIXED)
def test_order_of_writing_changes_no_dot(
    language: str, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page looks the same as when every run is written from left to right: no glyph
    is more than a dot of 300 dpi away (PDFium rounds each glyph's place to a dot)."""
    item = text_item(text, BOX, language, quoted=kept(text))
    fenced = dots(write(artwork(item)), 300)
    monkeypatch.setattr(
        "labelkit.output.content.in_reading_order",
        lambda line: [reading._placed(run) for run in line.runs],
    )
    plainly = dots(write(artwork(item)), 300)
    assert not (fenced & ~grown(plainly)).any()
    assert not (plainly & ~grown(fenced)).any()


NOT_COPIED = {
    ("en", "علي بن حسن (فرع)"): "poppler",  # it knows places only, and a bracket has no side
    ("ar", "सीता देवी-शर्मा"): "pdfium",  # it takes conjuncts of a right-to-left line apart
}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("before", ["Questions? ", "أسئلة؟ "])
def test_names_are_copied_with_their_words_in_order(name: str, before: str, tmp_path: Path) -> None:
    """In an English and an Arabic line both readers give a name of any script as one text, but for
    two that one of them can't."""
    language = "en" if before.isascii() else "ar"
    text = f"{before}{name}: 555-0142"
    quoted = ((len(before), len(before) + len(name)), (len(text) - 8, len(text)))
    data = write(artwork(text_item(text, BOX, language, quoted=quoted), language=language))
    said = {"pdfium": by_pdfium(data, BOX), "poppler": by_poppler(data, BOX, tmp_path)}
    lost = {reader for reader, copied in said.items() if plain(name) not in plain(copied)}
    assert lost == {NOT_COPIED[language, name]} if (language, name) in NOT_COPIED else not lost


def test_one_direction_needs_no_marks() -> None:
    """A line of one direction is written as it stands, without any direction mark."""
    for language, text in (("en", "Peel, do not push"), ("ar", "لا تدفع")):
        for line in text_item(text, BOX, language).lines:
            for run in in_reading_order(line):
                xs = [one.x for one in run]
                assert xs == sorted(xs)
                assert not any(one.cluster.text in ("\u200e", "\u200f") for one in run)
