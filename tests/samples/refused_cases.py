"""Reads the cases of `samples/refused/`, and applies one to a copy of the sample pharmacy.

A case file says what to change in the sample, the exit status, and the whole message.
Run as a program it prints every message that has changed; with ``--keep`` it also writes it
into its case, for a person to read in the difference before it is committed.
"""

import csv
import io
import shutil
import sys
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

from labelkit.ground.errors import Fault, RecordsRefused, RuleRefused
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace
from labelkit.rules import fills, judging
from labelkit.rules.places import placing

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

    @property
    def is_rule(self) -> bool:
        """Whether a rule refuses it; the others are refused, or wait, when they are read."""
        return self.id.startswith("rule-")


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
    key = next(iter(rows[0]))
    (row,) = [row for row in rows if row[key] == number]
    assert field in row, f"{path.name} has no column {field}"
    row[field] = value
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")


def judged(workspace: Workspace) -> list[Fault]:
    """Every fault that the rules find in a workspace's records, each by itself."""
    return [
        *(f for p in workspace.preparations for f in judging.judge_preparation(workspace, p)),
        *(f for lot in workspace.lots for f in judging.judge_lot(workspace, lot)),
        *(f for rx in workspace.prescriptions for f in judging.judge_prescription(workspace, rx)),
    ]


def ruled(workspace: Workspace) -> tuple[Fault, ...]:
    """Every fault that the rules find in a workspace; lots are filled only if there is none."""
    found = judged(workspace)
    if not found:
        try:
            fills.fill(workspace, workspace.prescriptions)
        except RuleRefused as refusal:
            found = list(refusal.faults)
    return tuple(dict.fromkeys(found))


def said(case: Case, folder: Path) -> tuple[int, str]:
    """Exit status and message of the case as it is now; 0 and '' where nothing refuses.

    Rows that are left out are told alone: what the rules say of the others isn't the case's. Where
    rows only wait to be finished, the status is 0, with what is blank.
    """
    try:
        workspace = read_workspace(apply(case, folder))
    except RecordsRefused as refusal:
        return refusal.exit_status, str(refusal)
    if workspace.left_out:
        told = dict.fromkeys(fault for row in workspace.left_out for fault in row.faults)
        waiting = all(row.pending for row in workspace.left_out)
        return int(not waiting), "\n".join(map(str, told))
    faults = ruled(workspace)
    if not faults:
        return 0, ""
    refusal_of_rules = RuleRefused(map(placing(workspace), faults))
    return refusal_of_rules.exit_status, str(refusal_of_rules)


def _main(keep: bool) -> None:
    for case in cases():
        with tempfile.TemporaryDirectory() as folder:
            status, message = said(case, Path(folder))
        if (status, message) == (case.exit_status, case.says):
            continue
        print(f"{case.id}: exit status {status}\n{message}\n")
        if keep:
            path = REFUSED / f"{case.id}.toml"
            text = path.read_text(encoding="utf-8")
            before, _, rest = text.partition('says = """')
            after = rest.partition('"""')[2]
            kept = message.replace("\\", "\\\\")
            path.write_text(f'{before}says = """\n{kept}\n"""{after}', encoding="utf-8")


if __name__ == "__main__":
    _main("--keep" in sys.argv)
