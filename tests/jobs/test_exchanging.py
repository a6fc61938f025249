"""Bundles in and out by the command line: rows are added, never changed; nothing is lost unsaid.

What isn't finished waits in the inbox; `test_inbox.py` shows how it gets from there to the tables.
"""

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
from labelkit.records.model import Kidney, Liver
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


def inbox_of(records: Path) -> list[str]:
    """Names of the requests that wait."""
    return sorted(path.stem for path in (records / "inbox").glob("*.json"))


def test_unfinished_requests_wait_in_the_inbox(records: Path) -> None:
    """Neither order is whole: the prescriptions' table stays byte for byte; mode 0600."""
    before = (records / "prescriptions.csv").read_bytes()
    status, said, told = call("import", BUNDLE, "--into", records)
    assert status == 0
    assert (records / "prescriptions.csv").read_bytes() == before
    assert inbox_of(records) == ["104401", "104402"]
    assert "In the inbox: 104402: ondansetron 4 mg orally disintegrating tablet" in said
    assert stat.S_IMODE((records / "inbox" / "104401.json").stat().st_mode) == 0o600
    for named in ("Oral route", "validityPeriod", "gender", "mr-3"):
        assert named in told


def test_what_may_harm_is_told_first(records: Path) -> None:
    """The prescriber's own sentence, a dose in mg and a note stand before a telephone number, and
    what is only to be filled in stands last."""
    told = json.loads(call("import", BUNDLE, "--into", records, "--dry-run", "--json")[1])["told"]
    weights = [one["weight"] for one in told]
    assert weights == sorted(weights, key=["safety", "look", "blank"].index)
    first = {one["field"] for one in told if one["weight"] == "safety"}
    assert {"note", "dosageInstruction[1].text", "dosageInstruction[1].route"} <= first
    assert "telecom" not in first


def test_a_dry_run_prints_and_writes_nothing(records: Path) -> None:
    """The rows on standard output as a table of their own; the workspace is untouched."""
    before = {path.name: path.read_bytes() for path in records.glob("*.*")}
    status, said, _ = call("import", BUNDLE, "--into", records, "--dry-run")
    assert status == 0
    assert [row["number"] for row in table(said)] == ["104401", "104402"]
    assert {path.name: path.read_bytes() for path in records.glob("*.*")} == before
    assert not (records / "inbox").exists()


def test_a_number_that_is_there_or_waits_is_never_overwritten(records: Path) -> None:
    """Imported again: named, exit 1, nothing changed."""
    call("import", BUNDLE, "--into", records)
    before = {path: path.read_bytes() for path in records.rglob("*.*")}
    status, said, _ = call("import", BUNDLE, "--into", records, "--json")
    assert status == 1
    done = json.loads(said)
    assert done["rows"] == done["inbox"] == []
    assert done["written"] is False
    assert ["stands there already" in fault["wrong"] for fault in done["refused"]] == [True, True]
    assert {path: path.read_bytes() for path in records.rglob("*.*")} == before


def changed_bundle(tmp_path: Path, find: str, put: str) -> Path:
    """The sample's bundle with one thing put in another's place."""
    text = BUNDLE.read_text(encoding="utf-8")
    assert find in text
    path = tmp_path / "changed.json"
    path.write_text(text.replace(find, put), encoding="utf-8")
    return path


def test_a_request_without_a_number_waits_for_one(records: Path, tmp_path: Path) -> None:
    """It stands in the inbox under the resource's name; imported again, it isn't there twice."""
    bundle = changed_bundle(tmp_path, '"value": "104401"', '"value": ""')
    assert call("import", bundle, "--into", records)[0] == 0
    assert inbox_of(records) == ["104402", "MedicationRequest-mr-1"]
    assert call("import", bundle, "--into", records)[0] == 1
    assert inbox_of(records) == ["104402", "MedicationRequest-mr-1"]


def test_one_number_twice_in_a_bundle_is_two_requests_that_wait(
    records: Path, tmp_path: Path
) -> None:
    """Neither is lost nor taken for the other: a person tells them apart before one is accepted."""
    bundle = changed_bundle(tmp_path, '"104402"', '"104401"')
    assert call("import", bundle, "--into", records)[0] == 0
    assert inbox_of(records) == ["104401", "104401-2"]


def test_a_patients_table_keeps_its_dialect(records: Path) -> None:
    """Semicolons, CRLF, another order of columns, a declared encoding: a row joins in all of it."""
    file = records / "patients.csv"
    rows = [r for r in table(file.read_text(encoding="utf-8")) if r["id"] == "p-009"]
    columns = sorted(rows[0])
    out = StringIO(newline="")
    writer = csv.DictWriter(out, columns, delimiter=";", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    file.write_bytes(out.getvalue().encode("windows-1252"))
    for stem in ("prescriptions", "medicines"):
        path = records / f"{stem}.csv"
        path.write_text(path.read_text(encoding="utf-8").splitlines()[0] + "\n")
    pharmacy = records / "pharmacy.toml"
    pharmacy.write_text(pharmacy.read_text() + '\n[files]\nencoding = "windows-1252"\n')
    assert call("import", BUNDLE, "--into", records)[0] == 0
    text = file.read_bytes().decode("windows-1252")
    assert text.count("\r\n") == text.count("\n") == 3
    read = list(csv.DictReader(StringIO(text, newline=""), delimiter=";"))
    assert read[-1]["name"] == "Itziar Nerea Zabaleta-Murguía"
    assert read[-1]["allergies"] == "Aspartame"


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
    bundle = changed_bundle(tmp_path, '"text": "Aspartame"', '"text": "=HYPERLINK(1)"')
    assert call("import", bundle, "--into", records)[0] == 0
    row = table((records / "patients.csv").read_text(encoding="utf-8"))[-1]
    assert row["allergies"] == "'=HYPERLINK(1)"


def test_rows_beside_a_json_table_are_refused(records: Path) -> None:
    """Rows are added to CSV alone: a JSON table stays as it is, and nothing is begun beside it."""
    (records / "prescriptions.csv").unlink()
    (records / "prescriptions.json").write_text("[]")
    status, _, told = call("import", BUNDLE, "--into", records)
    assert status == 2
    assert "prescriptions.json" in told
    assert not (records / "prescriptions.csv").exists()
    assert not (records / "inbox").exists()


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


def test_an_import_brings_its_patient_and_stops_nothing(records: Path) -> None:
    """The patient's row joins the table with its allergies by name; no row of the prescriptions is
    left out; what a later bundle says of the same patient is no second row."""
    before = read_workspace(records)
    status, said, _ = call("import", BUNDLE, "--into", records)
    assert status == 0
    assert "patients' table: p-771" in said
    row = table((records / "patients.csv").read_text(encoding="utf-8"))[-1]
    assert (row["id"], row["name"]) == ("p-771", "Itziar Nerea Zabaleta-Murguía")
    assert row["allergies"] == "Aspartame"
    workspace = read_workspace(records)
    assert workspace.prescriptions == before.prescriptions
    assert workspace.left_out == ()


def with_medicine(tmp_path: Path, patient: str, name: str) -> Path:
    """The sample's bundle with one more medicine of a patient."""
    tree = json.loads(BUNDLE.read_text(encoding="utf-8"))
    statement = {
        "resourceType": "MedicationStatement",
        "id": "ms-1",
        "status": "active",
        "medicationCodeableConcept": {"text": name},
        "subject": {"reference": f"Patient/{patient}"},
    }
    tree["entry"].append({"resource": statement})
    path = tmp_path / "more.json"
    path.write_text(json.dumps(tree), encoding="utf-8")
    return path


def test_another_medicine_is_taken_over_and_to_be_confirmed(records: Path, tmp_path: Path) -> None:
    """It stands in medicines.csv as it was written; until somebody has confirmed it that patient's
    papers wait, and nobody else's."""
    bundle = with_medicine(tmp_path, "p-771", "nitroglycerin 0.4 mg")
    status, said, _ = call("import", bundle, "--into", records)
    assert status == 0
    assert "nitroglycerin 0.4 mg (p-771)" in said
    row = table((records / "medicines.csv").read_text(encoding="utf-8"))[-1]
    assert row == {
        "patient": "p-771",
        "medicine": "nitroglycerin 0.4 mg",
        "status": "takes",
        "stopped_on": "",
        "confirmed_by": "",
        "confirmed_on": "",
    }
    workspace = read_workspace(records)
    assert len(workspace.prescriptions) == 12
    assert {(one.kind, one.pending) for one in workspace.left_out} == {
        ("medicine", True),
        ("patient", True),
    }


def known_patient(records: Path, allergies: str, medicine: str) -> None:
    """Write the bundle's patient into the tables, with these allergies and one medicine."""
    with (records / "patients.csv").open("a", encoding="utf-8") as file:
        file.write(f"p-771,Itziar Nerea Zabaleta-Murguía,1979-12-02,es,{allergies},,,,\n")
    with (records / "medicines.csv").open("a", encoding="utf-8") as file:
        file.write(f"p-771,{medicine},takes,,Ines Calloway-Reyes,2026-11-20\n")


def test_what_contradicts_the_records_is_told_and_waits(records: Path, tmp_path: Path) -> None:
    """'none' here and nitroglycerin there, penicillin here and aspartame there: told first, no row
    changed, and both stand in the inbox with the request."""
    known_patient(records, "penicillin", "none")
    before = {path: path.read_bytes() for path in records.glob("*.csv")}
    bundle = with_medicine(tmp_path, "p-771", "nitroglycerin")
    _, said, _ = call("import", bundle, "--into", records, "--json")
    done = json.loads(said)
    wrong = [one["wrong"] for one in done["told"] if one["weight"] == "safety"]
    assert any("'aspartame', and the row in patients.csv doesn't" in one for one in wrong)
    assert any("'nitroglycerin', and medicines.csv says otherwise" in one for one in wrong)
    assert {path: path.read_bytes() for path in records.glob("*.csv")} == before
    waits = json.loads((records / "inbox" / "104401.json").read_text(encoding="utf-8"))
    assert waits["medicines"][0]["medicine"] == "nitroglycerin"
    assert waits["patient"]["allergies"] == "Aspartame"


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
    assert "the records don't keep it: 104321, 104330" in said
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    resources = [entry.resource for entry in Bundle.model_validate_json(out.read_bytes()).entry]
    dispensed = [r for r in resources if r.get_resource_type() == "MedicationDispense"]
    assert [r.status for r in dispensed] == ["completed"] * 2
    assert [int(r.quantity.value) for r in dispensed] == [10, 20]
    lots = [r.batch.lotNumber for r in resources if r.get_resource_type() == "Medication"]
    assert lots == ["TV2611", "NP2611"]


def test_an_export_without_a_hand_over_is_in_progress(tmp_path: Path) -> None:
    """Nobody wrote down a hand-over: said on the screen, and never `completed`."""
    out = tmp_path / "dispensed.json"
    status, said, _ = call("export", SAMPLE, "--rx", "104321", "--out", out)
    assert status == 0
    assert "nobody wrote down a hand-over: 104321" in said
    assert '"status": "in-progress"' in out.read_text(encoding="utf-8")


def test_what_was_exported_comes_back_into_an_empty_workspace(records: Path) -> None:
    """Into a workspace of the same pharmacy without patients: whole rows, no inbox, the same
    prescription, patient and medicines as before, but for what the export says it leaves out."""
    (before,) = [rx for rx in read_workspace(records).prescriptions if rx.number == "104323"]
    out = records.parent / "out.json"
    assert call("export", records, "--rx", "104323", "--out", out)[0] == 0
    for stem in ("patients", "medicines", "prescriptions"):
        path = records / f"{stem}.csv"
        path.write_text(path.read_text(encoding="utf-8").splitlines()[0] + "\n", encoding="utf-8")
    status, _, told = call("import", out, "--into", records)
    assert status == 0, told
    assert inbox_of(records) == []
    (after,) = read_workspace(records).prescriptions
    lost = {"kidney": Kidney.UNKNOWN, "liver": Liver.UNKNOWN, "weight_kg": None}
    patient = before.patient.model_copy(update=lost)
    assert after == before.model_copy(update={"patient": patient, "lidding": "stock"})


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
