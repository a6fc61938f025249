"""Every figure worked out anew from the records: milligrams, tablets, hours, packs, days.

The constants are the oracle's own, each with its source. What the records refuse is no
business of the oracle: it says what must be printed where something was printed.
"""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from ledger import Ledger, Row

DAYS_OF_A_TABLET = 180
"""USP <795> (official 2023-11-01), section 10: nonaqueous forms without a study, from memory;
also the most that a study can give."""

CELLS_OF_A_PIECE = 10
"""A sleeve holds one piece of a card, and a piece has ten cavities (layouts/README.md)."""

PER_MG = {"g": Decimal(1000), "mg": Decimal(1), "mcg": Decimal("0.001")}


def mg(amount: str) -> Decimal:
    """``500 mcg`` in milligrams. Raises ValueError, KeyError for what is no amount."""
    number, unit = amount.replace("\N{NO-BREAK SPACE}", " ").split()
    return Decimal(number) * PER_MG[unit]


@dataclass(frozen=True)
class Strength:
    """One strength of a preparation, with what its limits come to."""

    label: str
    amounts_mg: tuple[Decimal, ...]
    mark: str
    gtin: str
    single_dose: int
    """Whole tablets."""
    in_24_h: int
    """Whole tablets."""

    def holds_mg(self, tablets: int) -> tuple[Decimal, ...]:
        """Milligrams of each ingredient in so many tablets."""
        return tuple(tablets * one for one in self.amounts_mg)


def strengths(preparation: dict[str, Any]) -> dict[str, Strength]:
    """All strengths of a preparation by their label (``2.5 mg / 5 mg`` where there are two)."""
    found = {}
    for row in preparation["strength"]:
        amounts = tuple(mg(amount) for amount in row["amounts"])
        in_24_h = _whole(preparation, amounts, "in_24_h")
        label = " / ".join(row["amounts"])
        found[label] = Strength(
            label,
            amounts,
            row.get("mark", ""),
            row.get("gtin", ""),
            min(in_24_h, _whole(preparation, amounts, "single_dose")),
            in_24_h,
        )
    return found


def _whole(preparation: dict[str, Any], amounts: tuple[Decimal, ...], limit: str) -> int:
    """Whole tablets until the first ingredient reaches the least limit recorded for it."""
    tablets = []
    for ingredient, amount in zip(preparation["ingredient"], amounts, strict=True):
        least = min(
            mg(row["amount"])
            for row in preparation["limits"][limit]
            if row["ingredient"] == ingredient["inn"]
        )
        count = 0
        while (count + 1) * amount <= least:
            count += 1
        tablets.append(count)
    return min(tablets)


def hours_between(preparation: dict[str, Any]) -> Decimal:
    """The longest least interval that is recorded, in hours."""
    return max(Decimal(str(row["hours"])) for row in preparation["limits"]["least_interval"])


@dataclass(frozen=True)
class Doses:
    """What a patient is told: whichever of prescription and preparation allows less."""

    tablets_per_dose: int
    single_dose: int
    in_24_h: int
    hours_between: Decimal


def doses(preparation: dict[str, Any], strength: Strength, fill: Row) -> Doses:
    """The figures of one prescription."""
    per_dose, most = int(fill["tablets_per_dose"]), int(fill["most_in_24_h"])
    in_24_h = most if most < strength.in_24_h else strength.in_24_h
    return Doses(
        per_dose,
        sorted((per_dose, strength.single_dose, in_24_h))[0],
        in_24_h,
        sorted((hours_between(preparation), Decimal(fill["least_interval_h"])))[1],
    )


def packs(tablets: int) -> list[int]:
    """Tablets of each pack: whole pieces, and what is over in the last one."""
    found = []
    while tablets > 0:
        found.append(min(CELLS_OF_A_PIECE, tablets))
        tablets -= found[-1]
    return found


def usable(lot: Row) -> int:
    """Tablets of a lot that may be given: made, less rejected, tested and retained."""
    return int(lot["made"]) - sum(int(lot[column] or 0) for column in RESERVED)


RESERVED = ("rejected", "tested", "retained")


def beyond_use(ledger: Ledger, lot: Row) -> date:
    """The day after which no tablet of the lot is used: recorded, or the latest allowed."""
    if lot["beyond_use"]:
        return date.fromisoformat(lot["beyond_use"])
    studied = ledger.preparations[lot["preparation"]].get("beyond_use", {}).get("days")
    days = min(DAYS_OF_A_TABLET, studied if studied is not None else DAYS_OF_A_TABLET)
    made = date.fromisoformat(lot["made_on"])
    latest = [made + timedelta(days=days - int(ledger.pharmacy.get("made_on_is_day", 0)))]
    for part in filter(None, lot["ingredient_lots"].split("|")):
        latest.append(_last_day(part.rsplit(":", 1)[1].strip()))
    return min(latest)


def _last_day(written: str) -> date:
    """``2028-03`` is that month's last day."""
    if len(written) == len("2028-03"):
        year, month = (int(part) for part in written.split("-"))
        return date(year, month, monthrange(year, month)[1])
    return date.fromisoformat(written)


def figures_of_when(when: str) -> set[str]:
    """The figures that a way of saying when has in it: ``every-8-h`` has 8."""
    words = {"once": set(), "twice": {"2"}, "three": {"3"}, "four": {"4"}}
    found: set[str] = set()
    for part in when.split("-"):
        found |= {part} if part.isdigit() else words.get(part, set())
    return found
