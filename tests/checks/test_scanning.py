"""Scans: rendered here, turned, stretched and noised, and read back right or told."""

import io
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
from checked_sheets import (
    PT,
    Bars,
    Place,
    Sheet,
    code,
    data_matrix,
    good_fields,
    good_page,
    good_sheet,
    gs1,
    manifest,
)
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from labelkit.checks.model import FindingKind as K
from labelkit.checks.model import ScanReport
from labelkit.checks.reading_back import check
from labelkit.checks.scanning import check_scan
from labelkit.ground.errors import CheckRefused
from labelkit.manifest.model import Manifest, RequiredMark

DOTS = 25.4 / 300


SIZE_MM = (110.0, 90.0)


def lid() -> tuple[Sheet, Manifest]:
    """Six cells over a small sheet, each with a code of its own in a box that just holds it."""
    sheet, codes = Sheet(size_mm=SIZE_MM), []
    for cell in range(6):
        serial = f"TV2611-{cell + 1:04d}"
        x, y = 150 + 420 * (cell % 3), 180 + 600 * (cell // 3)
        sheet.bars.append(Bars(data_matrix(gs1(serial=serial)), x, y))
        box = Place(x_mm=(x - 4) * DOTS, y_mm=(y - 4) * DOTS, w_mm=96 * DOTS, h_mm=96 * DOTS)
        fields = good_fields() | {"serial": serial}
        codes.append(
            code("cell", "data-matrix", box, f"cell-{cell + 1}", fields, gs1=True, quiet=1)
        )
    page = good_page().model_copy(
        update={
            "width_mm": SIZE_MM[0],
            "height_mm": SIZE_MM[1],
            "texts": (),
            "values": (),
            "codes": tuple(codes),
            "empty": (),
            "draft_marks": (),
        }
    )
    return sheet, manifest(page)


def scanned(
    sheet: Sheet,
    *,
    turn: float = 0.0,
    scale: float = 1.0,
    shift: tuple[int, int] = (0, 0),
    noise: float = 0.0,
) -> bytes:
    """A PNG of the sheet as a scanner might give it: turned about its middle, clockwise."""
    page = pypdfium2.PdfDocument(sheet.pdf())[0]
    picture = page.render(scale=300 / 72, grayscale=True).to_pil()
    picture = picture.resize(
        (round(picture.width * scale), round(picture.height * scale)), Image.Resampling.BICUBIC
    )
    picture = picture.rotate(-turn, Image.Resampling.BICUBIC, translate=shift, fillcolor=255)
    grey = np.asarray(picture, dtype=np.float64)
    grey = 30 + grey * 0.82 + np.random.default_rng(7).normal(0, noise, grey.shape)
    out = io.BytesIO()
    Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8)).save(out, "PNG", compress_level=1)
    return out.getvalue()


def read(picture: bytes, wanted: Manifest) -> ScanReport:
    """The report of a scan."""
    return check_scan(picture, wanted, read_in=2026)


def test_a_crooked_stretched_noisy_scan_is_read_right() -> None:
    """Turned by 0.7 degrees, 0.6 % too large, with noise: all codes, and the numbers back."""
    sheet, wanted = lid()
    report = read(scanned(sheet, turn=0.7, scale=1.006, shift=(11, -7), noise=12), wanted)
    assert report.ok, report.findings
    assert len(report.codes) == 6
    (page,) = report.pages
    assert page.turned_deg == pytest.approx(0.7, abs=0.05)
    assert page.scale == pytest.approx(1.006, abs=0.001)
    assert page.worst_mm < 0.2


@pytest.mark.parametrize(
    ("turn", "scale", "x", "y"),
    [(0.0, 1.0, 0, 0), (0.95, 0.992, 20, -9), (-0.95, 1.008, -20, 14), (0.3, 0.996, 5, 20)],
)
def test_any_small_turn_and_scale_is_taken_out(turn: float, scale: float, x: int, y: int) -> None:
    """Up to 1 degree and 1 %, wherever the sheet lies, the scan reads as the sheet."""
    sheet, wanted = lid()
    report = read(scanned(sheet, turn=turn, scale=scale, shift=(x, y), noise=6), wanted)
    assert report.ok, report.findings
    assert report.pages[0].turned_deg == pytest.approx(turn, abs=0.06)


def test_a_scan_as_pdf_is_read_too() -> None:
    """The same picture inside a PDF gives the same codes."""
    sheet, wanted = lid()
    picture = Image.open(io.BytesIO(scanned(sheet, turn=0.3)))
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(picture.width * 0.24, picture.height * 0.24))
    canvas.drawImage(ImageReader(picture), 0, 0, picture.width * 0.24, picture.height * 0.24)
    canvas.showPage()
    canvas.save()
    report = read(out.getvalue(), wanted)
    assert report.ok
    assert len(report.codes) == 6


def test_a_sheet_printed_too_small_is_told() -> None:
    """97 %, as "fit to page" prints, is a finding."""
    sheet, wanted = lid()
    assert {f.kind for f in read(scanned(sheet, scale=0.97), wanted).findings} == {K.SCAN_SCALED}


def test_a_sheet_too_crooked_is_told() -> None:
    """More than 1 degree is a finding."""
    sheet, wanted = lid()
    assert K.SCAN_CROOKED in {f.kind for f in read(scanned(sheet, turn=1.6), wanted).findings}


def test_codes_missing_moved_and_wrong_are_told() -> None:
    """A code left out, one moved by 2.5 mm, and two that changed places are found."""
    sheet, wanted = lid()
    left_out = replace(sheet, bars=sheet.bars[1:])
    assert {f.kind for f in read(scanned(left_out), wanted).findings} == {K.CODE_MISSING}
    moved = replace(sheet, bars=[replace(sheet.bars[0], x=sheet.bars[0].x + 30), *sheet.bars[1:]])
    assert {f.kind for f in read(scanned(moved), wanted).findings} == {K.CODE_OUTSIDE}
    first, second, *others = sheet.bars
    swapped = replace(
        sheet,
        bars=[
            replace(first, modules=second.modules),
            replace(second, modules=first.modules),
            *others,
        ],
    )
    assert {f.kind for f in read(scanned(swapped), wanted).findings} == {K.CODE_WRONG}


def test_few_codes_in_wide_boxes_are_aligned_by_the_finished_file() -> None:
    """Three codes somewhere in their boxes: with the file's own report turn and size are exact;
    without it nothing is claimed that isn't sure."""
    sheet = good_sheet()
    picture = scanned(sheet, turn=0.6)
    assert read(picture, manifest()).ok
    made = check(sheet.pdf(), manifest(), read_in=2026)
    report = check_scan(picture, manifest(), made, read_in=2026)
    assert report.ok, report.findings
    assert report.pages[0].turned_deg == pytest.approx(0.6, abs=0.15)
    shrunk = check_scan(scanned(sheet, scale=0.97), manifest(), made, read_in=2026)
    assert {f.kind for f in shrunk.findings} == {K.SCAN_SCALED}


def test_another_jobs_sheet_is_told() -> None:
    """A scan without a code of this job isn't taken for it."""
    _, wanted = lid()
    blank = read(scanned(Sheet(size_mm=SIZE_MM)), wanted)
    assert not blank.ok
    assert {f.kind for f in blank.findings} == {K.CODE_MISSING}


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"\x89PNG\r\n\x1a\nx", b"%PDF-1.4 x"])
def test_what_is_no_scan_is_refused(data: bytes) -> None:
    """Other files and broken ones are refused."""
    _, wanted = lid()
    with pytest.raises(CheckRefused):
        check_scan(data, wanted)


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_a_sheet_may_lie_any_way_up(quarters: int) -> None:
    """Turned by a quarter or half, as a sideways page comes out of a printer, it reads the same."""
    sheet, wanted = lid()
    upright = np.asarray(Image.open(io.BytesIO(scanned(sheet, turn=0.4, noise=6))))
    report = read(png(np.rot90(upright, quarters)), wanted)
    assert report.ok, report.findings
    assert len(report.codes) == 6
    assert report.pages[0].turned_deg == pytest.approx(0.4, abs=0.06)


def test_a_finer_scan_says_so_and_is_read() -> None:
    """A PNG that says it has 600 dpi is read at its true size; one that says nothing has 300."""
    sheet, wanted = lid()
    page = pypdfium2.PdfDocument(sheet.pdf())[0]
    fine = np.asarray(page.render(scale=600 / 72, grayscale=True).to_pil())
    report = read(png(fine, 600), wanted)
    assert report.ok, report.findings
    assert report.pages[0].scale == pytest.approx(1, abs=0.001)
    assert {f.kind for f in read(png(fine), wanted).findings} >= {K.SCAN_SCALED}


def png(grey: np.ndarray, dpi: int = 0) -> bytes:
    """A picture, which says its resolution where one is given."""
    out = io.BytesIO()
    said = {"dpi": (dpi, dpi)} if dpi else {}
    Image.fromarray(np.ascontiguousarray(grey)).save(out, "PNG", compress_level=1, **said)
    return out.getvalue()


FRONT = (
    RequiredMark(x_mm=35, y_mm=9, arm_mm=2, ring_mm=0),
    RequiredMark(x_mm=35, y_mm=66, arm_mm=2, ring_mm=0),
)
BACK = tuple(mark.model_copy(update={"ring_mm": 1.0}) for mark in FRONT)


def pad() -> tuple[Sheet, Sheet, Manifest]:
    """Front and back of a sheet without codes, with two marks on each."""
    pages = [
        good_page().model_copy(
            update={
                "width_mm": SIZE_MM[0],
                "height_mm": SIZE_MM[1],
                "codes": (),
                "texts": (),
                "values": (),
                "empty": (),
                "draft_marks": (),
                "marks": marks,
            }
        )
        for marks in (FRONT, BACK)
    ]
    wanted = manifest(pages[0]).model_copy(update={"pages": tuple(pages)})
    sides = [Sheet(size_mm=SIZE_MM, extra=drawn(marks)) for marks in (FRONT, BACK)]
    return sides[0], sides[1], wanted


def drawn(marks: tuple[RequiredMark, ...], down: float = 0.0) -> Callable[[Canvas], None]:
    """What draws marks, so many millimetres lower."""

    def draw(canvas: Canvas) -> None:
        canvas.setLineWidth(0.25 * PT)
        for mark in marks:
            x, y, arm = mark.x_mm * PT, (SIZE_MM[1] - mark.y_mm - down) * PT, mark.arm_mm * PT
            canvas.line(x - arm, y, x + arm, y)
            canvas.line(x, y - arm, x, y + arm)
            if mark.ring_mm:
                canvas.circle(x, y, mark.ring_mm * PT)

    return draw


@pytest.mark.parametrize(("turn", "scale"), [(0.0, 1.0), (0.8, 1.006), (-0.7, 0.994)])
def test_pages_without_codes_are_aligned_by_their_marks(turn: float, scale: float) -> None:
    """Front and back are told apart by the ring, whichever comes first and whichever way up."""
    front, back, wanted = pad()
    for side, number in ((front, 1), (back, 2)):
        picture = scanned(side, turn=turn, scale=scale, noise=6)
        for data in (picture, png(np.rot90(np.asarray(Image.open(io.BytesIO(picture))), 2))):
            report = read(data, wanted)
            assert report.ok, report.findings
            (page,) = report.pages
            assert (page.page, page.codes, page.marks) == (number, 0, 2)
            assert page.turned_deg == pytest.approx(turn, abs=0.1)
            assert page.scale == pytest.approx(scale, abs=0.002)


def test_a_page_without_codes_printed_too_small_is_told() -> None:
    """97 %, by the marks alone; and a sheet with one mark gone isn't recognised."""
    front, _, wanted = pad()
    small = read(scanned(front, scale=0.97), wanted)
    assert {f.kind for f in small.findings} == {K.SCAN_SCALED}
    one = read(scanned(replace(front, extra=drawn(FRONT[:1]))), wanted)
    assert {f.kind for f in one.findings} == {K.CODE_MISSING}


def test_a_mark_beside_its_place_is_told() -> None:
    """Codes in their places and the marks 1.5 mm lower: print that was put together wrongly."""
    sheet, wanted = lid()
    (page,) = wanted.pages
    marked = wanted.model_copy(update={"pages": (page.model_copy(update={"marks": FRONT}),)})
    assert read(scanned(replace(sheet, extra=drawn(FRONT))), marked).ok
    lower = read(scanned(replace(sheet, extra=drawn(FRONT, down=1.5))), marked)
    assert {f.kind for f in lower.findings} == {K.MARK_MISSING}
