#!/usr/bin/env python
"""Makes the sample in all languages and composes `docs/languages.png` from the finished PDFs.

For each language a sleeve's front, spine and back, and the cover of the folded leaflet, all at
one scale. Stops where a file of the sample is refused: a picture of all but one proves nothing.
"""

import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image, ImageDraw, ImageFont

from labelkit.artwork.mirroring import mirrored
from labelkit.geometry.model import Layout
from labelkit.geometry.reading import load
from labelkit.ground.box import Box
from labelkit.jobs.results import Made, Outcome
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.wording.coverage import languages
from labelkit.wording.numbers import locale_of

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "samples" / "languages"
PICTURE = ROOT / "docs" / "languages.png"
DPI = 100
ACROSS = 3
GAP = 24
HEAD = 44
GREYS = 16
"""Shades kept: enough for edges of letters, and a small file."""


def made_sample(out: Path) -> Outcome:
    """Sleeves and leaflets of the sample. Raises SystemExit where one is refused."""
    outcome = make(SAMPLE, Wish(everything=True, only=frozenset({"sleeve", "leaflet"})), out)
    for refused in outcome.refused:
        wrong = "; ".join(fault.wrong for fault in refused.faults[:3])
        sys.stderr.write(f"{refused.artwork} for {refused.subject}: {wrong}\n")
    if outcome.refused:
        raise SystemExit(1)
    return outcome


def shape_of(made: Made, language: str) -> Layout:
    """The layout as it was printed."""
    layout = load(made.layout)
    return mirrored(layout) if locale_of(language).text_direction == "rtl" else layout


def cut_out(out: Path, made: Made, areas: tuple[str, ...]) -> Image.Image:
    """The areas of the first piece on a file's first page, with what lies between them."""
    found = [a.box for a in shape_of(made, made.language).faces[0].pieces[0].areas if a.id in areas]
    left, top = min(b.x_mm for b in found), min(b.y_mm for b in found)
    right, bottom = max(b.right_mm for b in found), max(b.bottom_mm for b in found)
    rendered: Image.Image = (
        pypdfium2.PdfDocument(out / made.file)[0].render(scale=DPI / 72).to_pil()
    )
    return rendered.convert("L").crop(_pixels(Box(left, top, right - left, bottom - top)))


def _pixels(box: Box) -> tuple[int, int, int, int]:
    sides = (box.x_mm, box.y_mm, box.right_mm, box.bottom_mm)
    left, top, right, bottom = (round(mm / 25.4 * DPI) for mm in sides)
    return left, top, right, bottom


def entry(out: Path, outcome: Outcome, language: str) -> Image.Image:
    """One language: its name, its sleeve, its leaflet."""
    by_kind = {made.artwork: made for made in outcome.made if made.language == language}
    pictures = (
        cut_out(out, by_kind["sleeve"], ("front", "spine", "back")),
        cut_out(out, by_kind["leaflet"], ("cover",)),
    )
    width = sum(p.width for p in pictures) + 3 * GAP
    whole = Image.new("L", (width, HEAD + max(p.height for p in pictures) + GAP), 255)
    pen = ImageDraw.Draw(whole)
    name = f"{language}   {locale_of(language).get_display_name('en')}"
    pen.text((GAP, 10), name, 0, ImageFont.load_default(24))
    left = GAP
    for picture in pictures:
        whole.paste(picture, (left, HEAD))
        corner = (left + picture.width - 1, HEAD + picture.height - 1)
        pen.rectangle(((left, HEAD), corner), outline=170)
        left += picture.width + GAP
    return whole


def main() -> None:
    """Make the sample, write `docs/languages.png`."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        outcome = made_sample(out)
        entries = [entry(out, outcome, language) for language in languages()]
    wide, high = max(e.width for e in entries), max(e.height for e in entries)
    down = -(-len(entries) // ACROSS)
    sheet = Image.new("L", (wide * ACROSS, high * down), 255)
    for number, picture in enumerate(entries):
        sheet.paste(picture, (number % ACROSS * wide, number // ACROSS * high))
    sheet.quantize(GREYS).save(PICTURE, optimize=True)
    sys.stdout.write(f"{PICTURE.relative_to(ROOT)}: {len(entries)} languages\n")


if __name__ == "__main__":
    main()
