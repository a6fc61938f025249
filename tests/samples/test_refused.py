"""Every case of `samples/refused/` is refused, with the exit status and the words it names."""

from pathlib import Path

import pytest
from refused_cases import Case, apply, cases

from labelkit.ground.errors import RecordsRefused
from labelkit.records.reading import read_workspace

READING = [case for case in cases() if case.exit_status == 2]


@pytest.mark.parametrize("case", READING, ids=lambda case: case.id)
def test_records_are_refused_in_these_words(case: Case, tmp_path: Path) -> None:
    """The sample with that one change is refused with exactly the message held in the case."""
    workspace = apply(case, tmp_path)
    with pytest.raises(RecordsRefused) as refusal:
        read_workspace(workspace)
    assert str(refusal.value) == case.says
    assert refusal.value.exit_status == case.exit_status


@pytest.mark.parametrize("case", READING, ids=lambda case: case.id)
def test_each_fault_names_its_place(case: Case, tmp_path: Path) -> None:
    """Each fault of a case names a file that the case touches, or one that depends on it."""
    workspace = apply(case, tmp_path)
    with pytest.raises(RecordsRefused) as refusal:
        read_workspace(workspace)
    touched = {str(change["file"]) for change in case.changes}
    for fault in refusal.value.faults:
        assert fault.wrong and fault.mend
        assert fault.file in touched | {"preparations"} or fault.file == "prescriptions.csv"


def test_a_case_changes_nothing_but_what_it_says(tmp_path: Path) -> None:
    """Without its changes, a case is the sample pharmacy, which reads without faults."""
    workspace = apply(Case("none", "nothing changed", 0, "", ()), tmp_path)
    assert len(read_workspace(workspace).prescriptions) == 12
