"""Direction: what keeps its own order inside a line of the other direction, in which face."""

import pytest

from labelkit.ground.quoting import Span
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import Fitted, GlyphRun
from labelkit.typeset.paragraph import is_rtl


def runs(text: str, language: str, quoted: tuple[Span, ...] = ()) -> tuple[GlyphRun, ...]:
    """The runs of a text that stands on one line, from left to right."""
    found = fit(text, language, 180, 20, wanted_pt=11, least_pt=11, quoted=quoted)
    assert isinstance(found, Fitted)
    assert len(found.lines) == 1
    return found.lines[0].runs


@pytest.mark.parametrize(
    ("text", "island"),
    [
        ("الجرعة 25 mg مرة واحدة", "25 mg"),
        ("الجرعة sildenafil 25 mg مرة", "sildenafil 25 mg"),
        ("اتصل بالرقم 555-0142 الآن", "555-0142"),
        ("اتصل بالرقم (512) 555-0142 الآن", "(512) 555-0142"),
        ("الدفعة TV2611-0001 هنا", "TV2611-0001"),
        ("حتى 2026-11-25 فقط", "2026-11-25"),
        ("في درجة 25 °C أو أقل", "25 °C"),
        ("كل 2.5 mg/day هنا", "2.5 mg/day"),
    ],
)
def test_doses_dates_and_numbers_read_from_the_left(text: str, island: str) -> None:
    """Inside Arabic a dose, a date, a lot or a telephone number is one left-to-right run, though
    nobody named it: by UAX #9 alone ``25 mg`` would show as ``mg 25`` (rules W2 and N1)."""
    found = [run.text for run in runs(text, "ar") if not run.rtl]
    assert found == [island]


def test_words_of_a_sentence_stand_from_right_to_left() -> None:
    """The first word of an Arabic sentence is the rightmost run, what follows the dose is left
    of it."""
    found = runs("قبل 25 mg بعد", "ar")
    assert [run.text.strip() for run in found] == ["بعد", "25 mg", "قبل"]
    assert [run.x_mm for run in found] == sorted(run.x_mm for run in found)


def test_quoted_names_keep_to_themselves() -> None:
    """A right-to-left name in an English sentence doesn't draw the number after it to its
    other side (UAX #9, 6.3: isolates)."""
    found = runs("For محمد علي 3 tablets", "en", ((4, 12),))
    assert [run.text for run in found] == ["For ", "محمد علي", " 3 tablets"]


@pytest.mark.parametrize("language", ["ar", "hi", "zh-Hans", "ko"])
def test_digits_are_of_one_face_in_every_language(language: str) -> None:
    """Doses look the same everywhere: digits come from the Latin face."""
    text = {"ar": "خذ 25 قرصا", "hi": "25 गोली लें", "zh-Hans": "取 25 片", "ko": "25 정을"}[language]
    for run in runs(text, language):
        if any(one.isdigit() for one in run.text):
            assert run.face.script == "Latn"


def test_directions_of_languages() -> None:
    """Of the twelve languages Arabic alone is written from right to left (CLDR)."""
    spoken = ["en", "es", "fr", "pt_BR", "de", "pl", "ru", "vi", "ar", "hi", "zh_Hans", "ko"]
    assert [language for language in spoken if is_rtl(language)] == ["ar"]


def test_korean_breaks_between_words_and_chinese_between_characters() -> None:
    """Hangul is set with spaces and breaks at them; Han breaks anywhere but before a full stop
    or after an opening bracket (UAX #14, classes CL and OP)."""
    korean = fit("알약을 혀 밑에 놓으십시오", "ko", 22, 60, wanted_pt=11, least_pt=11)
    assert isinstance(korean, Fitted)
    assert " ".join(line.text for line in korean.lines) == "알약을 혀 밑에 놓으십시오"
    chinese = fit("将药片（一片）放在舌下。请撕开。", "zh-Hans", 12, 90, wanted_pt=11, least_pt=11)
    assert isinstance(chinese, Fitted)
    assert len(chinese.lines) > 4
    for line in chinese.lines:
        assert line.text[0] not in "。，）！"
        assert line.text[-1] != "（"


@pytest.mark.parametrize(
    "text",
    [
        "(01)09521234543213 (17)270302 (10)TV2611 (21)TV2611-0001 – 0010",
        "14 Tidewrack Lane, Port Quill, OR 00000",
        "Hester Quillfeather, MD",
    ],
)
def test_a_text_without_arabic_letters_reads_from_the_left(text: str) -> None:
    """On an Arabic label a code's text or an address keeps its words' order: nothing in it has a
    direction of its own from the right (UAX #9, P2 and P3, applied to the text by itself)."""
    found = runs(text, "ar")
    assert not any(run.rtl for run in found)
    assert "".join(run.text for run in sorted(found, key=lambda run: run.x_mm)) == text
