"""The inbox by the command line: listed, mended, accepted; until then it doesn't count."""

import csv
import json
import shutil
import stat
from io import StringIO
from pathlib import Path

import pytest
from command_line import ROOT, SAMPLE
from typer.testing import CliRunner

from labelkit.cli.app import app
from labelkit.records.reading import read_workspace

BUNDLE = ROOT / "samples" / "fhir" / "bundle.json"
MENDED = (
    "dispensed_on=2026-11-25",
    "quantity_this_fill=30",
    "quantity_remaining=0",
    "least_interval_h=24",
    "when=before-bed-30-60-min",
)
BY = ("--by", "Ines Calloway-Reyes")


def call(*words: str | Path) -> tuple[int, str, str]:
    """Exit status, standard output, standard error. A crash is raised, not swallowed."""
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample's records with the sample's bundle in the inbox."""
    folder = Path(shutil.copytree(SAMPLE, tmp_path / "records"))
    assert call("import", BUNDLE, "--into", folder)[0] == 0
    return folder


def cells(*said: str) -> list[str]:
    """The options that fill these cells in."""
    return [word for one in said for word in ("--set", one)]


def numbers(records: Path) -> list[str]:
    """Numbers in the table of prescriptions, as the standard library reads it."""
    text = (records / "prescriptions.csv").read_text(encoding="utf-8")
    return [row["number"] for row in csv.DictReader(StringIO(text, newline=""))]


def test_what_waits_is_listed_with_its_medicine(records: Path) -> None:
    """Each by its number, the medicine as it was written, how much there is to look at."""
    status, said, _ = call("inbox", records)
    assert status == 0
    assert "104402: ondansetron 4 mg orally disintegrating tablet (ondansetron 4 mg)" in said
    listed = json.loads(call("inbox", records, "--json")[1])["requests"]
    assert [one["name"] for one in listed] == ["104401", "104402"]
    assert "route" in listed[1]["blank"]


def test_one_request_shows_what_may_harm_first(records: Path) -> None:
    """What was told of safety stands before the cells, and what is to be filled in at the end."""
    _, said, _ = call("inbox", records, "104402")
    places = [said.index(word) for word in ("26643006", "number = 104402", "To fill in:")]
    assert places == sorted(places)


def test_a_mended_request_is_accepted_into_the_tables(records: Path) -> None:
    """Filled in and accepted by somebody with a name: one row more, the file kept with who it was,
    and after the medicines were asked for it is a prescription like any other."""
    assert call("inbox", records, "104401", *cells(*MENDED))[0] == 0
    status, said, told = call("inbox", records, "104401", "--accept", *BY)
    assert status == 0, told
    assert "104401 is in prescriptions.csv" in said
    assert numbers(records)[12:] == ["104401"]
    assert not (records / "inbox" / "104401.json").exists()
    kept = records / "inbox" / "accepted" / "104401.json"
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert json.loads(kept.read_text(encoding="utf-8"))["accepted_by"] == "Ines Calloway-Reyes"
    with (records / "medicines.csv").open("a", encoding="utf-8") as medicines:
        medicines.write("p-771,none,,,Ines Calloway-Reyes,2026-11-25\n")
    rx = read_workspace(records).prescriptions[-1]
    assert (rx.number, rx.preparation, rx.strength) == ("104401", "melatonin", "500 mcg")
    assert rx.patient.allergies == ("Aspartame",)


def test_an_unfinished_request_is_not_accepted(records: Path) -> None:
    """Every blank cell is told with its file; nothing moves."""
    before = {path: path.read_bytes() for path in records.rglob("*.*")}
    status, _, told = call("inbox", records, "104402", "--accept", *BY)
    assert status == 2
    assert "inbox/104402.json, route: is empty" in told
    assert "inbox/104402.json, most_in_24_h: is empty" in told
    assert {path: path.read_bytes() for path in records.rglob("*.*")} == before


def test_nobody_accepts_what_nobody_looked_at(records: Path) -> None:
    """Whole, but with things told of safety: refused until somebody with a name looked."""
    call("inbox", records, "104401", *cells(*MENDED))
    status, _, told = call("inbox", records, "104401", "--accept")
    assert status == 2
    assert "Had oral melatonin before, 3 mg." in told
    assert "--by NAME" in told
    assert "104401" not in numbers(records)


@pytest.mark.parametrize(
    ("cell", "told"),
    [
        ("strength=700 mcg", "isn't one of that preparation"),
        ("preparation=melatonine", "there is no preparation 'melatonine'"),
        ("quantity_this_fill=31", "more than the 30 prescribed"),
        ("dispensed_on=05/11/2026", "dispensed_on"),
        ("patient=p-999", "is in no row of patients.csv"),
        ("number=104321", "stands there already"),
    ],
)
def test_accepting_judges_the_row_anew(records: Path, cell: str, told: str) -> None:
    """What a person filled in is judged as a row of the table is, before it gets there."""
    call("inbox", records, "104401", *cells(*MENDED, cell))
    before = numbers(records)
    status, _, said = call("inbox", records, "104401", "--accept", *BY)
    assert status == 2
    assert told in said
    assert numbers(records) == before


def test_an_allergy_that_the_records_lack_holds_it_up(records: Path) -> None:
    """The patient was known without the allergy that came in: written there, or taken out by a
    person, before the request is accepted."""
    file = records / "inbox" / "104401.json"
    tree = json.loads(file.read_text(encoding="utf-8"))
    patients = (records / "patients.csv").read_text(encoding="utf-8").splitlines()
    tree["patient"] = dict(zip(patients[0].split(","), patients[-1].split(","), strict=True))
    tree["patient"]["allergies"] = "Aspartame; latex"
    file.write_text(json.dumps(tree), encoding="utf-8")
    call("inbox", records, "104401", *cells(*MENDED))
    status, _, told = call("inbox", records, "104401", "--accept", *BY)
    assert status == 2
    assert "'latex' isn't in the patient's row" in told
    call("inbox", records, "104401", "--set", "patient.allergies=Aspartame")
    assert call("inbox", records, "104401", "--accept", *BY)[0] == 0


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("{", "isn't JSON"),
        ("[]", "doesn't hold source"),
        ('{"source": 1, "source": 2}', "stands twice"),
    ],
)
def test_a_damaged_file_is_told_and_stops_nothing_else(
    records: Path, content: str, told: str
) -> None:
    """Listing names the file; the other request can still be mended, and making reads on."""
    (records / "inbox" / "104402.json").write_text(content)
    status, _, said = call("inbox", records)
    assert status == 2
    assert "inbox/104402.json" in said
    assert told in said
    assert call("inbox", records, "104401", "--set", "when=at-bedtime")[0] == 0
    assert len(read_workspace(records).prescriptions) == 12


def test_a_field_that_is_none_is_refused(records: Path) -> None:
    """A mistyped field, one without a value, a request that doesn't wait: told, nothing changed."""
    assert "write 'route' if" in call("inbox", records, "104402", "--set", "rout=x")[2]
    assert "has no '='" in call("inbox", records, "104402", "--set", "route")[2]
    assert "names none of the requests" in call("inbox", records, "104409")[2]
    assert call("inbox", records, "104409")[0] == 2


def test_an_empty_inbox_says_so(tmp_path: Path) -> None:
    """Also where there is no such folder."""
    folder = Path(shutil.copytree(SAMPLE, tmp_path / "records"))
    assert call("inbox", folder)[1] == "The inbox is empty.\n"
