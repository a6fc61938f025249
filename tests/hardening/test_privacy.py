"""A patient's name stands on the artwork and in the files that make it, and nowhere else.

The rare name is looked for in everything that is printed and written. It may stand in the
manifest and the check of a file (that is what they are compared by, modes 0600), and in the answer
to a question about one prescription. The report of a job names prescriptions by number; its
pictures show the artwork, names and all, so it is its owner's alone as well.
"""

import os
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest

from labelkit.checks.model import CheckReport, Counts, Finding, FindingKind
from labelkit.jobs.discretion import discreet, unnamed
from labelkit.manifest.model import Manifest

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"
NAME = "Quillonia Marchbanks-Oxenfoord"
OTHER = "Zebulonia Thistlethwayte"
MAY_HOLD_IT = (".manifest.json", ".check.json", ".txt")


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """The sample's records, with two rare names."""
    folder = Path(shutil.copytree(SAMPLE, tmp_path / "records"))
    table = folder / "patients.csv"
    text = table.read_text("utf-8")
    for was, name in (("Tomás Villaseñor Echeverría", NAME), ("Øystein Bjørkheim-Sættem", OTHER)):
        assert was in text
        text = text.replace(was, name)
    table.write_text(text, "utf-8")
    return folder


def told(text: str, name: str = NAME) -> bool:
    """Whether a word of the name stands in a text, in any case."""
    return any(word.casefold() in text.casefold() for word in name.replace("-", " ").split())


def run(
    tmp_path: Path, *words: str, umask: int = 0o022, cwd: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """The command line, with a TMPDIR of its own."""
    scratch = tmp_path / "scratch"
    scratch.mkdir(exist_ok=True)
    return subprocess.run(
        [sys.executable, "-m", "labelkit", *words],
        capture_output=True, text=True, check=False, timeout=120, umask=umask, cwd=cwd,
        env={**os.environ, "TMPDIR": str(scratch), "COLUMNS": "200"},
    )  # fmt: skip


def make(tmp_path: Path, records: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """Sleeve, leaflet and lids of the two."""
    numbers = ("--rx", "104321", "--rx", "104322")
    return run(tmp_path, "make", str(records), *numbers, "--out", str(tmp_path / "out"), *more)


@pytest.mark.parametrize("umask", [0o022, 0o000])
def test_names_stay_in_the_artwork(tmp_path: Path, records: Path, umask: int) -> None:
    """Not on the screen, in the report, metadata, names of files, or a temporary folder."""
    done = run(
        tmp_path, "make", str(records), "--rx", "104321", "--rx", "104322", "--out",
        str(tmp_path / "out"), umask=umask,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "104321" in done.stdout
    assert not told(done.stdout + done.stderr)
    assert list((tmp_path / "scratch").iterdir()) == []
    written = [path for path in (tmp_path / "out").rglob("*") if path.is_file()]
    assert (tmp_path / "out" / "report.html") in written
    for path in written:
        assert not told(path.name)
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, path
        if not path.name.endswith(MAY_HOLD_IT):
            assert not told(path.read_bytes().decode("latin-1")), path
    assert stat.S_IMODE((tmp_path / "out").stat().st_mode) == 0o700
    for path in (tmp_path / "out").glob("*.pdf"):
        with pikepdf.open(path) as pdf:
            metadata = (
                pdf.Root.Metadata.read_bytes().decode("utf-8") if "/Metadata" in pdf.Root else ""
            )
            assert not told(metadata + str(dict(pdf.trailer.get("/Info", {}))))


@pytest.mark.parametrize(
    "words", [["plan"], ["plan", "--json"], ["languages"], ["wording"]], ids=" ".join
)
def test_plans_name_nobody(tmp_path: Path, records: Path, words: list[str]) -> None:
    """What goes on which card is said by prescription number."""
    done = run(tmp_path, words[0], str(records), *words[1:])
    assert done.returncode == 0, done.stderr
    assert not told(done.stdout + done.stderr)


@pytest.mark.parametrize("as_json", [[], ["--json"]])
def test_reasons_are_of_the_one_prescription(
    tmp_path: Path, records: Path, as_json: list[str]
) -> None:
    """explain tells what stands on the artwork of the prescription it is asked about."""
    done = run(tmp_path, "explain", "104321", "--in", str(records), *as_json)
    assert told(done.stdout)
    assert not told(done.stdout + done.stderr, OTHER)


@pytest.mark.parametrize(
    "name",
    [f"{NAME} {'W' * 150}", f"{NAME} \u0f40", f"\u0f40 {NAME}", f"{'W' * 60} {NAME}"],
)
@pytest.mark.parametrize("as_json", [[], ["--json"]])
def test_a_name_that_cannot_be_set_is_not_told(
    tmp_path: Path, records: Path, name: str, as_json: list[str]
) -> None:
    """Too wide, or in a script without a font: refused by number, field and measure."""
    table = records / "patients.csv"
    table.write_text(table.read_text("utf-8").replace(NAME, name), "utf-8")
    done = make(tmp_path, records, "--only", "sleeve", *as_json)
    assert done.returncode == 1
    said = done.stdout + done.stderr + (tmp_path / "out" / "report.html").read_text("utf-8")
    assert not told(said)
    assert "[patient]" in said
    assert "104321" in said


@pytest.mark.parametrize("as_json", [[], ["--json"]])
def test_a_check_names_nobody(tmp_path: Path, records: Path, as_json: list[str]) -> None:
    """A file that lacks its patient's name: the finding says which text it is."""
    assert make(tmp_path, records, "--only", "sleeve").returncode == 0
    manifest = tmp_path / "out" / "sleeve-rx104321.manifest.json"
    other = tmp_path / "out" / "sleeve-rx104322.pdf"
    done = run(tmp_path, "check", str(other), "--manifest", str(manifest), *as_json)
    assert done.returncode == 1
    assert "patient" in done.stdout + done.stderr
    assert not told(done.stdout + done.stderr)


def test_records_that_are_refused_name_nobody(tmp_path: Path, records: Path) -> None:
    """Faults name the line and the field."""
    table = records / "patients.csv"
    text = table.read_text("utf-8")
    table.write_text(text.replace(NAME, f"{NAME}\u202e").replace(OTHER, OTHER * 20), "utf-8")
    done = make(tmp_path, records)
    assert done.returncode == 1
    assert "patients.csv, line 2, name: " in done.stderr
    assert not told(done.stderr + done.stdout)
    assert not told(done.stderr + done.stdout, OTHER)


def test_a_new_workspace_is_its_owners_alone(tmp_path: Path) -> None:
    """The folder that will hold patients' records, and each file in it."""
    done = run(tmp_path, "new", str(tmp_path / "ours"), umask=0)
    assert done.returncode == 0, done.stderr
    for path in (tmp_path / "ours", *(tmp_path / "ours").rglob("*")):
        wanted = 0o700 if path.is_dir() else 0o600
        assert stat.S_IMODE(path.stat().st_mode) == wanted, path


@pytest.mark.parametrize(
    ("text", "left"),
    [
        (f"patient “{NAME}” isn't there", "patient “[patient]” isn't there"),
        ("for quillonia\u00a0MARCHBANKS-oxenfoord.", "for [patient]."),
        ("“Quillonia Mar…” is too wide", "“[patient]…” is too wide"),
        ("“For Quillonia…”", "“For [patient]…”"),
        ("“Quillonia Marchbanks-Oxenfoor”", "“[patient]…”"),
        ("“Take one tablet”", "“Take one tablet”"),
        ("“a sequil”", "“a sequil”"),
        ("born “1961-04-09”", "born “[patient]”"),
        ("prescription 104321", "prescription 104321"),
        ("", ""),
    ],
)
def test_names_are_taken_out(text: str, left: str) -> None:
    """Whole, in other case and spacing, and cut short; and no other word."""
    assert unnamed(text, (NAME, "1961-04-09")) == left


def test_a_report_keeps_all_but_the_name() -> None:
    """Kinds, places and counts stay; the prescription's number too."""
    manifest = Manifest(
        artwork="sleeve", layout="a", state="made", title="a", languages=("en",),
        records=("prescription 104321",), serials=(), pages=(),
        secrets=(NAME, "1961-04-09", "104321"),
    )  # fmt: skip
    finding = Finding(
        kind=FindingKind.METADATA, page=1, expected=NAME, found="Quillonia Marc…",
        sentence=f"Page 1: “{NAME}” of 104321.",
    )  # fmt: skip
    report = CheckReport(
        artwork="sleeve", layout="a", state="made", title="a", codes=(), findings=(finding,),
        counts=Counts(pages=1, texts=1, values=0, codes=0),
    )  # fmt: skip
    (said,) = discreet(report, manifest).findings
    assert (said.expected, said.found) == ("[patient]", "[patient]…")
    assert said.sentence == "Page 1: “[patient]” of 104321."
    assert discreet(report, manifest).counts == report.counts
