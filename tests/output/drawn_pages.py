"""Pages for the tests of output, and two readers the project did not write."""

import re
import unicodedata
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
from needed import told_by

from labelkit.artwork.page import Artwork, Item, Origin, Page, Tag, TextItem
from labelkit.ground.box import Box
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import Fitted

LETTER = (215.9, 279.4)
ORIGIN = Origin("layout")
PT = 72 / 25.4
STEERING = dict.fromkeys(
    map(ord, "\u200e\u200f\u061c\u202a\u202b\u202c\u2066\u2067\u2068\u2069\u2060")
)
"""Direction marks that readers add or copy; they are no text."""


def text_item(
    text: str, box: Box, language: str = "en", *, tag: Tag | None = None, turn: int = 0, **more
) -> TextItem:
    """A text set into its box."""
    size = (box.w_mm, box.h_mm) if turn == 0 else (box.h_mm, box.w_mm)
    wish = {"wanted_pt": 12.0, "least_pt": 5.0, **more}
    found = fit(text, language, *size, **wish)
    assert isinstance(found, Fitted), found
    origin = Origin("statement:test", language)
    return TextItem(box, found.lines, origin, tag=tag, turn=turn)


def artwork(*items: Item, shared: tuple[Item, ...] = (), pages: int = 1, **more) -> Artwork:
    """A Letter artwork with the same items on every page."""
    page = Page(*LETTER, items, shared)
    return Artwork("proof", "A proof", more.pop("language", "en"), (page,) * pages, **more)


def plain(text: str) -> str:
    """For comparison: NFKC, white space collapsed, direction marks dropped."""
    said = unicodedata.normalize("NFKC", text.translate(STEERING))
    return re.sub(r"\s+", " ", said).strip()


def by_pdfium(data: bytes, box: Box, page: int = 0) -> str:
    """What PDFium copies out of a box."""
    one = pdfium.PdfDocument(data)[page]
    height = one.get_height()
    return str(
        one.get_textpage().get_text_bounded(
            box.x_mm * PT - 1,
            height - box.bottom_mm * PT - 1,
            box.right_mm * PT + 1,
            height - box.y_mm * PT + 1,
        )
    )


def by_poppler(data: bytes, box: Box, folder: Path, page: int = 0) -> str:
    """What Poppler's pdftotext copies out of a box."""
    path = folder / "read.pdf"
    path.write_bytes(data)
    crop = {
        "-x": int(box.x_mm * PT) - 1,
        "-y": int(box.y_mm * PT) - 1,
        "-W": int(box.w_mm * PT) + 3,
        "-H": int(box.h_mm * PT) + 3,
        "-f": page + 1,
        "-l": page + 1,
    }
    words = [str(word) for pair in crop.items() for word in pair]
    return told_by("pdftotext", *words, path, "-").decode()


def dots(data: bytes, dpi: int, page: int = 0) -> npt.NDArray[np.bool_]:
    """A page's dark dots. The scale is a hair smaller so that a whole number of dots
    stays that number."""
    one = pdfium.PdfDocument(data)[page]
    picture = one.render(scale=dpi / 72 - 1e-9, grayscale=True).to_numpy()
    return np.asarray(picture) < 128
