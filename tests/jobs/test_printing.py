"""A released file reaches a real IPP printer unchanged, and nothing else does."""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pikepdf
import pytest
import zxingcpp
from bench_printer import BenchPrinter, bench_printer, need_debian_tools, rasters
from command_line import run

from labelkit.checks.reading_back import check
from labelkit.geometry.reading import load
from labelkit.ground import door
from labelkit.ground.errors import CheckRefused
from labelkit.jobs.ipp import PrinterRefused
from labelkit.jobs.printing import print_file
from labelkit.manifest.model import Manifest, RequiredCode

CONF = Path(__file__).with_name("bench_printer.conf")
LIDDING, SLEEVE = "lidding-TV2611.pdf", "sleeve-rx104321.pdf"


@pytest.fixture(scope="module")
def printer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BenchPrinter]:
    """A printer with Letter in its tray, 300 and 600 dpi, one side."""
    need_debian_tools()
    with bench_printer(tmp_path_factory.mktemp("printer"), CONF) as started:
        yield started


@pytest.fixture
def files(demo: Path, tmp_path: Path) -> Path:
    """Copies of two released files with their companions, free to be damaged."""
    folder = tmp_path / "artwork"
    folder.mkdir()
    for name in (LIDDING, SLEEVE):
        for path in (demo / "artwork").glob(f"{name.removesuffix('.pdf')}.*"):
            shutil.copy(path, folder)
    return folder


def manifest(pdf: Path) -> Manifest:
    """The manifest beside a file."""
    return Manifest.model_validate_json(pdf.with_suffix(".manifest.json").read_bytes())


@pytest.mark.parametrize("name", [LIDDING, SLEEVE])
def test_what_the_printer_received_is_the_released_file(
    files: Path, printer: BenchPrinter, name: str
) -> None:
    """Byte for byte, and it passes the check again."""
    done = print_file(files / name, printer.uri)
    received = printer.received(done.job).read_bytes()
    assert received == (files / name).read_bytes()
    assert check(received, manifest(files / name)).ok
    assert (done.width_mm, done.height_mm) == (215.9, 279.4)  # Letter: ANSI/ASME Y14.1
    assert not list(files.glob(f"{door.PART}*"))


@pytest.mark.parametrize("name", [LIDDING, SLEEVE])
def test_what_the_job_asks_of_the_printer(files: Path, printer: BenchPrinter, name: str) -> None:
    """Actual size, one copy, one side, the stock's size, whole dots of the codes, to the letter
    (PWG 5100.16 print-scaling; RFC 8011, 5.2)."""
    done = print_file(files / name, printer.uri)
    printer.received(done.job)
    asked = printer.asked(done.job)
    assert asked["IPP_PRINT_SCALING_DEFAULT"] == "auto"
    assert asked["IPP_PRINT_SCALING"] == "none"
    assert asked["IPP_COPIES"] == "1"
    assert asked["IPP_SIDES"] == "one-sided"
    assert asked["IPP_PRINTER_RESOLUTION"] == "300dpi"
    assert "x-dimension=21590 y-dimension=27940" in asked["IPP_MEDIA_COL"]


def test_a_job_names_no_patient(files: Path, printer: BenchPrinter) -> None:
    """The spool's own file name, made from the job's name, holds no prescription number."""
    done = print_file(files / SLEEVE, printer.uri)
    assert "104321" not in printer.received(done.job).name


@pytest.mark.parametrize("mode", ["monochrome", "bi-level"])
@pytest.mark.parametrize("dpi", [300, 600])
def test_codes_scan_after_the_print_filters(
    files: Path, printer: BenchPrinter, dpi: int, mode: str
) -> None:
    """What the printer received, made into dots by CUPS's filters, scans and says the same."""
    for name in (LIDDING, SLEEVE):
        received = printer.received(print_file(files / name, printer.uri).job)
        wanted = manifest(files / name)
        pages = list(rasters(received, dpi, mode))
        assert len(pages) == len(wanted.pages)
        checked = json.loads((files / name).with_suffix(".check.json").read_text())
        assert len(checked["codes"]) == sum(len(page.codes) for page in wanted.pages) > 2
        read = iter(checked["codes"])  # in the manifest's order
        for dots, page in zip(pages, wanted.pages, strict=True):
            assert dots.shape == (round(11 * dpi), round(8.5 * dpi))
            if page.width_mm > page.height_mm:  # a landscape page lies turned on the sheet
                dots = np.rot90(dots, k=-1)
            for code in page.codes:
                text = next(read)["text"]
                assert scanned(dots, code, dpi) == [text]
                assert all(code.fields.get(f, "") in text for f in ("lot", "serial", "rx"))


def scanned(dots: np.ndarray, code: RequiredCode, dpi: int) -> list[str]:
    """What a reader of symbols that the project didn't write finds in a code's box."""
    place, px = code.within, dpi / 25.4
    top, left = int(place.y_mm * px), int(place.x_mm * px)
    bottom, right = int((place.y_mm + place.h_mm) * px) + 1, int((place.x_mm + place.w_mm) * px) + 1
    box = np.ascontiguousarray(dots[top:bottom, left:right])
    padded = np.pad(box, 20, constant_values=255)
    found = zxingcpp.read_barcodes(padded, text_mode=zxingcpp.TextMode.Plain)
    return [symbol.text for symbol in found]


def test_a_changed_file_is_refused(files: Path, printer: BenchPrinter) -> None:
    """One byte more than what was checked, and nothing goes out."""
    before = printer.jobs
    with (files / LIDDING).open("ab") as file:
        file.write(b"\n")
    with pytest.raises(CheckRefused, match="changed since it was checked"):
        print_file(files / LIDDING, printer.uri)
    assert printer.jobs == before


def test_a_file_that_no_longer_passes_is_refused(files: Path, printer: BenchPrinter) -> None:
    """Another file under a released one's name, with a check that vouches for it, is caught by
    the check made now."""
    before = printer.jobs
    shutil.copy(files / SLEEVE, files / LIDDING)
    stated = json.loads((files / SLEEVE).with_suffix(".check.json").read_text())
    path = (files / LIDDING).with_suffix(".check.json")
    path.write_text(json.dumps(stated))
    with pytest.raises(CheckRefused, match="don't print it"):
        print_file(files / LIDDING, printer.uri)
    path.unlink()
    with pytest.raises(CheckRefused, match="can't be read"):
        print_file(files / LIDDING, printer.uri)
    assert printer.jobs == before


@pytest.mark.parametrize("said", [False, None, "true", 1])
def test_a_file_whose_check_failed_is_refused(
    files: Path, printer: BenchPrinter, said: object
) -> None:
    """The check beside it is of these very bytes and doesn't say that nothing was found: whatever
    a check made now says, somebody has to look."""
    before = printer.jobs
    path = (files / LIDDING).with_suffix(".check.json")
    stated = json.loads(path.read_text())
    assert stated["ok"] is True
    path.write_text(json.dumps(stated | {"ok": said}))
    done = run("print", str(files / LIDDING), "--to", printer.uri)
    assert done.returncode == 1
    assert "its check didn't find it right" in done.stderr
    assert printer.jobs == before


def test_every_file_forbids_scaling(demo: Path, tmp_path: Path) -> None:
    """All artwork, drafts, the sheets of the bench and the die's lines: PrintScaling is None
    (ISO 32000-1, table 150)."""
    records = shutil.copytree(demo / "records", tmp_path / "records")
    (records / "acceptances.toml").unlink()
    out = tmp_path / "out"
    asked = (
        ("make", str(records), "--lot", "NP2611", "--only", "lidding", "--die-lines"),
        ("plan", str(records)),
        ("align", "bench", "--stock", "letter"),
        ("align", "bench", "--stock", "a4-sideways", "--back", "short-edge"),
    )
    for number, words in enumerate(asked):
        to = out if words[0] == "make" else out / f"{number}.pdf"
        out.mkdir(exist_ok=True)
        assert run(*words, "--out", str(to)).returncode == 0, words
    made = [*(demo / "artwork").glob("*.pdf"), *out.rglob("*.pdf")]
    assert len(made) > 38
    assert any(path.parent.name == "drafts" for path in made)
    for path in made:
        with pikepdf.open(path) as document:
            assert str(document.Root.ViewerPreferences.PrintScaling) == "/None", path


def test_a_draft_is_refused(demo: Path, tmp_path: Path, printer: BenchPrinter) -> None:
    """Wording that nobody accepted never reaches a printer, from the command line either."""
    before = printer.jobs
    records = shutil.copytree(demo / "records", tmp_path / "records")
    (records / "acceptances.toml").unlink()
    words = ("--rx", "104325", "--only", "sleeve", "--out", str(tmp_path / "out"))
    assert run("make", str(records), *words).returncode == 0
    draft = tmp_path / "out" / "drafts" / "sleeve-rx104325.pdf"
    done = run("print", str(draft), "--to", printer.uri)
    assert done.returncode == 1
    assert "drafts are never printed" in done.stderr
    assert printer.jobs == before


def test_the_command_line_says_what_was_sent(files: Path, printer: BenchPrinter) -> None:
    """Job, size and sides in words and as JSON; 'not second-checked' in both."""
    done = run("print", str(files / SLEEVE), "--to", printer.uri)
    assert done.returncode == 0, done.stderr
    assert "215.9 × 279.4 mm, one-sided, actual size" in done.stdout
    assert "Not second-checked" in done.stdout
    stated = json.loads(run("print", str(files / SLEEVE), "--to", printer.uri, "--json").stdout)
    assert stated["second_check"] == "not second-checked"
    assert stated["job"] > 1


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (("21590 MEMBER", "21000 MEMBER"), "media-col"),
        (('"auto","none"', '"auto","fit"'), "without scaling"),
        (
            ('media-ready "na_letter_8.5x11in"', 'media-ready "iso_a4_210x297mm"'),
            r"for 215\.9 × 279\.4 mm, and in the printer lies iso_a4_210x297mm",
        ),
        (("300dpi,600dpi", "203dpi"), "dots of 300 to the inch, and the printer offers 203 dpi"),
    ],
)
def test_a_printer_that_cannot_do_it_is_refused(
    files: Path, tmp_path: Path, said: tuple[str, str], told: str
) -> None:
    """Another size in its tray, no actual size, or the wrong dots: nothing is printed."""
    need_debian_tools()
    conf = tmp_path / "other.conf"
    conf.write_text(CONF.read_text().replace(*said))
    with bench_printer(tmp_path / "other", conf) as other:
        with pytest.raises(PrinterRefused, match=told):
            print_file(files / LIDDING, other.uri)
        assert other.jobs == 0


def test_pads_are_printed_on_both_sides_or_not_at_all(
    demo: Path, tmp_path: Path, printer: BenchPrinter
) -> None:
    """A pad is turned about the edge its layout names; a printer of one side refuses it."""
    before, pad = printer.jobs, demo / "artwork" / "pad-tadalafil.pdf"
    flip = load(manifest(pad).layout).flip
    with pytest.raises(PrinterRefused, match="sides"):
        print_file(pad, printer.uri)
    assert printer.jobs == before
    conf = tmp_path / "duplex.conf"
    both = f'sides-supported "one-sided","two-sided-{flip}"'
    conf.write_text(CONF.read_text().replace('sides-supported "one-sided"', both))
    with bench_printer(tmp_path / "duplex", conf) as duplex:
        done = print_file(pad, duplex.uri)
        assert done.sides == f"two-sided-{flip}"
        assert duplex.received(done.job).read_bytes() == pad.read_bytes()


def test_die_lines_are_no_label(demo: Path, tmp_path: Path) -> None:
    """The file for the die's maker has no manifest, and so never goes out as artwork."""
    words = ("--lot", "NP2611", "--only", "lidding", "--die-lines", "--out", str(tmp_path))
    assert run("make", str(demo / "records"), *words).returncode == 0
    with pytest.raises(CheckRefused, match=r"die-lines\.manifest\.json: can't be read"):
        print_file(tmp_path / "lidding-NP2611.die-lines.pdf", "ipp://localhost/ipp/print")


def test_a_printer_that_says_nothing_of_scaling_is_refused(files: Path, tmp_path: Path) -> None:
    """Silence isn't a promise of actual size."""
    need_debian_tools()
    with bench_printer(tmp_path / "silent", None) as silent:
        with pytest.raises(PrinterRefused, match="without scaling"):
            print_file(files / LIDDING, silent.uri)
        assert silent.jobs == 0


def test_a_printer_that_is_not_there(files: Path) -> None:
    """No answer is a refusal with words."""
    need_debian_tools()
    with pytest.raises(PrinterRefused, match="onnect"):
        print_file(files / LIDDING, "ipp://localhost:9/ipp/print")


@pytest.mark.parametrize("uri", ["lp0", "http://printer.example/", "ipp://", "-X", "ipp://[::1"])
def test_an_address_that_is_none(tmp_path: Path, uri: str) -> None:
    """Only IPP addresses are taken; nothing else reaches another program's words."""
    with pytest.raises(PrinterRefused, match="no address"):
        print_file(tmp_path / "some.pdf", uri)
