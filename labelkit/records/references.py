"""Checks that the records of a workspace name one another rightly.

Each lot and prescription names a preparation and a strength that exist, numbers are unique,
the patient's language is offered, and days follow one another across records. It judges
no dose and no quantity in stock.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from labelkit.records.faultbook import FaultBook
from labelkit.records.model import Lot, Preparation, Prescription
from labelkit.records.placed import Placed
from labelkit.records.text import nearest, shown

R = TypeVar("R")


@dataclass(frozen=True)
class Known:
    """What other records may be named by: also those that have faults of their own."""

    preparation_ids: tuple[str, ...]
    preparations: tuple[Preparation, ...]
    lot_numbers: tuple[str, ...] | None
    """None when the lots' file can't be read at all: its own fault says enough."""
    languages: tuple[str, ...]


def check_references(
    book: FaultBook,
    known: Known,
    lots: Sequence[Placed[Lot]],
    prescriptions: Sequence[Placed[Prescription]],
) -> None:
    """Write down every reference that leads nowhere or astray."""
    _each_once(book, lots, lambda lot: lot.number)
    _each_once(book, prescriptions, lambda rx: rx.number)
    _gtins_once(book, known.preparations)
    for placed_lot in lots:
        lot = placed_lot.record
        _medicine(book, known, placed_lot, lot.preparation, lot.strength)
    by_number: dict[str, Lot] = {}
    for placed_lot in lots:
        by_number.setdefault(placed_lot.record.number, placed_lot.record)
    for placed in prescriptions:
        rx = placed.record
        _medicine(book, known, placed, rx.preparation, rx.strength)
        if known.languages and rx.patient.language not in known.languages:
            placed.fault(
                book,
                "patient_language",
                f"the pharmacy doesn't offer {shown(rx.patient.language)}",
                f"offer it in pharmacy.toml, or write one of: {', '.join(known.languages)}",
            )
        _lot(book, known, placed, by_number)


def _each_once(book: FaultBook, all_placed: Iterable[Placed[R]], key: Callable[[R], str]) -> None:
    first: dict[str, str] = {}
    for placed in all_placed:
        number = key(placed.record)
        if number in first:
            placed.fault(
                book,
                "number",
                f"{shown(number)} stands already at {first[number]}",
                "give each its own number, or remove the double",
            )
        first.setdefault(number, placed.where)


def _gtins_once(book: FaultBook, preparations: Iterable[Preparation]) -> None:
    first: dict[str, str] = {}
    for preparation in preparations:
        for strength in preparation.strengths:
            if strength.gtin is None:
                continue
            owner = f"{preparation.id} {strength.label}"
            if strength.gtin in first:
                book.add(
                    f"preparations/{preparation.id}.toml",
                    "",
                    "strength.gtin",
                    f"{strength.gtin} belongs to {first[strength.gtin]} already",
                    "give each strength its own GTIN (GS1 General Specifications, 2.1)",
                )
            first.setdefault(strength.gtin, owner)


def _medicine(
    book: FaultBook, known: Known, placed: Placed[R], preparation: str, strength: str
) -> None:
    if not known.preparation_ids:
        return
    if preparation not in known.preparation_ids:
        placed.fault(
            book,
            "preparation",
            f"there is no file preparations/{preparation}.toml",
            nearest(preparation, known.preparation_ids),
        )
        return
    for candidate in known.preparations:
        labels = [s.label for s in candidate.strengths]
        if candidate.id == preparation and strength not in labels:
            placed.fault(
                book,
                "strength",
                f"{preparation} has no strength {strength}",
                f"write one of: {', '.join(labels)}",
            )


def _lot(book: FaultBook, known: Known, placed: Placed[Prescription], lots: dict[str, Lot]) -> None:
    rx = placed.record
    if rx.lot is None or known.lot_numbers is None:
        return
    if rx.lot not in known.lot_numbers:
        placed.fault(
            book,
            "lot",
            f"there is no lot {shown(rx.lot)}",
            nearest(rx.lot, known.lot_numbers) if known.lot_numbers else "record the lot",
        )
        return
    lot = lots.get(rx.lot)
    if lot is None:
        return
    if (lot.preparation, lot.strength) != (rx.preparation, rx.strength):
        placed.fault(
            book,
            "lot",
            f"lot {lot.number} is {lot.preparation} {lot.strength}, not "
            f"{rx.preparation} {rx.strength}",
            "name a lot of the medicine and strength prescribed, or leave it blank",
        )
    if lot.made_on > rx.dispensed_on:
        placed.fault(
            book,
            "lot",
            f"lot {lot.number} was made on {lot.made_on}, after the day of dispensing, "
            f"{rx.dispensed_on}",
            "correct the one that is wrong",
        )
