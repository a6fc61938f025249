"""Patients and their medicines: who was asked what, by whom and when."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from record_cases import copy_of_sample, faults_of, rows_of, write_csv

from labelkit.records.model import Kidney, Liver, MedicineStatus, Patient, Pregnancy
from labelkit.records.reading import read_workspace

ASKED = {"status": "takes", "stopped_on": "", "confirmed_by": "I. C.", "confirmed_on": "2026-11-23"}


def with_medicines(folder: Path, *rows: dict[str, str]) -> None:
    """The first patient's medicines are these; the others keep theirs."""
    others = [row for row in rows_of("medicines") if row["patient"] != "p-001"]
    mine = [{"patient": "p-001", "medicine": "", **ASKED, **row} for row in rows]
    write_csv(folder / "medicines.csv", [*mine, *others])


def first(folder: Path) -> Patient:
    """The first patient."""
    return read_workspace(folder).patients[0]


def test_blank_is_not_no(tmp_path: Path) -> None:
    """What nobody asked is None or unknown; 'none' is an answer."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("patients")
    optional = ("allergies", "kidney", "liver", "pregnancy", "weight_kg")
    write_csv(folder / "patients.csv", [rows[0] | dict.fromkeys(optional, ""), *rows[1:]])
    patient = first(folder)
    assert patient.allergies is None and patient.weight_kg is None
    assert (patient.kidney, patient.liver) == (Kidney.UNKNOWN, Liver.UNKNOWN)
    assert patient.pregnancy is Pregnancy.UNKNOWN
    said = dict(zip(optional, ("none", "dialysis", "mild", "breast-feeding", "62.5"), strict=True))
    write_csv(folder / "patients.csv", [rows[0] | said, *rows[1:]])
    patient = first(folder)
    assert patient.allergies == ()
    assert (patient.kidney, patient.liver) == (Kidney.DIALYSIS, Liver.MILD)
    assert patient.pregnancy is Pregnancy.BREAST_FEEDING
    assert patient.weight_kg == Decimal("62.5")


def test_the_oldest_answer_that_counts_is_the_date(tmp_path: Path) -> None:
    """Of what is taken; a stopped medicine's date doesn't count, and it isn't taken."""
    folder = copy_of_sample(tmp_path)
    with_medicines(
        folder,
        {"medicine": "lisinopril", "confirmed_on": "2026-11-20"},
        {"medicine": "ibuprofen", "status": "when-needed"},
        {
            "medicine": "metformin",
            "status": "stopped",
            "stopped_on": "2026-06-01",
            "confirmed_on": "2026-06-02",
        },
    )
    patient = first(folder)
    assert patient.medicines_asked_on == date(2026, 11, 20)
    assert [one.written for one in patient.taken] == ["lisinopril", "ibuprofen"]
    assert patient.medicines is not None
    assert [one.status for one in patient.medicines][2] is MedicineStatus.STOPPED
    assert patient.medicines[2].stopped_on == date(2026, 6, 1)


def test_no_row_is_nobody_asked_and_none_is_an_answer(tmp_path: Path) -> None:
    """Stopped ones alone answer nothing: whether there are others, nobody said."""
    folder = copy_of_sample(tmp_path)
    with_medicines(folder)
    assert (first(folder).medicines, first(folder).medicines_asked_on) == (None, None)
    stopped = {"medicine": "metformin", "status": "stopped", "stopped_on": "2026-06-01"}
    with_medicines(folder, stopped)
    assert first(folder).medicines_asked_on is None
    with_medicines(folder, stopped, {"medicine": "None", "status": ""})
    patient = first(folder)
    assert patient.medicines_asked_on == date(2026, 11, 23)
    assert patient.taken == ()
    with_medicines(folder, {"medicine": "none", "status": ""})
    assert first(folder).medicines == ()


@pytest.mark.parametrize(
    ("rows", "field"),
    [
        (({"medicine": "none", "status": ""}, {"medicine": "lisinopril"}), "medicine"),
        (({"medicine": "none", "status": ""}, {"medicine": "none", "status": ""}), "medicine"),
        (({"medicine": "none", "status": "stopped", "stopped_on": "2026-06-01"},), "status"),
        (({"medicine": "metformin", "status": "stopped"},), "stopped_on"),
        (({"medicine": "metformin", "stopped_on": "2026-06-01"},), "stopped_on"),
        (
            ({"medicine": "metformin", "status": "stopped", "stopped_on": "2026-11-24"},),
            "stopped_on",
        ),
        (({"medicine": "metformin", "confirmed_on": "1950-01-01"},), "confirmed_on"),
        (({"medicine": "metformin", "status": "sometimes"},), "status"),
    ],
)
def test_an_answer_that_contradicts_itself_costs_its_patient(
    tmp_path: Path, rows: tuple[dict[str, str], ...], field: str
) -> None:
    """The field is named; that patient's prescription is left out with it, and no other."""
    folder = copy_of_sample(tmp_path)
    with_medicines(folder, *rows)
    workspace = read_workspace(folder)
    assert {fault.field for fault in faults_of(folder)} == {field}
    left = {(row.kind, row.name) for row in workspace.left_out}
    assert left == {("medicine", "p-001"), ("patient", "p-001"), ("prescription", "104321")}
    assert len(workspace.prescriptions) == 11


def test_names_of_the_pharmacy_are_read(tmp_path: Path) -> None:
    """medicines.toml: who says what a local name is."""
    folder = copy_of_sample(tmp_path)
    (folder / "medicines.toml").write_text(
        '[[medicine]]\nname = "Quillpress"\nis = "lisinopril"\nby = "I. C."\n'
        'licence = "DEMO-1"\non = 2026-11-20\n',
        encoding="utf-8",
    )
    (name,) = read_workspace(folder).medicine_names
    assert (name.name, name.is_, name.on) == ("Quillpress", "lisinopril", date(2026, 11, 20))
