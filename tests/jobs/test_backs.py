"""Pads whose back a printer puts elsewhere than their front: read, kept, moved, checked."""

import json
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from command_line import run

from labelkit.checks.marks import find
from labelkit.checks.raster import render
from labelkit.geometry.alignment import PAPERS, Point, marks
from labelkit.ground.errors import LayoutRefused, RecordsRefused
from labelkit.jobs.aligning import FILE, align, alignments
from labelkit.jobs.running import copy_sample
from labelkit.manifest.model import Manifest

STOCK, FLIP = "letter-sideways", "short-edge"
WIDTH, HEIGHT = PAPERS[STOCK]
FRONT, BACK = (0.4, -0.3), (-0.5, 0.6)
"""Where the printer of this test puts each side, as seen from the front."""


def front_readings(off: Point = FRONT) -> list[str]:
    """What a rule says of the front's crosses."""
    where = marks(WIDTH, HEIGHT)
    return [f"{name}={x + off[0]:.2f},{y + off[1]:.2f}" for name, (x, y) in where.items()]


def back_readings(front: Point = FRONT, back: Point = BACK) -> list[str]:
    """What is read of each cross against the light."""
    dx, dy = back[0] - front[0], back[1] - front[1]
    return [f"{name}={dx:+.1f},{dy:+.1f}" for name in marks(WIDTH, HEIGHT)]


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample pharmacy with a printer whose front and back were read from three sheets."""
    folder = copy_sample("pharmacy", tmp_path_factory.mktemp("backs") / "records")
    align(folder, "bench", STOCK, front_readings() * 3)
    align(folder, "bench", STOCK, back_readings() * 3, FLIP)
    return folder


@pytest.fixture(scope="module")
def pads(records: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Pads made for that printer, by the command line."""
    out = tmp_path_factory.mktemp("pads")
    done = run("make", str(records), "--only", "pad", "--printer", "bench", "--out", str(out))
    assert done.returncode == 0, done.stderr
    return out


def test_front_and_back_of_a_printed_pad_agree(pads: Path) -> None:
    """The marks of the finished file's two pages, put where that printer puts them, lie on each
    other and in their place, to a reading's error and a dot; without the move they don't."""
    stated = Manifest.model_validate_json((pads / "pad-tadalafil.manifest.json").read_bytes())
    document = pypdfium2.PdfDocument(pads / "pad-tadalafil.pdf")
    seen = []
    for number, (wanted, off) in enumerate(zip(stated.pages, (FRONT, BACK), strict=True)):
        raster = render(document[number], 600)
        for mark in wanted.marks:
            there = find(raster, mark, 0.5)
            assert there is not None
            x = WIDTH - there.x_mm if number else there.x_mm
            seen.append((x + off[0], there.y_mm + off[1]))
    for printed, place in zip(seen, [(139.7, 9.0), (139.7, 191.9)] * 2, strict=True):
        assert printed == pytest.approx(place, abs=0.1)
    shift = WIDTH - stated.pages[1].marks[0].x_mm - stated.pages[0].marks[0].x_mm
    assert shift == pytest.approx(FRONT[0] - BACK[0], abs=0.01)


def test_the_check_knows_the_moved_origins(pads: Path) -> None:
    """The file passes its own check, which asks for both residuals' distance from the cuts; a
    back that is put elsewhere by 0.4 mm is found by its marks."""
    pdf = pads / "pad-tadalafil.pdf"
    done = run("check", str(pdf))
    assert done.returncode == 0, done.stderr
    stated = Manifest.model_validate_json(pdf.with_suffix(".manifest.json").read_bytes())
    assert {cut.clear_mm for page in stated.pages for cut in page.cuts} == {0.2}
    with pikepdf.open(pdf, allow_overwriting_input=True) as document:
        page = document.pages[1]
        shift = 0.4 / 25.4 * 72
        page.contents_add(f"q 1 0 0 1 {shift:.3f} 0 cm".encode(), prepend=True)
        page.contents_add(b"Q")
        document.save(pads / "other.pdf")
    manifest = str(pdf.with_suffix(".manifest.json"))
    done = run("check", str(pads / "other.pdf"), "--manifest", manifest, "--json")
    assert done.returncode == 1
    found = json.loads(done.stdout)["findings"]
    assert {f["page"] for f in found if f["kind"] == "mark-missing"} == {2}


def test_a_pad_needs_its_back_read(records: Path, tmp_path: Path) -> None:
    """A printer whose front alone was aligned, or whose back was read for the other edge, makes
    no pad, and is told what to do."""
    for name, flips in (("front-only", ()), ("other-edge", ("long-edge",))):
        align(records, name, STOCK, front_readings())
        for flip in flips:
            align(records, name, STOCK, back_readings(), flip)
        words = ("--only", "pad", "--printer", name, "--out", str(tmp_path))
        done = run("make", str(records), *words)
        assert done.returncode == 1
        assert f"{name}'s backs weren't read for {STOCK} turned about its {FLIP}" in done.stderr
        assert not list(tmp_path.glob("*.pdf"))


def test_a_printer_worse_than_the_layout_is_refused_with_numbers(
    records: Path, tmp_path: Path
) -> None:
    """From typed readings to the refusal, by the command line alone: one sheet of three fed
    1.5 mm lower leaves 1 mm and a reading's error, and pads keep 1 mm."""
    words = ("align", "worn", "--stock", STOCK, "--in", str(records))
    reads = [*front_readings((0, 0)) * 2, *front_readings((0, 1.5))]
    done = run(*words, *(word for reading in reads for word in ("--read", reading)))
    assert done.returncode == 0, done.stderr
    assert "up to 1.10 mm is left" in " ".join(done.stdout.split())
    reads = back_readings((0, 0), (0, 0)) * 3
    back = (word for reading in reads for word in ("--read", reading))
    assert run(*words, "--back", FLIP, *back).returncode == 0
    words = ("--only", "pad", "--printer", "worn", "--out", str(tmp_path))
    done = run("make", str(records), *words)
    said = " ".join(done.stderr.split())
    assert done.returncode == 1
    assert "on worn print lands up to 1.10 mm from its place when moved" in said
    assert "(1.10 mm read, 0.00 mm within the largest area)" in said
    assert "this layout keeps 1 mm from its cuts and folds" in said
    assert not list(tmp_path.glob("*.pdf"))


def test_the_register_sheet(tmp_path: Path) -> None:
    """Two sides, turned about the edge asked for, never scaled; each cross of the back lies
    behind one of the front."""
    file = tmp_path / "register.pdf"
    words = ("align", "bench", "--stock", STOCK, "--back", FLIP, "--out", str(file))
    assert run(*words).returncode == 0
    with pikepdf.open(file) as document:
        assert str(document.Root.ViewerPreferences.PrintScaling) == "/None"
        assert str(document.Root.ViewerPreferences.Duplex) == "/DuplexFlipShortEdge"
    pages = [render(page, 600).grey < 128 for page in pypdfium2.PdfDocument(file)]
    assert len(pages) == 2
    arm = round(2.4 / 25.4 * 600)
    for x, y in marks(WIDTH, HEIGHT).values():
        for page, across in zip(pages, (x, WIDTH - x), strict=True):
            column, row = round(across / 25.4 * 600), round(y / 25.4 * 600)
            assert page[row - arm : row + arm, column - 2 : column + 3].any(axis=1).all()
            assert page[row - 2 : row + 3, column - arm : column + arm].any(axis=0).all()


@pytest.mark.parametrize("offset", [-1.5, -0.7, 0.0, 0.3, 1.2])
def test_the_combs_say_the_offset(tmp_path: Path, offset: float) -> None:
    """Held against the light with the back put elsewhere, the line whose number is the offset is
    the one that runs on: of all lines it lies nearest to a line of the back."""
    file = tmp_path / "register.pdf"
    run("align", "bench", "--stock", STOCK, "--back", FLIP, "--out", str(file))
    front, back = (render(page, 1200).grey for page in pypdfium2.PdfDocument(file))
    px, (x, y) = 1200 / 25.4, marks(WIDTH, HEIGHT)["top-left"]
    through = back[:, ::-1]
    ahead = teeth(front[round((y + 11.5) * px)], px, x)
    behind = [at + offset for at in teeth(through[round((y + 12.5) * px)], px, x)]
    assert len(ahead) == len(behind) == 31
    apart = [abs(one - two) for one, two in zip(ahead, behind, strict=True)]
    assert apart.index(min(apart)) - 15 == pytest.approx(offset * 10)


def teeth(row: object, px: float, middle: float) -> list[float]:
    """Where the lines of a comb cross a row of pixels, in mm, within 16 mm of its middle."""
    dark = [i for i, grey in enumerate(row) if grey < 128 and abs(i / px - middle) < 16]  # type: ignore[arg-type,var-annotated]
    groups: list[list[int]] = []
    for i in dark:
        if groups and i - groups[-1][-1] <= 1:
            groups[-1].append(i)
        else:
            groups.append([i])
    return [sum(group) / len(group) / px for group in groups]


HOSTILE = {
    "not a number": ("offset_x_mm = ", "offset_x_mm = nan #"),
    "endless": ("offset_y_mm = ", "offset_y_mm = inf #"),
    "a milliard": ("offset_x_mm = ", "offset_x_mm = 1e9 #"),
    "negative scale": ("scale_x = ", "scale_x = -1.0 #"),
    "no scale": ("scale_y = ", "scale_y = 0.0 #"),
    "a lean of a right angle": ("skew_x = ", "skew_x = 1.0 #"),
    "a residual below a reading": ("residual_mm = ", "residual_mm = -5.0 #"),
    "no sheets": ("sheets = ", "sheets = 0 #"),
    "half a sheet": ("sheets = ", "sheets = 2.5 #"),
    "words for a number": ("scale_x = ", 'scale_x = "wide" #'),
    "another paper": ("stock = ", 'stock = "vellum" #'),
    "another edge": ("flip = ", 'flip = "corner" #'),
    "no day": ("read_on = ", 'read_on = "yesterday" #'),
}


@pytest.mark.parametrize("harm", HOSTILE)
def test_a_hostile_file_of_printers_is_told(tmp_path: Path, harm: str) -> None:
    """Each value out of its range is refused by its name, and nothing is made from any of it."""
    align(tmp_path, "bench", STOCK, back_readings(), FLIP)
    path, (old, new) = tmp_path / FILE, HOSTILE[harm]
    assert old in path.read_text()
    path.write_text(path.read_text().replace(old, new, 1))
    with pytest.raises(RecordsRefused) as refused:
        alignments(tmp_path, "bench")
    assert [fault.field for fault in refused.value.faults] == [f"printer.0.{old.split()[0]}"]


def test_a_printer_kept_twice_is_told(tmp_path: Path) -> None:
    """Which of two is meant nobody knows, so neither is used."""
    align(tmp_path, "bench", STOCK, front_readings())
    path = tmp_path / FILE
    path.write_text(path.read_text() + "\n" + path.read_text())
    with pytest.raises(RecordsRefused, match="kept twice"):
        alignments(tmp_path, "bench")


def test_readings_that_no_sheet_gives(tmp_path: Path) -> None:
    """Not numbers, an unknown cross, an unknown edge: said at the command line, nothing kept."""
    good = back_readings()[1:]
    for wrong in ("top-left=nan,0", "top-left=inf,0", "top-left=1e9,0"):
        with pytest.raises(LayoutRefused, match="more than 5 mm off"):
            align(tmp_path, "bench", STOCK, [wrong, *good], FLIP)
    words = ("align", "bench", "--stock", STOCK, "--in", str(tmp_path))
    assert run(*words, "--back", "corner", "--read", "top-left=0,0").returncode == 2
    assert run(*words, "--back", "corner").returncode == 2
    assert not (tmp_path / FILE).exists()
