"""A page as pixels: grey levels that stand for luminance, on the printer's own grid.

PDFium's grey rendering weighs colours before linear light, which would let red pass for
dark. So a page with any colour is rendered in colour, and each coloured pixel becomes the
grey of the same relative luminance (WCAG 2.2, "relative luminance").
"""

import ctypes
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from labelkit.checks.places import Edges, millimetres, pixels
from labelkit.ground.units import PT_PER_INCH

Grey = NDArray[np.uint8]

COLOUR_LOOK_DPI = 36
"""Enough to see whether a page has any colour: a pixel is three times as wide as the thinnest
stroke of small print, which leaves a fifth of the stroke's colour in it or more."""

COLOUR_LEAST = 4
"""Difference between channels, of 255, from which a pixel is coloured: grey has none."""


def _linear() -> NDArray[np.float64]:
    """The sRGB curve, with the knee that W3C uses since 2021 (0.04045)."""
    value = np.arange(256) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


LUMINANCE = _linear()
"""Relative luminance of each grey level."""


@dataclass(frozen=True)
class Raster:
    """One page's pixels, 0 black to 255 white."""

    grey: Grey
    dpi: int

    def window(self, box: Edges) -> tuple[slice, slice]:
        """Rows and columns that hold the box, clipped to the page."""
        height, width = self.grey.shape
        left, top, right, bottom = (pixels(v, self.dpi) for v in box)
        return (
            slice(min(max(floor(top + 1e-3), 0), height), min(max(ceil(bottom - 1e-3), 0), height)),
            slice(min(max(floor(left + 1e-3), 0), width), min(max(ceil(right - 1e-3), 0), width)),
        )

    def crop(self, box: Edges) -> Grey:
        """The pixels of a box."""
        return self.grey[self.window(box)]

    def inked(self, rows: slice, columns: slice, below: int) -> Edges | None:
        """Millimetres of the box around the pixels of a window that are darker than `below`; None
        where there is none."""
        part = self.grey[rows, columns]
        if not part.size or int(part.min()) >= below:
            return None
        dark = part < below
        down, across = np.nonzero(dark.any(axis=1))[0], np.nonzero(dark.any(axis=0))[0]
        return self.edges(
            slice(rows.start + int(down[0]), rows.start + int(down[-1]) + 1),
            slice(columns.start + int(across[0]), columns.start + int(across[-1]) + 1),
        )

    def edges(self, rows: slice, columns: slice) -> Edges:
        """Millimetres of a window."""
        return (
            millimetres(columns.start, self.dpi),
            millimetres(rows.start, self.dpi),
            millimetres(columns.stop, self.dpi),
            millimetres(rows.stop, self.dpi),
        )


def render(page: pypdfium2.PdfPage, dpi: int) -> Raster:
    """The page at `dpi`, as a printer's raster of the same size would have it."""
    if _is_coloured(_pixels(page, COLOUR_LOOK_DPI, 4)):
        return Raster(as_luminance(_pixels(page, dpi, 3)), dpi)
    return Raster(_pixels(page, dpi, 1)[..., 0], dpi)


def render_colour(page: pypdfium2.PdfPage, dpi: int) -> Grey:
    """The page as rows of blue, green, red: for proof pictures."""
    return _pixels(page, dpi, 3)


def as_luminance(bgr: Grey) -> Grey:
    """Grey levels of the same relative luminance as the colours (ITU-R BT.709 weights)."""
    blue, green, red = bgr[..., 0], bgr[..., 1], bgr[..., 2]
    grey = green.copy()
    rows, columns = np.nonzero((red != green) | (green != blue))
    light = (
        0.2126 * LUMINANCE[red[rows, columns]]
        + 0.7152 * LUMINANCE[green[rows, columns]]
        + 0.0722 * LUMINANCE[blue[rows, columns]]
    )
    grey[rows, columns] = np.searchsorted(LUMINANCE, light, side="right") - 1
    return grey


def _is_coloured(bgrx: Grey) -> bool:
    """Whether any pixel of blue, green, red and an unused byte is far from grey."""
    whole = bgrx.view("<u4")[..., 0]
    # Neighbouring channels compared in all pixels at once; few pages have any that differ.
    differs = (whole ^ (whole >> 8)) & 0xFFFF
    if not differs.any():
        return False
    unlike = np.nonzero(differs)
    spread = np.ptp(bgrx[unlike][:, :3].astype(np.int16), axis=1)
    return bool((spread > COLOUR_LEAST).any())


_FORMAT_OF_DEPTH = {
    1: pdfium.FPDFBitmap_Gray,
    3: pdfium.FPDFBitmap_BGR,
    4: pdfium.FPDFBitmap_BGRx,
}


def _pixels(page: pypdfium2.PdfPage, dpi: int, depth: int) -> Grey:
    """The page as rows of pixels of `depth` bytes: grey; blue, green, red; or with one more."""
    width_pt, height_pt = page.get_size()
    scale = dpi / PT_PER_INCH
    width, height = max(1, round(width_pt * scale)), max(1, round(height_pt * scale))
    buffer = np.full((height, width, depth), 255, dtype=np.uint8)
    bitmap = pdfium.FPDFBitmap_CreateEx(
        width,
        height,
        _FORMAT_OF_DEPTH[depth],
        buffer.ctypes.data_as(ctypes.c_void_p),
        width * depth,
    )
    flags = pdfium.FPDF_PRINTING | (pdfium.FPDF_GRAYSCALE if depth == 1 else 0)
    # The exact scale: a page that isn't a whole number of dots (A4) would be stretched to one.
    exact = pdfium.FS_MATRIX(scale, 0, 0, scale, 0, 0)
    whole = pdfium.FS_RECTF(0, 0, width, height)
    pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, page.raw, exact, whole, flags)
    pdfium.FPDFBitmap_Destroy(bitmap)
    return buffer
