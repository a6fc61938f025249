"""A decision that was used, and what is told, are said on every surface; one that fits nothing too.

One prescription of the sample, whose patient takes an alpha-blocker, which two licensed people
decided on, and eye drops that give off nitric oxide, which are told.
"""

import csv
import io
import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from command_line import SAMPLE, run

from labelkit.jobs.explaining import explain
from labelkit.jobs.orders import orders
from labelkit.jobs.planning import plan
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

RX = "104322"
RULE = "interaction.alpha-blockers"
TABLE = """
[[decision]]
rule = "{rule}"
record = "{record}"
finding = "{finding}"
by = "Ines Calloway-Reyes, PharmD"
licence = "DEMO-RPH-00182"
second_by = "Tomas Okonkwo-Lind, PharmD"
second_licence = "DEMO-RPH-00183"
reason = "the prescriber was called and accepts the dose"
from = 2026-11-20
until = 2026-11-30
"""


def with_medicines(folder: Path, *medicines: str) -> Path:
    """A copy of the sample in which the prescription's patient takes these as well."""
    records = Path(shutil.copytree(SAMPLE, folder / "records"))
    rx = next(one for one in read_workspace(records).latest_fills if one.number == RX)
    path = records / "medicines.csv"
    rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
    theirs = [row for row in rows if row["patient"] == rx.patient.id]
    others = [row for row in rows if row["patient"] != rx.patient.id]
    kept = [row for row in theirs if row["medicine"] != "none"]
    added = [{**theirs[0], "medicine": medicine, "status": "takes"} for medicine in medicines]
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows([*others, *kept, *added])
    path.write_text(out.getvalue(), "utf-8")
    return records


def decide(records: Path, **change: str) -> None:
    """Write the decision that is printed for a licensed person to fill in, filled in."""
    values = {"rule": RULE, "record": RX, "finding": finding(records)} | change
    (records / "decisions.toml").write_text(TABLE.format(**values), "utf-8")


def finding(records: Path) -> str:
    """The finding on the alpha-blocker, as the refusal names it."""
    refused = explain(records, RX).refused
    (found,) = {said.finding for one in refused for said in one.faults if said.rule == RULE}
    return found


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The records with the decision."""
    folder = with_medicines(
        tmp_path_factory.mktemp("decided"), "tamsulosin", "nipradilol eye drops"
    )
    decide(folder)
    return folder


@pytest.fixture(scope="module")
def made(records: Path) -> Iterator[tuple[Path, subprocess.CompletedProcess[str]]]:
    """Its leaflet, made by the command line, with what the screen said."""
    out = records.parent / "artwork"
    yield out, run("make", str(records), "--rx", RX, "--only", "leaflet", "--out", str(out))


def said(text: str) -> bool:
    """Whether it tells of the decision: rule, both people, until when and why."""
    words = (RULE, "Ines Calloway-Reyes", "Tomas Okonkwo-Lind", "2026-11-30", "was called")
    return all(word in " ".join(text.split()) for word in words)


def test_the_refusal_prints_what_to_decide(tmp_path: Path) -> None:
    """Without a decision: the finding in the refusal, and the table with it from ``explain``."""
    folder = with_medicines(tmp_path, "tamsulosin")
    explained = explain(folder, RX)
    assert explained.refused
    (table,) = explained.to_decide
    for line in (f'rule = "{RULE}"', f'record = "{RX}"', f'finding = "{finding(folder)}"'):
        assert line in table
    assert 'second_by = ""' in table
    shown = run("explain", RX, "--in", str(folder))
    assert shown.returncode == 1 and table.strip() in shown.stdout
    assert f"To decide: finding {finding(folder)}" in shown.stderr


def test_the_screen_says_it(made: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    """Beside the file that was made, and so is what is told."""
    _, shown = made
    assert shown.returncode == 0, shown.stderr
    assert said(shown.stdout)
    assert "To be told" in shown.stdout and "nipradilol" in shown.stdout


def test_json_and_check_and_report_say_it(
    made: tuple[Path, subprocess.CompletedProcess[str]], records: Path
) -> None:
    """A file that was kept says it too, and its check holds it."""
    out, _ = made
    again = run("make", str(records), "--rx", RX, "--only", "leaflet", "--out", str(out), "--json")
    told: dict[str, Any] = json.loads(again.stdout)
    (file,) = told["made"]
    assert file["kept"] and file["decided"][0]["finding"] == finding_of(records)
    assert said(file["decided"][0]["said"])
    assert [note["fault"]["rule"] for note in told["notes"]] == [
        "told.nitric-oxide-donors-of-eye-and-skin"
    ]
    (check,) = out.rglob("*.check.json")
    assert said(json.loads(check.read_text("utf-8"))["made"]["decided"][0]["said"])
    report = (out / "report.html").read_text("utf-8")
    assert said(report) and "nipradilol" in report


def finding_of(records: Path) -> str:
    """The finding that the decision on record names."""
    (one,) = read_workspace(records).decisions.decided
    return one.finding


def test_explain_and_plan_say_it(records: Path, tmp_path: Path) -> None:
    """The reasons, the plan's values, and the page of the hand-over."""
    explained = explain(records, RX)
    assert explained.refused == () and said(explained.decided[0].said)
    assert [note.fault.rule for note in explained.notes]
    pdf = tmp_path / "plan.pdf"
    planned = plan(records, pdf)
    (one,) = [fill for fill in planned.prescriptions if fill.rx == RX]
    assert said(one.decided[0].said) and len(one.notes) == 1
    assert not any(f.decided or f.notes for f in planned.prescriptions if f.rx != RX)
    text = subprocess.run(
        ["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True
    ).stdout
    words = " ".join(text.split())
    assert f"rule {RULE}, finding {finding_of(records)}" in words
    assert "nitric oxide" in words


def test_orders_carry_what_was_decided_and_no_decision_to_judge(records: Path) -> None:
    """Whoever makes a file is told, and judges nothing again on a part of the records."""
    found = orders(read_workspace(records), Wish(rx=(RX,), only=frozenset({"leaflet"})))
    (order,) = found.orders
    assert order.workspace.decisions.decided == ()
    assert order.decided[0].rule == RULE


def test_another_reason_makes_the_check_anew(
    made: tuple[Path, subprocess.CompletedProcess[str]], records: Path, tmp_path: Path
) -> None:
    """A file isn't kept with what an earlier decision said of it."""
    out, _ = made
    changed = Path(shutil.copytree(records, tmp_path / "records"))
    path = changed / "decisions.toml"
    path.write_text(path.read_text("utf-8").replace("was called and", "was met and"), "utf-8")
    run("make", str(changed), "--rx", RX, "--only", "leaflet", "--out", str(out))
    (check,) = out.rglob("*.check.json")
    assert "was met and accepts" in check.read_text("utf-8")


def test_one_that_fits_nothing_refuses_its_record_and_no_other(tmp_path: Path) -> None:
    """The patient stopped the alpha-blocker, and the decision stayed; another's record is gone."""
    folder = with_medicines(tmp_path, "tamsulosin")
    decide(folder)
    shutil.copy(SAMPLE / "medicines.csv", folder / "medicines.csv")
    path = folder / "decisions.toml"
    gone = TABLE.format(rule=RULE, record="999999", finding="0" * 16)
    path.write_text(path.read_text("utf-8") + gone, "utf-8")
    found = orders(read_workspace(folder), Wish(everything=True))
    refused = {(one.subject, said.rule) for one in found.refused for said in one.faults}
    assert refused == {(f"prescription {RX}", "decision.inert")}
    assert len({order.subject for order in found.orders}) > 10
    assert [note.fault.rule for note in found.notes] == ["told.decision-of-nothing"]
