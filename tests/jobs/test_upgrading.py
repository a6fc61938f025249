"""Records of the earlier shape are refused with the command for them, and brought over by it."""

import csv
import json
import stat
from pathlib import Path

import pytest
from earlier_records import HEADER, earlier
from typer.testing import CliRunner

from labelkit.cli.app import app
from labelkit.ground.errors import RecordsRefused
from labelkit.jobs import upgrading
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.jobs.upgrading import KEPT, upgrade
from labelkit.records.model import LotStatus, Workspace
from labelkit.records.reading import read_workspace

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"


def call(*words: str | Path) -> tuple[int, str, str]:
    """Exit status, standard output and error of one command."""
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return result.exit_code, result.stdout, result.stderr


def facts(workspace: Workspace) -> list[tuple[object, ...]]:
    """What the earlier shape held of each prescription."""
    return [
        (
            rx.number,
            rx.patient.name,
            rx.patient.born_on,
            rx.patient.language,
            {one.written for one in rx.patient.taken},
            rx.patient.medicines_asked_on,
            rx.directions,
            rx.lot,
            rx.closure_request,
        )
        for rx in workspace.prescriptions
    ]


def test_the_earlier_shape_is_refused_with_one_sentence(tmp_path: Path) -> None:
    """It names the command, and no wall of columns that are missing."""
    records = earlier(tmp_path)
    with pytest.raises(RecordsRefused) as refused:
        read_workspace(records)
    (fault,) = refused.value.faults
    assert "labelkit upgrade records" in fault.mend
    status, _, told = call("make", records, "--all", "--out", tmp_path / "out")
    assert status == 2
    assert "labelkit upgrade" in told


def test_one_command_brings_it_over(tmp_path: Path) -> None:
    """Every fact of the sample is there again; what was there is kept beside it, mode 0600."""
    records = earlier(tmp_path)
    before = {name: (records / name).read_bytes() for name in ("prescriptions.csv", "lots.csv")}
    status, said, _ = call("upgrade", records, "--lots-are-released", "--json")
    assert status == 0
    done = json.loads(said)
    assert (done["patients"], done["prescriptions"], done["lots"]) == (12, 12, 4)
    found = read_workspace(records)
    assert found.left_out == ()
    assert facts(found) == facts(read_workspace(SAMPLE))
    assert {name: (records / KEPT / name).read_bytes() for name in before} == before
    for name in ("patients.csv", "medicines.csv", "prescriptions.csv", f"{KEPT}/lots.csv"):
        assert stat.S_IMODE((records / name).stat().st_mode) == 0o600


def test_nothing_is_made_up(tmp_path: Path) -> None:
    """Nobody wrote down who asked, nor whether a lot was released: it says so."""
    records = earlier(tmp_path)
    status, said, _ = call("upgrade", records)
    assert status == 0
    assert "was never written down" in said
    found = read_workspace(records)
    assert {lot.status for lot in found.lots} == {LotStatus.MADE}
    asked = {one.confirmed_by for patient in found.patients for one in patient.taken}
    assert asked == {"not recorded"}
    assert {patient.allergies for patient in found.patients} == {None}


def test_one_patient_of_two_rows_is_one_entry(tmp_path: Path) -> None:
    """The latest answer is taken over, and told where the rows said different things; another
    spelling of the name is another entry, for a person to decide on."""
    records = earlier(tmp_path)
    path = records / "prescriptions.csv"
    row = path.read_text(encoding="utf-8").splitlines()[1]
    again = row.replace("104321", "104391").replace("lisinopril;metformin", "lisinopril;warfarin")
    later = again.replace("2026-11-23", "2026-11-24")
    other = row.replace("104321", "104392").replace("Tomás", "Tomas")
    path.write_text(path.read_text(encoding="utf-8") + f"{later}\n{other}\n", encoding="utf-8")
    done = upgrade(records, lots_are_released=True)
    assert done.patients == 13
    assert any("patient p-001" in note for note in done.notes)
    patient = read_workspace(records).patients[0]
    assert [one.written for one in patient.taken] == ["lisinopril", "warfarin"]
    assert not any("Tomás" in note for note in done.notes)


@pytest.mark.parametrize("most", range(6))
def test_a_call_that_was_cut_off_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: int
) -> None:
    """After any of its six writes: the same call again brings all of it over, and the tables that
    were there at first are kept."""
    records = earlier(tmp_path)
    before = (records / "lots.csv").read_bytes()
    whole, left = upgrading.write_table, iter(range(most))

    def write(path: Path, data: bytes) -> None:
        if next(left, None) is None:
            raise OutputRefused([unwritable(path, OSError(28, "No space left on device"))])
        whole(path, data)

    with monkeypatch.context() as patch:
        patch.setattr(upgrading, "write_table", write)
        with pytest.raises(OutputRefused):
            upgrade(records, lots_are_released=True)
    with pytest.raises(RecordsRefused, match="labelkit upgrade"):
        read_workspace(records)
    upgrade(records, lots_are_released=True)
    assert facts(read_workspace(records)) == facts(read_workspace(SAMPLE))
    assert (records / KEPT / "lots.csv").read_bytes() == before


def test_what_is_of_the_present_shape_is_left_alone(tmp_path: Path) -> None:
    """The second call refuses, exit 2, and changes nothing; so does a damaged table."""
    records = earlier(tmp_path)
    upgrade(records, lots_are_released=True)
    before = {path: path.read_bytes() for path in records.rglob("*.csv")}
    assert call("upgrade", records)[0] == 2
    assert {path: path.read_bytes() for path in records.rglob("*.csv")} == before
    (records / "prescriptions.csv").write_text(f"{HEADER}\n1,2\n", encoding="utf-8")
    assert call("upgrade", records)[0] == 2
    assert (records / "patients.csv").read_bytes() == before[records / "patients.csv"]


def test_entries_of_a_json_file_are_brought_over(tmp_path: Path) -> None:
    """The prescriptions become a table; the JSON file is kept beside it."""
    records = earlier(tmp_path)
    path = records / "prescriptions.csv"
    first = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))[1]
    path.unlink()
    entry = {k: (int(v) if k == "quantity_this_fill" else v or None) for k, v in first.items()}
    (records / "prescriptions.json").write_text(json.dumps([entry]), encoding="utf-8")
    with pytest.raises(RecordsRefused, match="labelkit upgrade"):
        read_workspace(records)
    upgrade(records, lots_are_released=True)
    (rx,) = read_workspace(records).prescriptions
    assert (rx.number, rx.quantity_this_fill) == ("104322", 6)
    assert (records / KEPT / "prescriptions.json").exists()
    assert not (records / "prescriptions.json").exists()
