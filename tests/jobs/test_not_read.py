"""A call over records of which some rows are wrong, and some aren't finished."""

import csv
import io
import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from labelkit.cli.app import app

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"


def call(*words: str | Path) -> tuple[int, str, str]:
    """Exit status, standard output and error of one command."""
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """Two of the sample's prescriptions and their patients."""
    folder = Path(shutil.copytree(SAMPLE, tmp_path / "records"))
    for stem, wanted in (
        ("prescriptions", ("104321", "104325")),
        ("patients", ("p-001", "p-005")),
        ("medicines", ("p-001", "p-005")),
    ):
        path = folder / f"{stem}.csv"
        header, *lines = path.read_text(encoding="utf-8").splitlines()
        kept = [line for line in lines if line.startswith(wanted)]
        path.write_text("\n".join([header, *kept]) + "\n", encoding="utf-8")
    return folder


def change(path: Path, name: str, **cells: str) -> None:
    """Other cells in the row that begins with that name."""
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
    (row,) = [row for row in rows if next(iter(row.values())) == name]
    row |= cells
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")


def test_a_wrong_row_stops_no_other_patients_papers(records: Path, tmp_path: Path) -> None:
    """The other's sleeve is made; the fault is told with file, line and field; exit 1."""
    change(records / "patients.csv", "p-001", born_on="1961-02-30")
    out = tmp_path / "out"
    status, said, told = call("make", records, "--all", "--only", "sleeve", "--out", out)
    assert status == 1
    assert (out / "sleeve-rx104325.pdf").exists()
    assert not (out / "sleeve-rx104321.pdf").exists()
    assert "patients.csv, line 2, born_on" in told
    assert "1961-02-30" not in told + said
    assert told.count("Not made:") == 1
    assert "1 not made" in said
    page = (out / "report.html").read_text("utf-8")
    assert "prescription 104321" in page and "patients.csv, line 2, born_on" in page
    assert "1961-02-30" not in page


def test_an_unfinished_row_waits_and_is_no_error(records: Path, tmp_path: Path) -> None:
    """Listed as waiting, with what is blank; exit 0. Asked for by its number it is refused."""
    change(records / "prescriptions.csv", "104321", quantity_this_fill="", when="")
    out = tmp_path / "out"
    words = ("make", records, "--only", "sleeve", "--out", out)
    status, said, told = call(*words, "--all")
    assert status == 0
    assert "Not finished, so it waits: prescription 104321" in told
    assert "prescriptions.csv, line 2, quantity_this_fill" in told
    assert "1 waiting for rows that aren't finished" in said
    assert "not finished, so it waits" in (out / "report.html").read_text("utf-8")
    status, said, _ = call(*words, "--rx", "104321", "--json")
    assert status == 1
    assert json.loads(said)["pending"] == []
    assert [one["subject"] for one in json.loads(said)["refused"]] == ["prescription 104321"]
    assert call(*words, "--rx", "104325")[0] == 0


def test_a_plan_and_an_explanation_name_what_is_left_out(records: Path) -> None:
    """Neither hides it; both go on with the others."""
    change(records / "prescriptions.csv", "104321", strength="x mg")
    status, said, told = call("plan", records)
    assert status == 1
    assert "104325" in said + told
    assert "Not in the plan: prescription 104321" in told
    status, _, told = call("explain", "104321", "--in", records)
    assert status == 1
    assert "prescriptions.csv, line 2, strength" in told
    assert call("explain", "104325", "--in", records)[0] == 0


def test_an_export_of_what_is_left_out_is_refused(records: Path, tmp_path: Path) -> None:
    """Nothing is written."""
    change(records / "prescriptions.csv", "104321", quantity_this_fill="")
    out = tmp_path / "done.json"
    assert call("export", records, "--rx", "104321", "--out", out)[0] == 1
    assert not out.exists()


def test_a_lot_that_is_left_out_has_no_lids(records: Path, tmp_path: Path) -> None:
    """Told for the lot; the fill takes no other where it names that one."""
    change(records / "lots.csv", "TV2611", made="many")
    change(records / "prescriptions.csv", "104321", lot="TV2611")
    status, said, _ = call("make", records, "--all", "--out", tmp_path / "out", "--json")
    assert status == 1
    refused = {one["subject"] for one in json.loads(said)["refused"]}
    assert {"lot TV2611", "prescription 104321"} <= refused


def test_only_the_latest_fill_is_made_and_what_is_closed_is_not(
    records: Path, tmp_path: Path
) -> None:
    """Two fills of one number are one sleeve, of the second; a closed prescription has none."""
    path = records / "prescriptions.csv"
    change(path, "104321", lot="TV2611", handed_over_on="2026-11-23")
    line = path.read_text(encoding="utf-8").splitlines()[1]
    second = line.replace("104321,1,", "104321,2,").replace("2026-11-23,", "2026-11-26,", 1)
    second = second.replace(",2026-11-23,TV2611", ",,TV2611")
    path.write_text(path.read_text(encoding="utf-8") + second + "\n", encoding="utf-8")
    change(path, "104325", closed_on="2026-11-25")
    words = ("make", records, "--only", "sleeve", "--out", tmp_path / "out", "--json")
    status, said, _ = call(*words, "--all")
    assert status == 0
    assert [one["file"] for one in json.loads(said)["made"]] == ["sleeve-rx104321.pdf"]
    manifest = (tmp_path / "out" / "sleeve-rx104321.manifest.json").read_text("utf-8")
    assert "26 nov 2026" in manifest
    assert "23 nov 2026" not in manifest
    status, said, _ = call(*words, "--rx", "104325")
    assert status == 1
    (refused,) = json.loads(said)["refused"]
    assert [fault["rule"] for fault in refused["faults"]] == ["prescription.closed"]
