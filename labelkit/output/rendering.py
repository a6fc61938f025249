"""A PDF's pages as pictures: renderings of that PDF, never a second drawing."""

import io

import pypdfium2
from PIL import Image

from labelkit.ground.units import PT_PER_INCH


def pictures(pdf: bytes, dpi: int) -> tuple[bytes, ...]:
    """A PNG of each page, in order, at that resolution."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return tuple(
            _png(page.render(scale=dpi / PT_PER_INCH, grayscale=True).to_pil(), dpi)
            for page in document
        )
    finally:
        document.close()


def _png(picture: Image.Image, dpi: int) -> bytes:
    out = io.BytesIO()
    picture.save(out, "PNG", dpi=(dpi, dpi))
    return out.getvalue()
