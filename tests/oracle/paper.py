"""What must be printed on one paper, by the records alone."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from ledger import Ledger, Row
from reckoning import Doses, Strength, beyond_use, doses, hours_between, packs, strengths


@dataclass(frozen=True)
class Paper:
    """One finished file: its kind, whom and what it is for."""

    name: str
    kind: str
    ledger: Ledger
    preparation: dict[str, Any]
    strengths: tuple[Strength, ...]
    """Of a pad all that the preparation has, else the one."""
    fill: Row | None
    lots: tuple[Row, ...]
    """Those that its tablets can be of."""

    @property
    def language(self) -> str:
        """The reader's: a patient's own, else the pharmacy's."""
        if self.fill is None:
            return str(self.ledger.pharmacy["language"])
        return self.patient["language"]

    @property
    def languages(self) -> tuple[str, ...]:
        """All in which something is printed: the pharmacy's helpers read its own."""
        return tuple(dict.fromkeys((self.language, str(self.ledger.pharmacy["language"]))))

    @property
    def patient(self) -> Row:
        """Whose fill it is. Raises KeyError."""
        assert self.fill is not None
        return self.ledger.patients[self.fill["patient"]]

    @property
    def doses(self) -> Doses:
        """The figures of its prescription."""
        assert self.fill is not None
        return doses(self.preparation, self.strengths[0], self.fill)

    @property
    def hours_between(self) -> Decimal:
        """Least hours between two doses."""
        return self.doses.hours_between if self.fill else hours_between(self.preparation)

    @property
    def packs(self) -> list[tuple[int, int, int]]:
        """Number, of how many, tablets: of each pack of the fill."""
        assert self.fill is not None
        counts = packs(int(self.fill["quantity_this_fill"]))
        return [(n, len(counts), tablets) for n, tablets in enumerate(counts, start=1)]

    @property
    def compared(self) -> list[dict[str, str]]:
        """Rows of strengths of this and of the swallowed tablet: a leaflet has its own alone."""
        rows = self.preparation.get("comparison", {}).get("row", [])
        own = {strength.label for strength in self.strengths}
        return [row for row in rows if row["strength"] in own]

    def beyond_use(self, lot: Row) -> date:
        """The day for a lot."""
        return beyond_use(self.ledger, lot)

    def on(self, column: str) -> date:
        """A day of the prescription's row, or of the patient's."""
        assert self.fill is not None
        row = self.patient if column == "born_on" else self.fill
        return date.fromisoformat(row[column])

    def fixed_texts(self) -> Iterator[str]:
        """Texts of the records that stand as they are: addresses, names, numbers of licences."""
        pharmacy = self.ledger.pharmacy
        keys = ("name", "short_name", "telephone", "licence", "out_of_hours", "leaflet_address")
        yield from (str(pharmacy[key]) for key in keys if pharmacy.get(key))
        yield ", ".join(pharmacy["address"])
        yield from pharmacy["address"]
        if self.fill is not None:
            yield self.fill["number"]
            yield self.patient["name"]
            yield from (self.fill[f"prescriber_{k}"] for k in ("name", "registration", "telephone"))
        comparison = self.preparation.get("comparison", {})
        yield from (str(comparison[k]) for k in ("source", "judged_by") if k in comparison)


def paper(ledger: Ledger, pdf: Path) -> Paper:
    """What a file of an artwork folder is. Raises KeyError where no record answers its name."""
    kind, _, subject = pdf.stem.partition("-")
    if subject.startswith("rx") and subject[2:] in {row["number"] for row in ledger.fills}:
        fill = ledger.fill(subject[2:])
        name, label = fill["preparation"], fill["strength"]
        lots = [fill["lot"]] if fill["lot"] else list(ledger.lots)
    elif kind == "pad":
        fill, name, label, lots = None, subject, None, []
    else:
        fill, lots = None, [subject]
        name, label = (ledger.lots[subject][key] for key in ("preparation", "strength"))
    preparation = ledger.preparations[name]
    known = strengths(preparation)
    return Paper(
        pdf.name,
        kind,
        ledger,
        preparation,
        tuple(known.values()) if label is None else (known[label],),
        fill,
        tuple(
            row
            for row in (ledger.lots[number] for number in lots)
            if (row["preparation"], row["strength"]) == (name, label)
            and row["status"] == "released"
        ),
    )
