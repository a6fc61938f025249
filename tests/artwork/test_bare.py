"""Bare geometry: true to size on the overlay, and every dimension in the picture."""

import numpy as np
import pypdfium2 as pdfium
import pytest

from labelkit.artwork import bare
from labelkit.geometry.reading import load, shipped
from labelkit.ground.units import mm_to_pt
from labelkit.output.pdf import write

PX_PER_MM = 10
"""Rendered at 254 dpi, where a millimetre is ten pixels."""


def _page(pdf: bytes, number: int = 0) -> pdfium.PdfPage:
    return pdfium.PdfDocument(pdf)[number]


def _darkness(page: pdfium.PdfPage) -> np.ndarray:
    image = page.render(scale=PX_PER_MM * 25.4 / 72).to_pil().convert("L")
    return np.asarray(image) < 128


@pytest.mark.parametrize("name", shipped())
def test_every_layout_can_be_pictured(name: str) -> None:
    """The picture of each shipped layout has a page for each face, with its name on it."""
    layout = load(name)
    document = pdfium.PdfDocument(write(bare.picture(layout)))
    assert len(document) == len(layout.faces)
    for page in document:
        assert name in page.get_textpage().get_text_bounded()


def test_the_picture_names_its_lengths() -> None:
    """Sheet, margin, cells and band of the lid for twenty: Letter is 215.9 × 279.4 mm (ANSI/ASME
    Y14.1 size A, from memory), four pieces of 48 mm leave 11.95 mm at either side."""
    text = _page(write(bare.picture(load("lidding-20-letter")))).get_textpage().get_text_bounded()
    words = text.split()
    assert {"215.9", "279.4", "11.95", "Ø"} <= set(words)
    assert words.count("24") >= 8 + 5
    assert "29.1" in words
    assert "kiss-cut" in text


def test_the_overlay_is_full_size() -> None:
    """Printed unscaled, the page is the sheet, the scale is 100 mm long and cavities are round
    openings of their diameter: measured on the pixels that another library renders."""
    layout = load("lidding-20-letter")
    page = _page(write(bare.overlay(layout)))
    assert page.get_size() == pytest.approx((mm_to_pt(215.9), mm_to_pt(279.4)), abs=0.01)
    dark = _darkness(page)
    y = round((279.4 - layout.stock.margin_mm - 3) * PX_PER_MM)
    run = np.flatnonzero(dark[y - 3 : y + 4, : 130 * PX_PER_MM].any(axis=0))
    left = round((layout.stock.margin_mm + 3) * PX_PER_MM)
    scale = run[run <= left + 101 * PX_PER_MM]
    assert scale.max() - left == pytest.approx(100 * PX_PER_MM, abs=4)
    cell = layout.faces[0].pieces[0].cells[0]
    assert cell.cavity is not None
    row = round((cell.cavity.y_mm + cell.cavity.h_mm / 2) * PX_PER_MM) + 4
    start = round((cell.cavity.x_mm - 2) * PX_PER_MM)
    found = start + np.flatnonzero(dark[row, start : start + 16 * PX_PER_MM])
    assert found.max() - found.min() == pytest.approx(12 * PX_PER_MM, abs=4)


def test_the_overlay_holds_no_field() -> None:
    """On the overlay stand lines, openings and two scales: nothing that could be a label."""
    text = _page(write(bare.overlay(load("lidding-20-letter")))).get_textpage().get_text_bounded()
    assert set(text.split()) == {"100", "mm", "Lidding,", "card", "of", "20,", "Letter"}
