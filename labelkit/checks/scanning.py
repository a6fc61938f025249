"""Reads a scanned sheet back: aligns the picture, then checks its codes, marks and places.

A scan lies crooked and a little too large; both are measured from codes and registration marks
and taken out. Codes are compared with the records as on the finished file. Text isn't read:
what is legible on paper is a person's to say. A page without either can't be aligned.
"""

import io
import warnings
from cmath import phase
from collections.abc import Iterable
from math import degrees

import numpy as np
from PIL import Image

from labelkit.checks import symbols
from labelkit.checks.alignment import FAR_MM, SCAN_DPI, TOLERANCE_MM, Alignment, aligned
from labelkit.checks.codes import Told, contents, short_payload
from labelkit.checks.marks import find
from labelkit.checks.marks import missing as missing_mark
from labelkit.checks.model import (
    CheckReport,
    Finding,
    FindingKind,
    ReadCode,
    ScannedPage,
    ScanReport,
    sentence,
)
from labelkit.checks.opening import opened, refusal
from labelkit.checks.places import edges, grown, inside, pixels, place_of
from labelkit.checks.raster import Grey, Raster, render
from labelkit.checks.recognising import recognised
from labelkit.ground import door
from labelkit.ground.errors import CheckRefused
from labelkit.manifest.model import Manifest, ManifestPage

MOST_TURN_DEG = 1.0
"""A sheet that lies more crooked than this is scanned again."""

MOST_SCALE = 0.01
"""Scanners and printers together stretch by less; "fit to page" shrinks by 3 % and more."""

PNG = b"\x89PNG\r\n\x1a\n"
"""How every PNG begins; then comes IHDR, with width and height (PNG, third edition, 5.2, 11.2)."""

MOST_PIXELS = 80_000_000
"""A sheet of 24 by 24 inches at 300 dpi has 52 million."""


def check_scan(
    data: bytes,
    manifest: Manifest,
    made: CheckReport | None = None,
    *,
    read_in: int | None = None,
) -> ScanReport:
    """The report on a scan: a PNG of one page, or a PDF of one or more.

    A PNG is taken to have 300 dpi unless it says of itself that it has a multiple of it. Each
    picture is taken for the manifest's page whose codes it shows most of, whichever way up it
    lies; one without codes for a page without, by its registration marks. `made` is the
    report on the file that was printed: it tells where in its box each code stands, so that
    a sheet of few codes is aligned exactly. Raises CheckRefused for what is no scan.
    """
    year = door.today().year if read_in is None else read_in
    pages: list[ScannedPage] = []
    findings: list[Finding] = []
    codes: list[ReadCode] = []
    for place, raster in enumerate(_rasters(data, len(manifest.pages))):
        page, found, read = _page(raster, manifest, made, year, place)
        findings += found
        codes += read
        if page is not None:
            pages.append(page)
    return ScanReport(
        title=manifest.title, pages=tuple(pages), findings=tuple(findings), codes=tuple(codes)
    )


def _rasters(data: bytes, most: int) -> Iterable[Raster]:
    if data[:5] == b"%PDF-":
        with opened(data) as (document, _):
            if len(document) > most:
                have = "one" if most == 1 else str(most)
                raise refusal(
                    f"has {len(document)} pages where the printed file has {have}",
                    "scan each sheet once, and check it with its own manifest",
                )
            for page in document:
                try:
                    yield render(page, SCAN_DPI)
                finally:
                    page.close()
        return
    yield Raster(_picture(data), SCAN_DPI)


def _picture(data: bytes) -> Grey:
    """The grey levels of a PNG. Its size is read before anything of it is unpacked.

    Raises CheckRefused for whatever isn't a still picture of at most `MOST_PIXELS`.
    """
    if data[:8] != PNG or data[12:16] != b"IHDR":
        raise refusal("is neither a PNG nor a PDF", "scan it again at 300 dpi")
    width, height = (int.from_bytes(data[at : at + 4]) for at in (16, 20))
    if width * height > MOST_PIXELS:
        raise refusal(
            f"the scan has {width} by {height} pixels, more than {MOST_PIXELS:,}",
            "scan one sheet at 300 dpi",
        )
    try:
        with warnings.catch_warnings():
            # Said of palettes and animations alike; what matters of them is seen below.
            warnings.simplefilter("ignore")
            picture = Image.open(io.BytesIO(data), formats=("PNG",))
            if getattr(picture, "n_frames", 1) > 1:
                raise refusal("is an animation", "scan it again, as a still picture")
            grey = picture.convert("L").reduce(_finer(picture.info.get("dpi")))
            return np.asarray(grey, dtype=np.uint8)
    except CheckRefused:
        raise
    # The library raises nearly anything for a damaged chunk: IndexError, struct.error, …
    except Exception as error:
        raise refusal("is a damaged PNG", "scan it again at 300 dpi") from error


def _finer(said: object) -> int:
    """How many times 300 dpi a picture says that it has (pHYs: PNG, third edition, 11.3.4.3)."""
    dpi = max(said) if isinstance(said, tuple) and said else SCAN_DPI
    times = round(dpi / SCAN_DPI)
    return times if times > 1 and abs(dpi - times * SCAN_DPI) < 1 else 1


def _page(
    raster: Raster, manifest: Manifest, made: CheckReport | None, year: int, place: int
) -> tuple[ScannedPage | None, list[Finding], list[ReadCode]]:
    found, seen = recognised(raster, manifest, made, year, place)
    if found is None:
        missing = sentence(
            FindingKind.CODE_MISSING,
            0,
            "no code and no registration mark of this job can be read on the scan, so that it "
            "can't be aligned",
            expected="the codes and marks of one page",
            found=", ".join(short_payload(s.text) for s in seen) or "none",
        )
        return None, [missing], []
    alignment, number = aligned(found.known), found.number
    page = ScannedPage(
        page=number + 1,
        turned_deg=round(degrees(phase(alignment.factor)), 3),
        scale=round(abs(alignment.factor), 5),
        shift_x_mm=round(alignment.shift.real, 2),
        shift_y_mm=round(alignment.shift.imag, 2),
        worst_mm=round(alignment.worst_mm, 2),
        codes=len(found.codes),
        marks=len(found.marks),
    )
    straight = _straightened(found.raster, alignment, manifest.pages[number])
    wrong, read = _codes(straight, manifest.pages[number], number + 1, year)
    for mark in manifest.pages[number].marks:
        there = find(straight, mark, TOLERANCE_MM)
        if there is None or there.ringed != bool(mark.ring_mm):
            wrong.append(missing_mark(mark, number + 1, f"within {TOLERANCE_MM:g} mm of its place"))
    return page, _judged(page, alignment) + wrong, read


def _straightened(raster: Raster, alignment: Alignment, page: ManifestPage) -> Raster:
    """The scan as the page would have been rendered."""
    factor, shift = alignment.factor, alignment.shift
    size = (
        round(pixels(page.width_mm, SCAN_DPI)),
        round(pixels(page.height_mm, SCAN_DPI)),
    )
    coefficients = (
        factor.real,
        -factor.imag,
        pixels(shift.real, SCAN_DPI),
        factor.imag,
        factor.real,
        pixels(shift.imag, SCAN_DPI),
    )
    picture = Image.fromarray(raster.grey).transform(
        size, Image.Transform.AFFINE, coefficients, Image.Resampling.BICUBIC, fillcolor=255
    )
    return Raster(np.asarray(picture, dtype=np.uint8), SCAN_DPI)


def _judged(page: ScannedPage, alignment: Alignment) -> list[Finding]:
    """Findings of a sheet that lies too crooked or isn't at its size, as far as that is sure."""
    findings = []
    if abs(page.turned_deg) > MOST_TURN_DEG + degrees(alignment.sure_to):
        findings.append(
            sentence(
                FindingKind.SCAN_CROOKED,
                page.page,
                f"lies crooked by {page.turned_deg:.2f} degrees: scan it again",
                expected=f"at most {MOST_TURN_DEG:g} degrees",
                found=f"{page.turned_deg:.2f} degrees",
            )
        )
    if abs(page.scale - 1) > MOST_SCALE + alignment.sure_to:
        findings.append(
            sentence(
                FindingKind.SCAN_SCALED,
                page.page,
                f"is printed or scanned at {page.scale * 100:.1f} % of its size",
                expected=f"100 %, give or take {MOST_SCALE * 100:g} %",
                found=f"{page.scale * 100:.2f} %",
            )
        )
    return findings


def _codes(
    straight: Raster, page: ManifestPage, number: int, year: int
) -> tuple[list[Finding], list[ReadCode]]:
    """Each required code where the alignment says it must be."""
    findings: list[Finding] = []
    read: list[ReadCode] = []
    for required in page.codes:
        told = Told(required, number)
        box = edges(required.within)
        found = symbols.read_in(straight, grown(box, TOLERANCE_MM + FAR_MM))
        inner = [s for s in found if inside(s.edges(SCAN_DPI), box, TOLERANCE_MM)]
        if not found:
            findings.append(
                told.finding(
                    FindingKind.CODE_MISSING, "can't be read on the scan", "a code", "none"
                )
            )
            continue
        if not inner:
            where = found[0].edges(SCAN_DPI)
            findings.append(
                told.finding(
                    FindingKind.CODE_OUTSIDE,
                    f"lies more than {TOLERANCE_MM:g} mm out of its box on the scan",
                    "inside its box",
                    f"{where[0]:.1f}, {where[1]:.1f} mm",
                    where,
                )
            )
        one = (inner or found)[0]
        findings += contents(told, one, year)
        measured = symbols.measure(one, straight)
        read.append(
            ReadCode(
                page=number,
                name=required.name,
                piece=required.piece,
                area=required.area,
                where=place_of(one.edges(SCAN_DPI)),
                text=one.text,
                identifier=one.identifier,
                x_dots=round(measured.x_px, 2),
            )
        )
    return findings, read
