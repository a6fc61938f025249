"""The starter workspace refuses until it is filled in, and reads once it is."""

import re
import shutil
from pathlib import Path

import pytest
from refused_cases import SAMPLES

from labelkit.ground.errors import RecordsRefused
from labelkit.records import lot_rows, patient_rows, prescription_rows
from labelkit.records.reading import read_workspace

STARTER = SAMPLES / "starter"
MARK = "FILL IN"
FILLED = {
    "name": '"Marram Row Pharmacy"',
    "address": '["3 Marram Row", "Port Quill, OR 00000"]',
    "telephone": '"(503) 555-0160"',
    "licence": '"DEMO-1"',
    "out_of_hours": '"(503) 555-0161"',
    "country": '"us"',
    "title": '"Naltrexone tablets"',
    "route": '"under-the-tongue"',
    "uses": '["pain"]',
    "inn": '"naltrexone"',
    "form": '"hydrochloride"',
    "strength_as": '"hydrochloride"',
    "amounts": '["1.5 mg"]',
    "colour": '"white"',
    "shape": '"round"',
    "ingredient": '"naltrexone"',
    "amount": '"4.5 mg"',
    "hours": "24",
    "source": '"Decision 1"',
    "decided_by": '"A. Pharmacist"',
    "decided_on": "2026-11-01",
}


def marked_lines() -> list[tuple[str, str, str]]:
    """File, ``line n`` and key of every marked line."""
    found = []
    for path in sorted(STARTER.rglob("*.toml")):
        name = path.relative_to(STARTER).as_posix()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            if MARK in line and not line.startswith("#"):
                found.append((name, f"line {number}", line.split("=")[0].strip()))
    return found


def test_an_unfilled_starter_names_every_marked_line_and_no_other() -> None:
    """The refusal is the list of what is left to do: one fault or more for each marked line."""
    with pytest.raises(RecordsRefused) as refusal:
        read_workspace(STARTER)
    named = {(f.file, f.where) for f in refusal.value.faults}
    assert named == {(file, where) for file, where, _ in marked_lines()}
    assert len(named) == 30


def test_a_filled_starter_reads_without_faults(tmp_path: Path) -> None:
    """With the marked lines filled, the starter is a workspace."""
    folder = tmp_path / "mine"
    shutil.copytree(STARTER, folder)
    for path in folder.rglob("*.toml"):
        lines = path.read_text(encoding="utf-8").splitlines()
        for place, line in enumerate(lines):
            if MARK in line and not line.startswith("#"):
                key = line.split("=")[0].strip()
                lines[place] = f"{key} = {FILLED[key]}"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    workspace = read_workspace(folder)
    assert workspace.preparations[0].strengths[0].label == "1.5 mg"
    assert workspace.lots == workspace.prescriptions == ()


@pytest.mark.parametrize(
    ("stem", "columns"),
    [
        ("patients", patient_rows.COLUMNS),
        ("medicines", patient_rows.MEDICINE_COLUMNS),
        ("lots", lot_rows.COLUMNS),
        ("prescriptions", prescription_rows.COLUMNS),
    ],
)
def test_the_readme_explains_every_column(stem: str, columns: tuple[str, ...]) -> None:
    """Each column the reader knows stands in the starter's table and in its explanation."""
    header = (STARTER / f"{stem}.csv").read_text(encoding="utf-8").strip()
    assert tuple(header.split(",")) == columns
    section = (STARTER / "README.md").read_text(encoding="utf-8").split(f"## {stem}.csv")[1]
    section = section.split("\n## ")[0]
    assert set(columns) <= set(re.findall(r"`([a-z_0-9]+)`", section))
