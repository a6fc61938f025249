"""A record's words in a line of another direction: the right order passes, another is told."""

from itertools import pairwise

import pypdfium2 as pdfium
import pytest
from checked_sheets import good_page

from labelkit.artwork.page import Artwork, Origin, Page, TextItem
from labelkit.checks.model import FindingKind
from labelkit.checks.places import edges
from labelkit.checks.texts import check_text
from labelkit.checks.view import view
from labelkit.ground.box import Box
from labelkit.ground.quoting import Span
from labelkit.manifest.model import RequiredText, place
from labelkit.output.pdf import write
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import Fitted

BOX = Box(10, 10, 90, 30)
PAGE = (110.0, 50.0)
NAMES = {
    "Arabic": "علي بن حسن",
    "Arabic with signs": "عبد-الله بن علي، رقم 12 (فرع)",
    "Arabic with a title": "(د. علي) حسن",
    "Latin": "Ana-María O’Neill Núñez",
    "Cyrillic": "Анна-Мария Орлова (Лис)",
    "Devanagari": "सीता देवी शर्मा",
    "Han": "王小明 李四 (第2店)",
    "Hangul": "김민수 박지우",
}
SENTENCES = {"en": ("Questions? ", ": 555-0142"), "ar": ("أسئلة؟ ", ": 555-0142")}


def wholly(text: str, name: str) -> tuple[Span, ...]:
    """The name as one stretch."""
    return ((text.find(name), text.find(name) + len(name)),)


def word_by_word(text: str, name: str) -> tuple[Span, ...]:
    """Each of its words as a stretch of its own: drawn so, it is another name."""
    begin = text.find(name)
    spaces = [i for i in range(begin, begin + len(name)) if text[i] == " "]
    edges_ = pairwise((begin - 1, *spaces, begin + len(name)))
    return tuple((before + 1, after) for before, after in edges_)


def kinds(
    text: str, language: str, drawn: tuple[Span, ...], name: str, wanted: str = ""
) -> set[FindingKind]:
    """What is found of the text, drawn with those stretches in their own order, where the
    manifest asks for the whole name; in a `wanted` text, if that is another one."""
    found = fit(text, language, 90, 30, wanted_pt=11, least_pt=11, quoted=drawn)
    assert isinstance(found, Fitted)
    item = TextItem(BOX, found.lines, Origin("layout"))
    data = write(Artwork("proof", "A proof", language, (Page(*PAGE, (item,)),)))
    required = RequiredText(
        id="pharmacy",
        origin="statement:call.short",
        text=wanted or text,
        language=language,
        within=place(BOX),
        piece="A",
        area="front",
        least_pt=6,
        least_x_height_mm=0,
        source="x",
        quoted=(name,),
    )
    page = view(pdfium.PdfDocument(data)[0], 1)
    plain = good_page().model_copy(update={"cuts": ()})
    findings, _ = check_text(page, plain, required, edges(required.within))
    return {finding.kind for finding in findings}


REFUSED = ("Devanagari", "ar")
"""PDFium takes conjuncts and signs of a right-to-left line apart, and no order of writing helps:
a cluster is one glyph. Not told from a wrong text, so refused."""


@pytest.mark.parametrize("language", SENTENCES)
@pytest.mark.parametrize("script", NAMES)
def test_names_in_their_own_order_pass(language: str, script: str) -> None:
    """In an English and in an Arabic sentence a name of each script is found as it is, or,
    where the reader can't tell it, missed: never taken for another."""
    before, after = SENTENCES[language]
    text = before + NAMES[script] + after
    told = kinds(text, language, wholly(text, NAMES[script]), NAMES[script])
    assert told == ({FindingKind.TEXT_MISSING} if (script, language) == REFUSED else set())


@pytest.mark.parametrize("language", SENTENCES)
@pytest.mark.parametrize("script", NAMES)
def test_another_name_of_the_same_words_is_told(language: str, script: str) -> None:
    """The same words in another order, each drawn rightly, are never taken for the name."""
    before, after = SENTENCES[language]
    name = NAMES[script]
    words = name.split(" ")
    other = " ".join([words[1], words[0], *words[2:]])
    drawn = before + other + after
    wanted = before + name + after
    assert kinds(drawn, language, wholly(drawn, other), name, wanted)


def test_a_name_drawn_word_by_word_backwards_is_told() -> None:
    """Each word of an Arabic name is in its place for a search and none for a reader."""
    name = NAMES["Arabic"]
    text = f"Questions? {name}: 555-0142"
    told = kinds(text, "en", word_by_word(text, name), name)
    assert told == {FindingKind.TEXT_ORDER}
