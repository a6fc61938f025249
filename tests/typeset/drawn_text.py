"""Draws a fitted text on a page and looks at the page with PDFium: pixels, not our figures."""

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium

from labelkit.artwork.page import Artwork, Origin, Page, TextItem
from labelkit.ground.box import Box
from labelkit.output.pdf import write
from labelkit.typeset.model import Fitted

PAGE = (120.0, 120.0)
DPI = 600
DOT_MM = 25.4 / DPI

Pixels = npt.NDArray[np.bool_]


def pdf_of(fitted: Fitted, box: Box, language: str = "en", turn: int = 0) -> bytes:
    """A page with nothing but the text."""
    item = TextItem(box, fitted.lines, Origin("layout"), turn=turn)
    return write(Artwork("proof", "A proof", language, (Page(*PAGE, (item,)),)))


def pixels(data: bytes, dpi: int = DPI) -> Pixels:
    """The first page as dark (True) and light dots."""
    page = pdfium.PdfDocument(data)[0]
    return np.asarray(page.render(scale=dpi / 72, grayscale=True).to_numpy()) < 128


def ink_mm(dark: Pixels, dpi: int = DPI) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of all ink, millimetres from the page's top left."""
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    dot = 25.4 / dpi
    return columns[0] * dot, rows[0] * dot, (columns[-1] + 1) * dot, (rows[-1] + 1) * dot
