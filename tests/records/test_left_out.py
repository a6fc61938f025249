"""What one row costs: what depends on it, and nothing else."""

from pathlib import Path

import pytest
from record_cases import copy_of_sample, rows_of, write_csv

from labelkit.ground.errors import RecordsRefused
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace


def changed(folder: Path, stem: str, place: int, **cells: str) -> Workspace:
    """The sample with cells of one row changed."""
    rows = rows_of(stem)
    rows[place] |= cells
    write_csv(folder / f"{stem}.csv", rows)
    return read_workspace(folder)


def left(workspace: Workspace) -> dict[tuple[str, str], bool]:
    """Kind and name of each row that is left out, and whether it only waits."""
    return {(row.kind, row.name): row.pending for row in workspace.left_out}


def test_a_blank_cell_waits_and_a_wrong_one_is_refused(tmp_path: Path) -> None:
    """Of a prescription; one with both is wrong."""
    folder = copy_of_sample(tmp_path)
    key = ("prescription", "104321")
    assert left(changed(folder, "prescriptions", 0, quantity_this_fill="")) == {key: True}
    assert left(changed(folder, "prescriptions", 0, when="", reason="")) == {key: True}
    assert left(changed(folder, "prescriptions", 0, quantity_this_fill="ten")) == {key: False}
    assert left(changed(folder, "prescriptions", 0, when="", strength="x mg")) == {key: False}


def test_a_row_without_a_number_is_wrong(tmp_path: Path) -> None:
    """Nobody could ask for it, so it can't wait."""
    workspace = changed(copy_of_sample(tmp_path), "prescriptions", 0, number="")
    (row,) = workspace.left_out
    assert (row.name, row.pending, row.place) == ("", False, "prescriptions.csv, line 2")


def test_a_lot_costs_the_fills_that_name_it(tmp_path: Path) -> None:
    """Only they are left out; those whose lot is worked out take another."""
    workspace = changed(copy_of_sample(tmp_path), "lots", 0, made="many")
    assert left(workspace) == {("lot", "TV2611"): False, ("prescription", "104323"): False}
    (row,) = [row for row in workspace.left_out if row.kind == "prescription"]
    assert [fault.place for fault in row.faults] == ["lots.csv, line 2, made"]
    assert len(workspace.prescriptions) == 11


def test_what_waits_for_an_unfinished_row_waits(tmp_path: Path) -> None:
    """A lot whose count is blank, and a patient whose birth date is."""
    folder = copy_of_sample(tmp_path)
    assert set(left(changed(folder, "lots", 0, made="")).values()) == {True}
    folder = copy_of_sample(tmp_path)
    found = left(changed(folder, "patients", 0, born_on=""))
    assert found == {("patient", "p-001"): True, ("prescription", "104321"): True}


def test_a_wrong_row_holds_up_the_same_patients_others(tmp_path: Path) -> None:
    """It can't be compared with them; one that only waits doesn't hold them up."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("prescriptions")
    second = rows[0] | {"number": "104399"}
    write_csv(folder / "prescriptions.csv", [*rows, second | {"strength": "x mg"}])
    assert set(left(read_workspace(folder))) == {
        ("prescription", "104321"),
        ("prescription", "104399"),
    }
    write_csv(folder / "prescriptions.csv", [*rows, second | {"quantity_this_fill": ""}])
    assert left(read_workspace(folder)) == {("prescription", "104399"): True}


def test_two_entries_joined_are_one_patient_to_a_wrong_row(tmp_path: Path) -> None:
    """A wrong row of the one entry holds up the other's prescriptions."""
    folder = copy_of_sample(tmp_path)
    (folder / "decisions.toml").write_text(
        '[[same_person]]\nids = ["p-001", "p-002"]\nsame = true\nby = "I. C."\n'
        'licence = "DEMO-1"\non = 2026-11-20\n',
        encoding="utf-8",
    )
    found = left(changed(folder, "prescriptions", 0, strength="x mg"))
    assert set(found) == {("prescription", "104321"), ("prescription", "104322")}


def test_a_medicine_of_nobody_stops_everything(tmp_path: Path) -> None:
    """It may be anybody's; the ids that there are stand in the fault."""
    folder = copy_of_sample(tmp_path)
    with pytest.raises(RecordsRefused, match="anybody's medicine") as refusal:
        changed(folder, "medicines", 0, patient="p-0O1")
    assert "p-001, p-002" in str(refusal.value)


def test_double_rows_are_both_left_out(tmp_path: Path) -> None:
    """Nobody can tell which is meant: neither of two lots, and neither of two prescriptions."""
    folder = copy_of_sample(tmp_path)
    found = left(changed(folder, "lots", 1, number="tv2611"))
    assert {name for kind, name in found if kind == "lot"} == {"TV2611", "tv2611"}
    folder = copy_of_sample(tmp_path)
    workspace = changed(folder, "prescriptions", 1, number="104321")
    assert [row.name for row in workspace.left_out] == ["104321", "104321"]
