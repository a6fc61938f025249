"""Proof pictures: each page of the finished PDF as it renders, with what was checked marked.

A rendering of that PDF, never a second drawing of the artwork. Boxes of the manifest are
drawn over it; each code has its decoded text beside it; each finding has a number and its
sentence below the page.
"""

import io
from collections.abc import Iterator
from functools import cache
from itertools import chain, product
from textwrap import wrap

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from labelkit.checks.codes import short_payload
from labelkit.checks.model import CheckReport, Finding, ReadCode
from labelkit.checks.opening import opened
from labelkit.checks.places import pixels
from labelkit.checks.raster import Grey, render_colour
from labelkit.manifest.model import Cut, Manifest, ManifestPage, Place

PROOF_DPI = 150
"""Small type can still be read, and the file stays small."""

_PLACE = (120, 170, 225)
_CODE = (0, 110, 60)
_CUT = (200, 120, 0)
_WRONG = (200, 0, 30)
_INK = (20, 20, 20)
_GREYS = 15
"""Steps from black to white: the edges of small type stay smooth."""
_CUBE = 3
"""Steps of each of red, green and blue."""
_MARGIN_PX = 16
_LINE_PX = 22
_LETTERS_A_LINE = 108
"""Of the note under a letter-size page, in the built-in face at 18 pixels."""


def proofs(pdf: bytes, manifest: Manifest, report: CheckReport) -> Iterator[bytes]:
    """One PNG for each page of the file that the manifest knows, in order.

    Raises CheckRefused for bytes that can't be opened as a PDF.
    """
    with opened(pdf) as (document, _):
        for number, page in enumerate(manifest.pages[: len(document)], start=1):
            sheet = document[number - 1]
            try:
                bgr = render_colour(sheet, PROOF_DPI)
            finally:
                sheet.close()
            findings = [f for f in report.findings if f.page in (0, number)]
            notes = _notes(number, manifest, report, findings)
            whole = _with_room(bgr, _height(notes))
            _annotate(whole, page, [c for c in report.codes if c.page == number])
            _tell(whole, bgr.shape[0], findings, notes)
            yield _png(whole)


def _with_room(bgr: Grey, below_px: int) -> Image.Image:
    """The page's pixels as a picture, with white room below it."""
    height, width, _ = bgr.shape
    pixels_of = np.empty((height + below_px, width, 3), dtype=np.uint8)
    pixels_of[:height] = bgr
    pixels_of[height:] = 255
    size = (width, height + below_px)
    return Image.frombuffer("RGB", size, pixels_of, "raw", "BGR", 0, 1)


def _annotate(whole: Image.Image, page: ManifestPage, codes: list[ReadCode]) -> None:
    """Outline what was checked, each code with its decoded text."""
    draw = ImageDraw.Draw(whole)
    for place in sorted({_key(t.within): t.within for t in page.texts}.items()):
        _outline(draw, place[1], _PLACE, 1)
    for empty in (*page.empty, *page.bare):
        _outline(draw, empty.within, _PLACE, 1)
    for cut in page.cuts:
        _cut(draw, cut)
    for code in codes:
        _code(draw, code)


def _tell(
    whole: Image.Image,
    height: int,
    findings: list[Finding],
    notes: list[tuple[str, tuple[int, int, int]]],
) -> None:
    """Mark each finding on the page of that height, and write the notes below it."""
    draw = ImageDraw.Draw(whole)
    marked: dict[Place | None, int] = {}
    for count, finding in enumerate(findings, start=1):
        _finding(draw, finding, count, marked.setdefault(finding.where, 0))
        marked[finding.where] += 1
    top = height + _MARGIN_PX
    draw.line((0, height, whole.width, height), fill=_INK)
    for line, colour in notes:
        draw.text((_MARGIN_PX, top), line, fill=colour, font=_font(18))
        top += _LINE_PX


def _notes(
    number: int, manifest: Manifest, report: CheckReport, findings: list[Finding]
) -> list[tuple[str, tuple[int, int, int]]]:
    """Lines for below the page, each with its colour."""
    found = f"{len(findings)} found wrong" if findings else "nothing found wrong"
    lines = [
        (f"{manifest.title}: page {number} of {len(manifest.pages)}, {report.state}, {found}", _INK)
    ]
    for count, finding in enumerate(findings, start=1):
        lines += [(part, _WRONG) for part in wrap(f"{count}. {finding.sentence}", _LETTERS_A_LINE)]
    return lines


def _height(notes: list[tuple[str, tuple[int, int, int]]]) -> int:
    return 2 * _MARGIN_PX + _LINE_PX * len(notes)


@cache
def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


def _key(place: Place) -> tuple[float, float, float, float]:
    return (place.y_mm, place.x_mm, place.w_mm, place.h_mm)


def _box(place: Place) -> tuple[float, float, float, float]:
    return (
        pixels(place.x_mm, PROOF_DPI),
        pixels(place.y_mm, PROOF_DPI),
        pixels(place.x_mm + place.w_mm, PROOF_DPI),
        pixels(place.y_mm + place.h_mm, PROOF_DPI),
    )


def _outline(
    draw: ImageDraw.ImageDraw, place: Place, colour: tuple[int, int, int], width: int
) -> None:
    draw.rectangle(_box(place), outline=colour, width=width)


def _cut(draw: ImageDraw.ImageDraw, cut: Cut) -> None:
    ends = (cut.x1_mm, cut.y1_mm, cut.x2_mm, cut.y2_mm)
    draw.line([pixels(v, PROOF_DPI) for v in ends], fill=_CUT, width=1)


def _code(draw: ImageDraw.ImageDraw, code: ReadCode) -> None:
    left, _, _, bottom = _box(code.where)
    _outline(draw, code.where, _CODE, 2)
    said = f"{code.identifier} {code.x_dots:g} dots"
    for line, text in enumerate((said, *wrap(short_payload(code.text), 24)[:3])):
        draw.text((left, bottom + 2 + 9 * line), text, fill=_CODE, font=_font(9))


def _finding(draw: ImageDraw.ImageDraw, finding: Finding, count: int, before: int) -> None:
    if finding.where is None:
        return
    left, top, right, bottom = _box(finding.where)
    draw.rectangle(
        (left - 2, top - 2, max(right, left) + 2, max(bottom, top) + 2), outline=_WRONG, width=3
    )
    draw.text((left + 28 * before, max(top - 22, 0)), str(count), fill=_WRONG, font=_font(20))


def _png(picture: Image.Image) -> bytes:
    """A PNG of few, fixed colours: print in one ink and a few outlines need no more, and a
    colour that doesn't belong there still shows."""
    few = picture.quantize(palette=_palette(), dither=Image.Dither.NONE)
    out = io.BytesIO()
    few.save(out, "PNG", compress_level=4, dpi=(PROOF_DPI, PROOF_DPI))
    return out.getvalue()


@cache
def _palette() -> Image.Image:
    """Greys from black to white, each mark's colour, and a coarse cube of all others."""
    greys = [(level, level, level) for level in range(0, 256, 255 // _GREYS)]
    cube = list(product(range(0, 256, 255 // _CUBE), repeat=3))
    palette = Image.new("P", (1, 1))
    palette.putpalette(list(chain(*greys, _PLACE, _CODE, _CUT, _WRONG, *cube)))
    return palette
