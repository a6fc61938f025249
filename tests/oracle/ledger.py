"""The oracle's own reading of a workspace: the files' rows as they stand, with csv and tomllib.

Nothing of labelkit is imported, here or in any other module of the oracle.
"""

import csv
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Row = dict[str, str]


@dataclass(frozen=True)
class Ledger:
    """What the pharmacy wrote down."""

    pharmacy: dict[str, Any]
    preparations: dict[str, dict[str, Any]]
    patients: dict[str, Row]
    lots: dict[str, Row]
    fills: tuple[Row, ...]

    def fill(self, number: str) -> Row:
        """The last fill of a prescription: papers are made for that one. Raises KeyError."""
        rows = [row for row in self.fills if row["number"] == number]
        if not rows:
            raise KeyError(number)
        return max(rows, key=lambda row: int(row["fill"] or 1))


def read_ledger(records: Path) -> Ledger:
    """Everything in a workspace's folder. Raises OSError, KeyError for a file or column absent."""
    preparations = {
        path.stem: tomllib.loads(path.read_text("utf-8"))
        for path in sorted((records / "preparations").glob("*.toml"))
    }
    return Ledger(
        tomllib.loads((records / "pharmacy.toml").read_text("utf-8")),
        preparations,
        {row["id"]: row for row in _rows(records / "patients.csv")},
        {row["number"]: row for row in _rows(records / "lots.csv")},
        tuple(_rows(records / "prescriptions.csv")),
    )


def _rows(path: Path) -> list[Row]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return [
            # A spreadsheet's guard: an apostrophe before a cell that looks like a formula.
            {key.strip(): cell.strip().removeprefix("'") for key, cell in row.items()}
            for row in csv.DictReader(file)
        ]
