"""Bundles in and out by the command line: rows are added, never changed; nothing is lost unsaid."""

import csv
import json
import shutil
import stat
from io import StringIO
from pathlib import Path

import pytest
from command_line import ROOT, SAMPLE
from fhir.resources.R4B.bundle import Bundle
from typer.testing import CliRunner

from labelkit.cli.app import app
from labelkit.ground import door
from labelkit.records.reading import read_workspace

BUNDLE = ROOT / "samples" / "fhir" / "bundle.json"


def call(*words: str | Path) -> tuple[int, str, str]:
    """Exit status, standard output, standard error. A crash is raised, not swallowed."""
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample's records, free to be changed."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def table(text: str) -> list[dict[str, str]]:
    """Rows as the standard library reads them."""
    return list(csv.DictReader(StringIO(text, newline="")))


def test_rows_are_added_below_what_is_there(records: Path) -> None:
    """What stood in the table stays byte for byte; both active orders come below; mode 0600."""
    file = records / "prescriptions.csv"
    before = file.read_bytes()
    status, said, told = call("import", BUNDLE, "--into", records)
    assert status == 0
    assert "104401, 104402" in said
    after = file.read_bytes()
    assert after.startswith(before)
    added = table(after.decode())[12:]
    assert [(row["number"], row["preparation"], row["strength"]) for row in added] == [
        ("104401", "melatonin", "500 mcg"),
        ("104402", "ondansetron", "4 mg"),
    ]
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    for named in ("AllergyIntolerance/al-1", "Oral route", "validityPeriod", "gender", "mr-3"):
        assert named in told


def test_a_dry_run_prints_and_writes_nothing(records: Path) -> None:
    """The rows on standard output as a table of their own; the workspace is untouched."""
    before = {path.name: path.read_bytes() for path in records.glob("*.*")}
    status, said, _ = call("import", BUNDLE, "--into", records, "--dry-run")
    assert status == 0
    assert [row["number"] for row in table(said)] == ["104401", "104402"]
    assert {path.name: path.read_bytes() for path in records.glob("*.*")} == before


def test_a_number_that_stands_there_is_never_overwritten(records: Path) -> None:
    """Imported again, also while its rows still have blanks: named, exit 1, nothing changed."""
    call("import", BUNDLE, "--into", records)
    before = (records / "prescriptions.csv").read_bytes()
    status, said, _ = call("import", BUNDLE, "--into", records, "--json")
    assert status == 1
    done = json.loads(said)
    assert done["rows"] == []
    assert done["written"] is False
    assert ["stands there already" in fault["wrong"] for fault in done["refused"]] == [True, True]
    assert (records / "prescriptions.csv").read_bytes() == before


def changed_bundle(tmp_path: Path, find: str, put: str) -> Path:
    """The sample's bundle with one thing put in another's place."""
    text = BUNDLE.read_text(encoding="utf-8")
    assert find in text
    path = tmp_path / "changed.json"
    path.write_text(text.replace(find, put), encoding="utf-8")
    return path


def test_a_request_without_a_number_makes_no_row(records: Path, tmp_path: Path) -> None:
    """Named and left out, exit 1; the other request is added."""
    bundle = changed_bundle(tmp_path, '"value": "104401"', '"value": ""')
    status, said, told = call("import", bundle, "--into", records)
    assert status == 1
    assert "104402" in said
    assert "without its number" in told


def test_one_number_twice_in_a_bundle_makes_one_row(records: Path, tmp_path: Path) -> None:
    """The second of two requests with one number is named, not added."""
    bundle = changed_bundle(tmp_path, '"104402"', '"104401"')
    status, _, told = call("import", bundle, "--into", records)
    assert status == 1
    rows = table((records / "prescriptions.csv").read_text(encoding="utf-8"))
    assert [row["number"] for row in rows].count("104401") == 1
    assert "'104401' stands there already" in told


def test_the_table_keeps_its_dialect(records: Path) -> None:
    """Semicolons, CRLF, another order of columns, a declared encoding: rows join in all of it."""
    file = records / "prescriptions.csv"
    rows = table(file.read_text(encoding="utf-8"))[:1]
    columns = sorted(rows[0])
    out = StringIO(newline="")
    writer = csv.DictWriter(out, columns, delimiter=";", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    file.write_bytes(out.getvalue().encode("windows-1252"))
    for stem in ("patients", "medicines"):
        path = records / f"{stem}.csv"
        path.write_text("\n".join(path.read_text(encoding="utf-8").splitlines()[:1]) + "\n")
    pharmacy = records / "pharmacy.toml"
    pharmacy.write_text(pharmacy.read_text() + '\n[files]\nencoding = "windows-1252"\n')
    assert call("import", BUNDLE, "--into", records)[0] == 0
    text = file.read_bytes().decode("windows-1252")
    assert text.count("\r\n") == text.count("\n") == 4
    read = list(csv.DictReader(StringIO(text, newline=""), delimiter=";"))
    assert [row["number"] for row in read] == ["104321", "104401", "104402"]
    text = (records / "patients.csv").read_bytes().decode("windows-1252")
    assert table(text)[-1]["name"] == "Itziar Nerea Zabaleta-Murguía"


def test_a_name_that_the_encoding_lacks_is_refused(records: Path, tmp_path: Path) -> None:
    """Ł can't be written in windows-1252: exit 2, the character named, nothing written."""
    file = records / "prescriptions.csv"
    file.write_text(file.read_text(encoding="utf-8").splitlines()[0] + "\n")
    people = records / "patients.csv"
    people.write_text(people.read_text(encoding="utf-8").splitlines()[0] + "\n")
    pharmacy = records / "pharmacy.toml"
    pharmacy.write_text(pharmacy.read_text() + '\n[files]\nencoding = "windows-1252"\n')
    bundle = changed_bundle(tmp_path, "Zabaleta-Murguía", "Łubieńska")
    before = file.read_bytes()
    status, _, told = call("import", bundle, "--into", records)
    assert status == 2
    assert "'Ł' can't be written in windows-1252" in told
    assert file.read_bytes() == before


def test_a_table_that_is_damaged_is_not_added_to(records: Path) -> None:
    """An open quotation mark would swallow the new rows: refused, exit 2, unchanged."""
    file = records / "prescriptions.csv"
    file.write_text(file.read_text(encoding="utf-8") + '104999,"open', encoding="utf-8")
    before = file.read_bytes()
    status, _, told = call("import", BUNDLE, "--into", records)
    assert status == 2
    assert "prescriptions.csv" in told
    assert file.read_bytes() == before


def test_formulas_of_a_bundle_stay_text(records: Path, tmp_path: Path) -> None:
    """A name that a spreadsheet would run stands guarded in the table and on the screen."""
    bundle = changed_bundle(tmp_path, '"Hester Quillfeather, MD"', '"=HYPERLINK(1)"')
    _, said, _ = call("import", bundle, "--into", records, "--dry-run")
    assert table(said)[-1]["prescriber_name"] == "'=HYPERLINK(1)"
    assert call("import", bundle, "--into", records)[0] == 0
    row = table((records / "prescriptions.csv").read_text(encoding="utf-8"))[-1]
    assert row["prescriber_name"] == "'=HYPERLINK(1)"


def test_a_new_table_is_begun(records: Path) -> None:
    """Without a table of prescriptions one is made, with its header; a JSON one is left alone."""
    (records / "prescriptions.csv").unlink()
    assert call("import", BUNDLE, "--into", records)[0] == 0
    rows = table((records / "prescriptions.csv").read_text(encoding="utf-8"))
    assert [row["number"] for row in rows] == ["104401", "104402"]
    (records / "prescriptions.csv").unlink()
    (records / "prescriptions.json").write_text("[]")
    status, _, told = call("import", BUNDLE, "--into", records)
    assert status == 2
    assert "prescriptions.json" in told
    assert not (records / "prescriptions.csv").exists()


def test_two_at_once_wait_for_each_other(records: Path) -> None:
    """While another holds the workspace nothing is read or written: exit 1."""
    with door.locked(records / ".labelkit.lock"):
        status, _, told = call("import", BUNDLE, "--into", records)
    assert status == 1
    assert "another labelkit" in told


@pytest.mark.parametrize("content", ["", "[]", '{"resourceType": "Patient"}'])
def test_what_is_no_bundle_is_refused(records: Path, tmp_path: Path, content: str) -> None:
    """Exit 2 and a sentence; a file that isn't there too."""
    path = tmp_path / "no.json"
    path.write_text(content)
    assert call("import", path, "--into", records)[0] == 2
    assert call("import", tmp_path / "absent.json", "--into", records)[0] == 2


def test_an_imported_row_completed_at_the_counter_is_a_prescription(records: Path) -> None:
    """Blanks filled in, the workspace reads, and exports what it imported."""
    file = records / "prescriptions.csv"
    call("import", BUNDLE, "--into", records)
    rows = table(file.read_text(encoding="utf-8"))
    kept, row = rows[:12], rows[12]
    row |= {
        "dispensed_on": "2026-11-25",
        "quantity_this_fill": "10",
        "quantity_remaining": "20",
        "least_interval_h": "24",
        "when": "before-bed-30-60-min",
    }
    out = StringIO(newline="")
    writer = csv.DictWriter(out, list(row), lineterminator="\n")
    writer.writeheader()
    writer.writerows([*kept, row])
    file.write_text(out.getvalue(), encoding="utf-8")
    with (records / "medicines.csv").open("a", encoding="utf-8") as medicines:
        medicines.write(f"{row['patient']},none,,,Ines Calloway-Reyes,2026-11-25\n")
    assert read_workspace(records).prescriptions[-1].number == "104401"
    made = records.parent / "out.json"
    status, _, told = call("export", records, "--rx", "104401", "--out", made)
    assert status == 0, told
    dispense = json.loads(made.read_text(encoding="utf-8"))["entry"][0]["resource"]
    assert dispense["contained"][0]["batch"]["lotNumber"] == "MT2611"


def test_an_import_brings_its_patient_and_stops_nothing(records: Path) -> None:
    """The patient's row joins the table; the rows that aren't finished wait, the others are sound;
    what a later bundle says of the same patient is no second row."""
    status, said, told = call("import", BUNDLE, "--into", records)
    assert status == 0
    assert "patients' table: p-771" in said
    assert "medicines.csv" in told
    row = table((records / "patients.csv").read_text(encoding="utf-8"))[-1]
    assert (row["id"], row["name"]) == ("p-771", "Itziar Nerea Zabaleta-Murguía")
    assert row["allergies"] == ""
    workspace = read_workspace(records)
    assert len(workspace.prescriptions) == 12
    assert [(one.name, one.pending) for one in workspace.left_out] == [
        ("104401", True),
        ("104402", True),
    ]


def test_an_id_that_is_another_persons_here_is_refused(records: Path) -> None:
    """Another system's p-771 isn't ours: nothing of it is added, and nobody is mixed up."""
    people = records / "patients.csv"
    with people.open("a", encoding="utf-8") as file:
        file.write("p-771,Harriet Stonebridge,1957-12-30,en,,,,,\n")
    before = {path: path.read_bytes() for path in records.glob("*.csv")}
    status, _, told = call("import", BUNDLE, "--into", records)
    assert status == 1
    assert "that id is another name's" in told
    assert {path: path.read_bytes() for path in records.glob("*.csv")} == before
    text = people.read_text(encoding="utf-8")
    known = "p-771,Itziar Nerea Zabaleta-Murguía,1979-12-02"
    people.write_text(text.replace("p-771,Harriet Stonebridge,1957-12-30", known), encoding="utf-8")
    assert call("import", BUNDLE, "--into", records)[0] == 0
    assert people.read_text(encoding="utf-8").count("p-771") == 1


def test_an_export_is_a_valid_bundle(tmp_path: Path) -> None:
    """fhir.resources, a model of the standard, accepts it; numbers, lots, quantities, mode."""
    out = tmp_path / "dispensed.json"
    words = ("--rx", "104321", "--rx", "104330", "--handed-over", "2026-11-25")
    status, said, _ = call("export", SAMPLE, *words, "--out", out)
    assert status == 0
    assert "closure_requested_by" in said
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    resources = [entry.resource for entry in Bundle.model_validate_json(out.read_bytes()).entry]
    assert [r.get_resource_type() for r in resources] == ["MedicationDispense"] * 2
    assert [int(r.quantity.value) for r in resources] == [10, 20]
    lots = [r.contained[0].batch.lotNumber for r in resources]
    assert lots == ["TV2611", "NP2611"]


def test_an_export_is_whole_or_not_there(records: Path, tmp_path: Path) -> None:
    """One of two can't be filled, or doesn't exist: nothing is written."""
    file = records / "medicines.csv"
    lines = [x for x in file.read_text(encoding="utf-8").splitlines() if "p-005" not in x]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    out = tmp_path / "dispensed.json"
    status, _, told = call("export", records, "--rx", "104321", "--rx", "104325", "--out", out)
    assert status == 1
    assert "nobody asked" in told
    assert call("export", records, "--rx", "999999", "--out", out)[0] == 2
    assert not out.exists()


def test_handed_over_before_prepared_is_refused(tmp_path: Path) -> None:
    """Invariant mdd-1 of MedicationDispense (FHIR R4): exit 2, nothing written."""
    out = tmp_path / "dispensed.json"
    words = ("--rx", "104321", "--handed-over", "2026-11-22", "--out", out)
    status, _, told = call("export", SAMPLE, *words)
    assert status == 2
    assert "mdd-1" in told
    assert not out.exists()


def test_unaccepted_directions_are_not_exported(records: Path, tmp_path: Path) -> None:
    """Nobody accepted the wording: no label with it can have gone out."""
    (records / "acceptances.toml").write_text("")
    out = tmp_path / "dispensed.json"
    status, _, told = call("export", records, "--rx", "104321", "--out", out)
    assert status == 1
    assert "nobody accepted the es wording" in told
    assert not out.exists()
