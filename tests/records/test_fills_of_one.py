"""Several fills of one number, and prescriptions that renew or replace one another."""

from pathlib import Path

import pytest
from record_cases import Row, copy_of_sample, faults_of, rows_of, write_csv

from labelkit.records.reading import read_workspace


def fills(**second: str) -> list[Row]:
    """The sample's rows with two fills of the first number, the earlier with its lot."""
    rows = rows_of("prescriptions")
    one = rows[0] | {"lot": "TV2611", "handed_over_on": "2026-11-23"}
    other = rows[0] | {"fill": "2", "dispensed_on": "2026-11-26", **second}
    return [one, other, *rows[1:]]


def test_several_fills_are_history(tmp_path: Path) -> None:
    """The highest is the one at work, whichever stands first; the others are kept."""
    folder = copy_of_sample(tmp_path)
    rows = fills()
    for order in (rows, [rows[1], rows[0], *rows[2:]]):
        write_csv(folder / "prescriptions.csv", order)
        workspace = read_workspace(folder)
        assert workspace.left_out == ()
        assert len(workspace.prescriptions) == 13
        latest = {rx.number: rx.fill for rx in workspace.latest_fills}
        assert latest["104321"] == 2 and len(latest) == 12
        (earlier,) = workspace.earlier_fills
        assert (earlier.number, earlier.fill, earlier.lot) == ("104321", 1, "TV2611")


def test_a_blank_fill_is_the_first(tmp_path: Path) -> None:
    """The column may be blank, or not be there."""
    folder = copy_of_sample(tmp_path)
    rows = [{k: v for k, v in row.items() if k != "fill"} for row in rows_of("prescriptions")]
    write_csv(folder / "prescriptions.csv", rows)
    assert {rx.fill for rx in read_workspace(folder).prescriptions} == {1}


@pytest.mark.parametrize(
    ("second", "field"),
    [
        ({"written_on": "2026-11-17"}, "written_on"),
        ({"patient": "p-002"}, "patient"),
        ({"prescriber_registration": "DEMO-MD-5810"}, "prescriber_registration"),
        ({"strength": "10 mg"}, "strength"),
        ({"dispensed_on": "2026-11-22"}, "dispensed_on"),
        ({"fill": "1"}, "number"),
    ],
)
def test_fills_that_contradict_one_another_are_refused(
    tmp_path: Path, second: Row, field: str
) -> None:
    """What was ordered is one thing; so is the order of the fills."""
    folder = copy_of_sample(tmp_path)
    write_csv(folder / "prescriptions.csv", fills(**second))
    assert [(fault.where, fault.field) for fault in faults_of(folder)] == [("line 3", field)]
    assert "104321" not in {rx.number for rx in read_workspace(folder).latest_fills}


def test_an_earlier_fill_names_its_lot(tmp_path: Path) -> None:
    """What happened is written down: it can't be worked out any more."""
    folder = copy_of_sample(tmp_path)
    rows = fills()
    rows[0]["lot"] = ""
    write_csv(folder / "prescriptions.csv", rows)
    (fault,) = faults_of(folder)
    assert (fault.where, fault.field) == ("line 2", "lot")


def test_an_unfinished_fill_makes_no_earlier_one_the_latest(tmp_path: Path) -> None:
    """While the second fill waits, nothing is made for the first again, and it is still known."""
    folder = copy_of_sample(tmp_path)
    write_csv(folder / "prescriptions.csv", fills(quantity_this_fill=""))
    workspace = read_workspace(folder)
    assert [row.pending for row in workspace.left_out] == [True]
    assert "104321" not in {rx.number for rx in workspace.latest_fills}
    assert "104321" in {rx.number for rx in workspace.earlier_fills}


@pytest.mark.parametrize("name", ["renews", "replaces"])
@pytest.mark.parametrize(
    ("number", "wrong"),
    [
        ("104321", "names the prescription itself"),
        ("104399", "there is no prescription"),
        ("104322", "is another patient's"),
    ],
)
def test_a_link_leads_to_an_earlier_one_of_the_same_patient(
    tmp_path: Path, name: str, number: str, wrong: str
) -> None:
    """Itself, none, and another patient's are refused."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("prescriptions")
    rows[0][name] = number
    write_csv(folder / "prescriptions.csv", rows)
    assert any(fault.field == name and wrong in fault.wrong for fault in faults_of(folder))


def test_a_change_of_strength_names_what_it_replaces(tmp_path: Path) -> None:
    """The later names the earlier one; the other way round is refused."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("prescriptions")
    later = rows[0] | {"number": "104399", "written_on": "2026-11-20", "strength": "10 mg"}
    write_csv(folder / "prescriptions.csv", [*rows, later | {"replaces": "104321"}])
    assert read_workspace(folder).prescriptions[-1].replaces == "104321"
    rows[0]["replaces"] = "104399"
    write_csv(folder / "prescriptions.csv", [*rows, later])
    (fault,) = faults_of(folder)
    assert "isn't the earlier of the two" in fault.wrong
