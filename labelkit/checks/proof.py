"""Proof pictures: each page of the finished PDF as it renders, with what was checked marked.

A rendering of that PDF, never a second drawing of the artwork. Boxes of the manifest are
drawn over it; each code has its decoded text beside it; each finding has a number and its
sentence below the page.
"""

import io
from collections.abc import Iterator
from textwrap import wrap

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from labelkit.checks.codes import short_payload
from labelkit.checks.model import CheckReport, Finding, ReadCode
from labelkit.checks.opening import opened
from labelkit.checks.places import pixels
from labelkit.checks.raster import render_colour
from labelkit.manifest.model import Cut, Manifest, ManifestPage, Place

PROOF_DPI = 150
"""Small type can still be read, and the file stays small."""

_PLACE = (120, 170, 225)
_CODE = (0, 110, 60)
_CUT = (200, 120, 0)
_WRONG = (200, 0, 30)
_INK = (20, 20, 20)
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
            picture = Image.fromarray(np.ascontiguousarray(bgr[..., ::-1]))
            yield _png(_annotated(picture, number, page, manifest, report))


def _annotated(
    picture: Image.Image, number: int, page: ManifestPage, manifest: Manifest, report: CheckReport
) -> Image.Image:
    findings = [f for f in report.findings if f.page in (0, number)]
    notes = _notes(number, manifest, report, findings)
    whole = Image.new("RGB", (picture.width, picture.height + _height(notes)), "white")
    whole.paste(picture)
    draw = ImageDraw.Draw(whole)
    for place in sorted({_key(t.within): t.within for t in page.texts}.items()):
        _outline(draw, place[1], _PLACE, 1)
    for empty in page.empty:
        _outline(draw, empty.within, _PLACE, 1)
    for cut in page.cuts:
        _cut(draw, cut)
    for code in report.codes:
        if code.page == number:
            _code(draw, code)
    marked: dict[Place | None, int] = {}
    for count, finding in enumerate(findings, start=1):
        _finding(draw, finding, count, marked.setdefault(finding.where, 0))
        marked[finding.where] += 1
    top = picture.height + _MARGIN_PX
    draw.line((0, picture.height, whole.width, picture.height), fill=_INK)
    for line, colour in notes:
        draw.text((_MARGIN_PX, top), line, fill=colour, font=_font(18))
        top += _LINE_PX
    return whole


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
    """A PNG of 64 colours: print and a few outlines need no more, at a third of the size."""
    out = io.BytesIO()
    picture.quantize(64, method=Image.Quantize.FASTOCTREE).save(
        out, "PNG", compress_level=6, dpi=(PROOF_DPI, PROOF_DPI)
    )
    return out.getvalue()
