"""Statements of the shipped catalogs, set and copied out again by two readers.

Not only sentences chosen for it: every seventh statement of every language, one to a page.
"""

import re
from html import unescape
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from babel.messages.pofile import read_po
from drawn_pages import LETTER, plain, text_item
from needed import told_by

from labelkit.artwork.page import Artwork, Page
from labelkit.ground.box import Box
from labelkit.output.pdf import write

LOCALES = Path(__file__).parents[2] / "locales"
LANGUAGES = sorted(path.name for path in LOCALES.iterdir() if path.is_dir())
STEP = 7


def statements(language: str) -> list[str]:
    """Every seventh translation, with a number for each placeholder."""
    with (LOCALES / language / "LC_MESSAGES" / "labelkit.po").open("rb") as file:
        catalog = read_po(file)
    found: list[str] = []
    for message in catalog:
        if message.id:
            forms = message.string if isinstance(message.string, list | tuple) else [message.string]
            found += [re.sub(r"\{[^}]*\}", "25", form) for form in forms if form]
    return list(dict.fromkeys(found))[::STEP]


def compared(text: str) -> str:
    """Without line-end hyphens, without spaces beside Chinese characters and full-width marks,
    and without a space beside a mark that hugs its word: PDFium adds one between a Latin
    stretch of a right-to-left line and such a mark, far apart from it in the content."""
    # Full-width brackets are white on one side, and stop being full-width in `plain`.
    alone = re.sub(r"\s*([\uff01-\uff5e])\s*", r"\1", text)
    said = re.sub(r"[-\u2010\ufffe\x02]\s*", "", plain(alone))
    said = re.sub(r"(?<=[\u3000-\u9fff:]) | (?=[\u3000-\u9fff])", "", said)
    return re.sub(r" (?=[.,:;!?)،؟؛])|(?<=[(]) ", "", said)


def poppler_words(path: Path, page: int) -> str:
    """The words that Poppler finds on a page, with a space between."""
    pages = ["-f", str(page), "-l", str(page)]
    said = told_by("pdftotext", "-bbox", *pages, path, "-").decode()
    return " ".join(unescape(word) for word in re.findall(r"<word [^>]*>([^<]*)</word>", said))


@pytest.mark.parametrize("language", LANGUAGES)
def test_statements_are_copied_out_whole(language: str, tmp_path: Path) -> None:
    """PDFium and Poppler give back each statement as it was set, over several lines.

    In running text Poppler takes a line of single characters, evenly spaced, for one word (A B
    in any language): of such a statement its list of words is compared.
    """
    texts = statements(language)
    assert texts
    box = Box(20, 20, 60, 230)
    pages = tuple(
        Page(*LETTER, (text_item(text, box, language, wanted_pt=10, least_pt=10),))
        for text in texts
    )
    data = write(Artwork("proof", "A proof", language, pages))
    path = tmp_path / "read.pdf"
    path.write_bytes(data)
    copied = told_by("pdftotext", path, "-").decode().split("\f")
    document = pdfium.PdfDocument(data)
    for number, (text, poppler, page) in enumerate(zip(texts, copied, document, strict=False), 1):
        assert compared(page.get_textpage().get_text_range()) == compared(text)
        if all(len(word) == 1 for word in text.split()):
            poppler = poppler_words(path, number)
        assert compared(poppler) == compared(text)
