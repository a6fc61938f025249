"""Part-used sheets, spare lids, copies, die lines, and the printer a file is made for."""

import io
import json
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
from command_line import SAMPLE, run

from labelkit.checks.model import FindingKind
from labelkit.checks.reading_back import check
from labelkit.geometry.model import Layout
from labelkit.geometry.reading import load
from labelkit.ground.errors import RecordsRefused
from labelkit.jobs.aligning import FILE, align, alignments
from labelkit.jobs.results import Outcome
from labelkit.jobs.running import copy_sample, make
from labelkit.jobs.wishes import Wish
from labelkit.manifest.model import Manifest, place

LOT = "NP2611"
PT = 72 / 25.4
LIDS = frozenset({"lidding"})
CENTRE = "centre=108.25,139.5"
"""0.3 mm to the right and 0.2 mm too high."""
READ = (
    "top-left=25.3,24.8",
    "top-right=191.2,24.8",
    CENTRE,
    "bottom-left=25.3,254.2",
    "bottom-right=191.2,254.2",
)


def lids(out: Path, **more: object) -> Outcome:
    """The stock lidding of one lot."""
    return make(SAMPLE, Wish(lots=(LOT,), only=LIDS, **more), out)  # type: ignore[arg-type]


def manifest(out: Path, stem: str) -> Manifest:
    """The manifest of a file."""
    return Manifest.model_validate_json((out / f"{stem}.manifest.json").read_bytes())


def test_a_part_used_sheet(tmp_path: Path) -> None:
    """From place 2 the first card's room stays bare paper, and every lid is there once."""
    whole, begun = lids(tmp_path / "whole"), lids(tmp_path / "begun", start_at=2)
    assert not begun.refused
    before, after = (manifest(tmp_path / n, f"lidding-{LOT}") for n in ("whole", "begun"))
    assert after.serials == before.serials
    assert begun.made[0].codes == whole.made[0].codes
    page = pypdfium2.PdfDocument(tmp_path / "begun" / f"lidding-{LOT}.pdf")[0]
    grey = page.render(scale=150 / 72, grayscale=True).to_numpy().squeeze()
    inks = [_ink(grey, load("lidding-20-letter"), card) for card in (1, 2)]
    assert inks[0] == 0
    assert inks[1] > 1000
    gone = [piece for piece in load("lidding-20-letter").faces[0].pieces if piece.card == 1]
    assert [bare.within for bare in after.pages[0].bare] == [place(p.outline) for p in gone]


def test_print_over_a_used_place_is_found(tmp_path: Path) -> None:
    """The file of a whole sheet, checked as if it were for one whose first place is gone."""
    lids(tmp_path / "whole")
    lids(tmp_path / "begun", start_at=2)
    pdf = (tmp_path / "whole" / f"lidding-{LOT}.pdf").read_bytes()
    report = check(pdf, manifest(tmp_path / "begun", f"lidding-{LOT}"))
    bare = [f for f in report.findings if f.kind is FindingKind.NOT_BARE]
    assert [(f.page, f.piece) for f in bare] == [(1, "A"), (1, "B")]


def test_places_left_over_are_bare_or_say_that_they_are_empty(tmp_path: Path) -> None:
    """One spare lid on a sheet of two: the other place's header bands must hold nothing, and a
    lot written there is found; with two spares nothing is left over."""
    lids(tmp_path / "one", spoilage=1)
    lids(tmp_path / "two", spoilage=2)
    stem = f"lidding-{LOT}_spare"
    assert manifest(tmp_path / "two", stem).pages[0].bare == ()
    left = manifest(tmp_path / "one", stem)
    assert {bare.area for bare in left.pages[0].bare} == {"band", "draft"}
    with pikepdf.open(tmp_path / "one" / f"{stem}.pdf") as document:
        piece = next(p for p in load("lidding-20-letter").faces[0].pieces if p.card == 2)
        x, y = (piece.outline.x_mm + 12) * PT, (279.4 - piece.outline.y_mm - 8) * PT
        document.pages[0].contents_add(f"q 0 g {x:.2f} {y:.2f} 20 4 re f Q".encode())
        out = io.BytesIO()
        document.save(out)
    found = check(out.getvalue(), left).findings
    assert {f.piece for f in found if f.kind is FindingKind.NOT_BARE} == {piece.id}


def _ink(grey: np.ndarray, layout: Layout, card: int) -> int:
    """Dark pixels in the room of a card, at 150 dpi, a dot inside its outline."""
    dark = 0
    for piece in layout.faces[0].pieces:
        if piece.card == card:
            box, px = piece.outline.inset(0.2), 150 / 25.4
            rows = slice(round(box.y_mm * px), round(box.bottom_mm * px))
            dark += int((grey[rows, round(box.x_mm * px) : round(box.right_mm * px)] < 200).sum())
    return dark


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"lots": (LOT, "TV2611"), "start_at": 2}, "takes one file of lidding, and 2 are asked"),
        ({"lots": (LOT,), "start_at": 2, "spoilage": 1}, "one file of lidding, and 2 are asked"),
        ({"lots": (LOT,), "start_at": 3}, "no place 3 on a sheet of 2"),
        ({"rx": ("104321",), "spoilage": 2}, "no stock lidding is asked for"),
        ({"lots": (LOT,), "printer": "bench"}, "no printer 'bench' was aligned"),
    ],
)
def test_what_cannot_be_handled_is_said(tmp_path: Path, more: dict[str, object], told: str) -> None:
    """Two files on one part-used sheet, a place that isn't there, spares of nothing."""
    with pytest.raises(RecordsRefused, match=told):
        make(SAMPLE, Wish(only=LIDS, **more), tmp_path / "out")  # type: ignore[arg-type]
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--start-at", "0"), "0 isn't 1 to"),
        (("--spoilage", "-1"), "-1 isn't 0 to"),
        (("--copies", "501"), "501 isn't 1 to 500"),
        (("--copies", "2", "--only", "lidding"), "no pad is asked for"),
        (("--start-at", "2", "--only", "pad"), "no lidding is asked for"),
    ],
)
def test_numbers_that_cannot_be_are_said(tmp_path: Path, words: tuple[str, ...], told: str) -> None:
    """The command line refuses them before it reads or writes anything."""
    done = run("make", str(SAMPLE), "--all", *words, "--out", str(tmp_path / "out"))
    assert done.returncode == 2
    assert told in " ".join(done.stderr.split())
    assert not (tmp_path / "out").exists()


def test_spare_lids_have_serials_of_their_own(tmp_path: Path) -> None:
    """Spares stand in a file of their own, numbered on; the lot's own lids are as without."""
    bare, more = lids(tmp_path / "bare"), lids(tmp_path / "more", spoilage=3)
    own, spare = more.made
    assert own.sha256 == bare.made[0].sha256
    assert spare.file == f"lidding-{LOT}_spare.pdf"
    first, after = (manifest(tmp_path / "more", m.file.removesuffix(".pdf")) for m in (own, spare))
    assert len(after.serials) == 3 * 20
    numbers = [int(serial.rpartition("-")[2]) for serial in (*first.serials, *after.serials)]
    assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))


def test_copies_of_pads(tmp_path: Path) -> None:
    """Three copies are three times the sheets, fronts and backs in turn."""
    pads = Wish(everything=True, only=frozenset({"pad"}))
    one = make(SAMPLE, pads, tmp_path / "one")
    three = make(SAMPLE, Wish(everything=True, only=pads.only, copies=3), tmp_path / "three")
    assert [m.pages for m in three.made] == [3 * m.pages for m in one.made]


def test_die_lines_stand_in_a_file_of_their_own(tmp_path: Path) -> None:
    """The print file is the same with and without; the other holds lines and no text."""
    without, with_lines = lids(tmp_path / "a"), lids(tmp_path / "b", die_lines=True)
    assert with_lines.made[0].sha256 == without.made[0].sha256
    file = tmp_path / "b" / f"lidding-{LOT}.die-lines.pdf"
    with pikepdf.open(file) as document:
        (page,) = document.pages
        said = [str(one.operator) for one in pikepdf.parse_content_stream(page)]
    assert said.count("S") == len(load("lidding-20-letter").faces[0].lines)
    assert "Tj" not in said
    assert "TJ" not in said
    assert not (tmp_path / "a" / file.name).exists()
    lids(tmp_path / "b")
    assert not file.exists()


def test_a_file_made_for_a_printer(tmp_path: Path) -> None:
    """What the person read moves every place of the manifest and every code on the page alike;
    a paper that the printer wasn't aligned for is refused for its files alone."""
    records = copy_sample("pharmacy", tmp_path / "records")
    for _ in range(2):
        align(records, "bench", "letter", READ * 3)
    (kept,) = alignments(records, "bench")
    assert (kept.offset_x_mm, kept.offset_y_mm) == pytest.approx((0.3, -0.2), abs=0.001)
    out = tmp_path / "out"
    words = ("--lot", LOT, "--only", "lidding,sleeve", "--rx", "104325", "--printer", "bench")
    done = run("make", str(records), *words, "--out", str(out), "--json")
    assert done.returncode == 1, done.stderr
    outcome = Outcome.model_validate(json.loads(done.stdout))
    assert [m.file for m in outcome.made] == [f"lidding-{LOT}.pdf"]
    assert [f.wrong for n in outcome.refused for f in n.faults] == [
        "bench wasn't aligned for letter-sideways, the paper of this layout"
    ]
    lids(tmp_path / "plain")
    stem = f"lidding-{LOT}"
    plain, moved = manifest(tmp_path / "plain", stem), manifest(out, stem)
    before, after = plain.pages[0], moved.pages[0]
    for name in ("texts", "values", "codes", "empty"):
        for one, other in zip(getattr(before, name), getattr(after, name), strict=True):
            assert other.within.x_mm == pytest.approx(one.within.x_mm - 0.3, abs=0.002)
            assert other.within.y_mm == pytest.approx(one.within.y_mm + 0.2, abs=0.002)
    assert {cut.clear_mm for cut in after.cuts} == {kept.residual_mm}
    read = [json.loads((f / f"{stem}.check.json").read_text()) for f in (tmp_path / "plain", out)]
    dot = 25.4 / 300
    for one, other in zip(*(checked["codes"] for checked in read), strict=True):
        assert one["text"] == other["text"]
        assert other["where"]["x_mm"] == pytest.approx(one["where"]["x_mm"] - 0.3, abs=dot)
        assert other["where"]["y_mm"] == pytest.approx(one["where"]["y_mm"] + 0.2, abs=dot)
    assert [checked["made_for_printer"] for checked in read] == ["", "bench"]


def test_printers_are_kept_side_by_side(tmp_path: Path) -> None:
    """One alignment for each printer and paper; a new one takes the place of the old."""
    for printer in ("bench", 'the "other"'):
        align(tmp_path, printer, "letter", READ)
    align(tmp_path, "bench", "letter", [r.replace("108.25", "108.3") for r in READ])
    assert len(alignments(tmp_path, "bench")) == 1
    assert alignments(tmp_path, 'the "other"')[0].sheets == 1
    assert alignments(tmp_path, "bench")[0].offset_x_mm > 0.3


@pytest.mark.parametrize(
    "damage",
    [("scale_x = 1.0", "scale_x = 2.0"), ("[[printer]]", "[printer"), ("skew_x", "skewed")],
)
def test_a_damaged_file_of_printers_is_refused(tmp_path: Path, damage: tuple[str, str]) -> None:
    """A value out of its range, no TOML, an unknown key: nothing is made from it."""
    align(tmp_path, "bench", "letter", READ)
    path = tmp_path / FILE
    path.write_text(path.read_text().replace(*damage))
    with pytest.raises(RecordsRefused, match=r"printers\.toml"):
        alignments(tmp_path, "bench")


def test_the_alignment_sheet(tmp_path: Path) -> None:
    """It is the paper's size, forbids scaling, and each cross is printed where it says."""
    file = tmp_path / "align.pdf"
    assert run("align", "bench", "--stock", "a4", "--out", str(file)).returncode == 0
    with pikepdf.open(file) as document:
        assert str(document.Root.ViewerPreferences.PrintScaling) == "/None"
    (page,) = pypdfium2.PdfDocument(file)
    assert page.get_size() == pytest.approx((595.28, 841.89), abs=0.01)  # A4: ISO 216
    grey = page.render(scale=600 / 72, grayscale=True).to_numpy().squeeze()
    for x, y in ((25, 25), (185, 25), (105, 148.5), (25, 272), (185, 272)):
        across, down = round(x * 600 / 25.4), round(y * 600 / 25.4)
        assert (grey[down - 120 : down + 120, across - 2 : across + 2] < 128).any(axis=1).all()
        assert (grey[down - 2 : down + 2, across - 120 : across + 120] < 128).any(axis=0).all()


def test_reading_the_sheet_from_the_command_line(tmp_path: Path) -> None:
    """The answer says offset, size, what is left and that one sheet isn't enough; slips are
    refused."""
    words = ("align", "bench", "--stock", "letter", "--in", str(tmp_path))
    reads = [word for reading in READ for word in ("--read", reading)]
    done = run(*words, *reads)
    assert done.returncode == 0, done.stderr
    assert "+0.30 mm across and -0.20 mm down" in done.stdout
    assert "at least 3 sheets" in " ".join(done.stdout.split())
    assert run(*words, "--read", "top-left").returncode == 2
    assert run("align", "bench", "--stock", "vellum").returncode == 2
    assert not (tmp_path / "align.pdf").exists()
