"""Reads the cases of `samples/refused/`, and applies one to a copy of the sample pharmacy.

A case file says what to change in the sample, the exit status, and the whole message.
"""

import csv
import io
import shutil
import tomllib
from dataclasses import dataclass
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
BASE = SAMPLES / "pharmacy"
REFUSED = SAMPLES / "refused"


@dataclass(frozen=True)
class Case:
    """One refusal: its name, what it shows, what to change, what must be said."""

    id: str
    title: str
    exit_status: int
    says: str
    changes: tuple[dict[str, str | bool], ...]


def cases() -> list[Case]:
    """All cases, by name."""
    return [_read(path) for path in sorted(REFUSED.glob("*.toml"))]


def apply(case: Case, folder: Path) -> Path:
    """A copy of the sample pharmacy in `folder` with the case's changes made."""
    workspace = folder / "pharmacy"
    shutil.copytree(BASE, workspace)
    for change in case.changes:
        _apply(workspace / str(change["file"]), change)
    return workspace


def _read(path: Path) -> Case:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    return Case(
        id=path.stem,
        title=data["title"],
        exit_status=data["exit_status"],
        says=data["says"].strip(),
        changes=tuple(data["change"]),
    )


def _apply(path: Path, change: dict[str, str | bool]) -> None:
    if change.get("remove"):
        path.unlink()
    elif "row" in change:
        _set_cell(path, str(change["row"]), str(change["field"]), str(change["value"]))
    elif "find" in change:
        text = path.read_text(encoding="utf-8")
        assert text.count(str(change["find"])) == 1, f"{change['find']!r} isn't there once"
        put = str(change["put"])
        path.write_text(text.replace(str(change["find"]), put), encoding="utf-8")
    elif "append" in change:
        with path.open("a", encoding="utf-8") as file:
            file.write(str(change["append"]))
    elif "whole" in change:
        path.write_text(str(change["whole"]), encoding="utf-8")
    elif "recode" in change:
        text = path.read_text(encoding="utf-8")
        path.write_bytes(text.encode(str(change["recode"])))
    else:
        raise AssertionError(f"this change says nothing: {change}")


def _set_cell(path: Path, number: str, field: str, value: str) -> None:
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
    (row,) = [row for row in rows if row["number"] == number]
    assert field in row, f"{path.name} has no column {field}"
    row[field] = value
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")
