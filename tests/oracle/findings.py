"""What the oracle found on one paper."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from ledger import Row
from paper import Paper
from sheet import Sheet

Amounts = tuple[Decimal, ...]


@dataclass
class Findings:
    """What was found on one paper: what is wrong, and what was read."""

    paper: Paper
    wrong: list[str] = field(default_factory=list)
    read: Counter[str] = field(default_factory=Counter)
    """How often each thing was read and right."""
    lot: Row | None = None
    serials: list[tuple[int, int]] = field(default_factory=list)
    rows: list[tuple[int, int, int | None, Amounts]] = field(default_factory=list)
    """Page, place, tablets (none: a strength alone), milligrams: the cells of a table of limits."""

    def compare(self, what: str, printed: object, expected: object, sheet: Sheet) -> None:
        """Note whether a figure is right."""
        if printed == expected:
            self.read[what] += 1
        else:
            self.wrong.append(
                f"{self.paper.name}, page {sheet.number}: {what} is printed as "
                f"{_shown(printed)}, the records come to {_shown(expected)}"
            )

    def need(self, what: str, times: int) -> None:
        """Note a thing that was read too seldom."""
        if self.read[what] < times:
            self.wrong.append(
                f"{self.paper.name}: {what} stands {self.read[what]} of {times} times"
            )


def _shown(value: object) -> str:
    if isinstance(value, tuple):
        return "(" + ", ".join(map(_shown, value)) + ")"
    return str(value) if isinstance(value, Decimal | date | str | int) else repr(value)
