"""A released file through a real CUPS queue: what its printer was given is checked as a scan is."""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from bench_queue import BenchQueue, bench_queue, need_queue_tools, pictures
from command_line import run
from PIL import Image

from labelkit.checks.model import FindingKind, ScanReport
from labelkit.jobs.checking import check_scanned
from labelkit.jobs.ipp import PrinterRefused
from labelkit.jobs.manifests import manifest_of
from labelkit.jobs.printing import print_file

CONF = Path(__file__).with_name("bench_raster_printer.conf")
ARTWORK = ("lidding-TV2611", "sleeve-rx104321", "leaflet-rx104321", "pad-tadalafil")
FORMATS = {"pdf": 300, "grey-300": 300, "grey-600": 600, "bits-600": 600}
"""What a printer takes, and its dots to the inch: PDF, dots of 8 bits, dots that are ink or not."""
DOT_MM = 25.4 / 300


@pytest.fixture(scope="module", params=FORMATS)
def queue(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[BenchQueue, int]]:
    """A queue to a printer of each of the formats."""
    need_queue_tools()
    said, dpi = CONF.read_text(), FORMATS[request.param]
    conf = tmp_path_factory.mktemp("queue") / "printer.conf"
    if request.param == "pdf":
        said = said.replace("image/pwg-raster", "application/pdf")
    if request.param.startswith("bits"):
        said = said.replace("sgray_8", "black_1").replace('"monochrome"', '"bi-level"')
    conf.write_text(said.replace("300dpi", f"{dpi}dpi"))
    with bench_queue(conf) as started:
        yield started, dpi


@pytest.mark.parametrize("name", ARTWORK)
def test_what_the_queue_printed_is_the_released_file(
    demo: Path, tmp_path: Path, queue: tuple[BenchQueue, int], name: str
) -> None:
    """Each page at its own size and to a dot in its place, every mark there, and every code of
    the manifest read back as the check of the finished file read it."""
    through, dpi = queue
    pdf = demo / "artwork" / f"{name}.pdf"
    wanted = manifest_of(pdf.with_suffix(".manifest.json"))
    done = run("print", str(pdf), "--to", through.uri, "--json")
    assert done.returncode == 0, done.stderr
    job = json.loads(done.stdout)["job"]
    received, asked = through.received(job), through.printer.asked(job)
    assert asked["IPP_SIDES"] == json.loads(done.stdout)["sides"]
    assert "x-dimension=21590 y-dimension=27940" in asked["IPP_MEDIA_COL"]
    assert asked.get("IPP_COPIES", "1") == "1"
    if received.suffix == ".pdf":
        says_actual_size(received)
    pages = pictures(received, dpi)
    assert len(pages) == len(wanted.pages)
    for companion in (".manifest.json", ".check.json"):
        shutil.copy(pdf.with_suffix(companion), tmp_path)
    checked = json.loads(pdf.with_suffix(".check.json").read_text())
    read = []
    for number, (dots, page) in enumerate(zip(pages, wanted.pages, strict=True), start=1):
        size = sorted((page.width_mm, page.height_mm))
        assert sorted(dots.shape) == [round(side / 25.4 * dpi) for side in size]
        report = scanned(dots, dpi, tmp_path, name)
        assert report.ok, report.findings
        (seen,) = report.pages
        assert seen.page == number or not page.codes
        assert (seen.codes, seen.marks) == (len(page.codes), len(page.marks))
        assert seen.codes + seen.marks >= 2
        assert seen.scale == pytest.approx(1, abs=0.0005)
        assert seen.turned_deg == pytest.approx(0, abs=0.03)
        assert (seen.shift_x_mm, seen.shift_y_mm) == pytest.approx((0, 0), abs=2 * DOT_MM)
        assert seen.worst_mm < 2 * DOT_MM
        read += [code.text for code in report.codes]
    assert read == [code["text"] for code in checked["codes"]]
    assert len(read) == sum(len(page.codes) for page in wanted.pages)


def says_actual_size(received: Path) -> None:
    """CUPS 2.4 doesn't pass print-scaling on, so the file must say it, and be the sheet's size:
    there is nothing to scale."""
    with pikepdf.open(received) as document:
        assert str(document.Root.ViewerPreferences.PrintScaling) == "/None"
        for page in document.pages:
            assert [float(side) for side in page.mediabox] == [0, 0, 612, 792]


def scanned(dots: np.ndarray, dpi: int, folder: Path, stem: str) -> ScanReport:
    """The report of `labelkit check --scan` on one page of dots; the finished file's own check
    lies beside its manifest."""
    picture = folder / "scan.png"
    Image.fromarray(dots).save(picture, compress_level=1, dpi=(dpi, dpi))
    return check_scanned(picture, folder / f"{stem}.manifest.json")


def test_a_queue_that_takes_no_jobs_is_told(demo: Path, queue: tuple[BenchQueue, int]) -> None:
    """Its own words, and nothing printed."""
    through, _ = queue
    before = len(list(through.printer.spool.iterdir()))
    through.run("cupsreject", "bench")
    try:
        with pytest.raises(PrinterRefused, match="not-accepting"):
            print_file(demo / "artwork" / "lidding-TV2611.pdf", through.uri)
    finally:
        through.run("cupsaccept", "bench")
    assert len(list(through.printer.spool.iterdir())) == before


def test_a_stopped_queue_is_told(demo: Path, queue: tuple[BenchQueue, int]) -> None:
    """Nothing waits in it to be printed later, on whatever then lies in the tray."""
    through, _ = queue
    before = len(list(through.printer.spool.iterdir()))
    through.run("cupsdisable", "bench")
    try:
        with pytest.raises(PrinterRefused, match=r"the printer is stopped \(paused\)"):
            print_file(demo / "artwork" / "lidding-TV2611.pdf", through.uri)
    finally:
        through.run("cupsenable", "bench")
    assert len(list(through.printer.spool.iterdir())) == before


def test_a_queue_told_to_fit_the_page_is_found(
    demo: Path, tmp_path: Path, queue: tuple[BenchQueue, int]
) -> None:
    """The same file printed by CUPS's own lp, which shrinks it into the printable area: every page
    of it is found to be too small, so that the check above can fail."""
    through, dpi = queue
    for name in ("lidding-TV2611", "pad-tadalafil"):
        pdf = demo / "artwork" / f"{name}.pdf"
        for companion in (".manifest.json", ".check.json"):
            shutil.copy(pdf.with_suffix(companion), tmp_path)
        words = ("lp", "-d", "bench", "-o", "media=Letter", "-o", "print-scaling=fit", str(pdf))
        said = through.run(*words)
        job = int(said.partition("bench-")[2].split()[0])
        for dots in pictures(through.received(job), dpi):
            report = scanned(dots, dpi, tmp_path, name)
            assert {f.kind for f in report.findings} == {FindingKind.SCAN_SCALED}
            assert 0.92 < report.pages[0].scale < 0.98
