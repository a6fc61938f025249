#!/usr/bin/env python
"""Composes `docs/sample.png` for the README from the artwork that `make demo` made.

Three real pages side by side at one scale: a lidding sheet, a sheet of sleeves, a leaflet.
"""

import sys
from pathlib import Path

import pypdfium2
from PIL import Image

DPI = 110
GAP = 28
FILES = ("lidding-TV2611", "sleeve-rx104323", "leaflet-rx104323")


def page(pdf: Path, number: int) -> Image.Image:
    """One page, white margins cut off."""
    picture = pypdfium2.PdfDocument(pdf)[number].render(scale=DPI / 72).to_pil().convert("L")
    box = picture.point(lambda grey: 255 if grey < 250 else 0).getbbox()
    return picture.crop(box)


def main() -> None:
    """Read `demo/artwork`, write `docs/sample.png`."""
    root = Path(__file__).resolve().parents[1]
    artwork = Path(sys.argv[1]) if len(sys.argv) > 1 else root / "demo" / "artwork"
    pages = [page(artwork / f"{name}.pdf", 0) for name in FILES]
    tallest = max(p.height for p in pages)
    width = sum(p.width for p in pages) + GAP * (len(pages) + 1)
    whole = Image.new("L", (width, tallest + 2 * GAP), 255)
    left = GAP
    for picture in pages:
        whole.paste(picture, (left, GAP))
        left += picture.width + GAP
    out = root / "docs" / "sample.png"
    out.parent.mkdir(exist_ok=True)
    whole.quantize(16).save(out, optimize=True)


if __name__ == "__main__":
    main()
