"""Which records a finished file belongs to, and the digest of their facts that stands in its check.

Facts are what is printed on the file, and what a person answered for when it was made: the
prescription, the patient with allergies and medicines, the preparation's limits, the lot's number
and dates, the decisions about any of them. Not among them is what changes without making the paper
wrong: how many tablets of the lot are left, which papers and cards the pharmacy has, when a
medicine was asked about again. What the rules alone judge, as a lot's status, is judged again by
whoever compares.
"""

import hashlib
import json
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError

from labelkit.ground import door
from labelkit.jobs.order import Order
from labelkit.jobs.publishing import CHECK, MANIFEST
from labelkit.jobs.results import Result
from labelkit.records.base import Record
from labelkit.records.model import (
    Lot,
    Patient,
    Pharmacy,
    Preparation,
    Prescriber,
    Prescription,
    Workspace,
)
from labelkit.rules.beyond_use import beyond_use_of

OF_THE_SHOP = {"cards", "cards_hold", "paper", "languages"}
"""Of the pharmacy: what it prints on and offers, not what it says."""

AFTERWARDS = {"patient", "lot", "closed_on", "handed_over_on", "lidding"}
"""Of a prescription: what stands elsewhere among the facts, or is written down when its papers are
made already. That one is closed, the rules say."""

SHORT = 12
"""Hexadecimal digits of each fact's own digest, which only names what changed."""


class Belonging(Result):
    """What a file's check says of the records that it was made from."""

    artwork: str = ""
    pharmacy: str = ""
    """Country and licence of the pharmacy; empty where the file doesn't tell."""
    records: tuple[str, ...] = ()
    """The one that it is made for first: ``prescription 10432``, ``lot TV2611``."""
    prescriber: str = ""
    """Registration of the one whose pads they are."""
    facts: str = ""
    """SHA-256 of the canonical form of all facts; empty where the file doesn't tell."""
    each: dict[str, str] = Field(default_factory=dict)
    """A short digest of each fact by its name, as ``patient.allergies``."""

    @property
    def record(self) -> tuple[str, str]:
        """Kind and number of the record that it was made for."""
        kind, _, name = self.records[0].partition(" ") if self.records else ("", "", "")
        return kind, name

    def changed_in(self, now: "Belonging") -> tuple[str, ...]:
        """Names of the facts that are others now, there were none of, or are none of any more."""
        names = dict.fromkeys((*self.each, *now.each))
        return tuple(name for name in names if self.each.get(name) != now.each.get(name))


@dataclass(frozen=True)
class Subject:
    """The records that one file is made from."""

    workspace: Workspace
    artwork: str
    preparation: Preparation
    lot: Lot | None = None
    beyond_use: date | None = None
    rx: Prescription | None = None
    prescriber: Prescriber | None = None

    @property
    def records(self) -> tuple[str, ...]:
        """Their kinds and numbers, as manifests name them."""
        named = (
            f"prescription {self.rx.number}" if self.rx else "",
            f"lot {self.lot.number}" if self.lot else "",
        )
        return tuple(filter(None, named)) or (f"preparation {self.preparation.id}",)


def pharmacy_id(pharmacy: Pharmacy) -> str:
    """By what a file tells whose it is: a licence is given once in a country."""
    return f"{pharmacy.country} {pharmacy.licence}"


def of_order(order: Order) -> Belonging:
    """What the file of an order belongs to. Raises RuleRefused."""
    return belonging(_subject(order))


def facts_of(order: Order) -> str:
    """The digest of the facts of an order. Raises RuleRefused."""
    return facts(_subject(order))


def _subject(order: Order) -> Subject:
    workspace = order.workspace
    (preparation,) = workspace.preparations
    if order.artwork == "pad":
        return Subject(workspace, order.artwork, preparation, prescriber=order.prescriber)
    (lot,) = workspace.lots
    if order.fill is None:
        day = beyond_use_of(workspace, lot)
        return Subject(workspace, order.artwork, preparation, lot, day)
    (rx,) = workspace.prescriptions
    return Subject(workspace, order.artwork, preparation, lot, order.fill.beyond_use, rx)


def belonging(subject: Subject) -> Belonging:
    """What a file made from these records belongs to."""
    named = _facts(subject)
    return Belonging(
        artwork=subject.artwork,
        pharmacy=pharmacy_id(subject.workspace.pharmacy),
        records=subject.records,
        prescriber=subject.prescriber.registration if subject.prescriber else "",
        facts=_digest(named),
        each={name: _digest(value)[:SHORT] for name, value in named.items()},
    )


def facts(subject: Subject) -> str:
    """The digest of the facts of these records: much quicker than all that names them."""
    return _digest(_facts(subject))


def belonging_of(pdf: Path) -> Belonging:
    """What a finished file says that it belongs to: by its check, or else by its manifest, which
    names its records and no facts; nothing at all where neither can be read."""
    stem = pdf.name.removesuffix(".pdf")
    try:
        return Belonging.model_validate(_stated(pdf.with_name(stem + CHECK))["belongs"])
    except (KeyError, ValidationError):
        pass
    stated = _stated(pdf.with_name(stem + MANIFEST))
    try:
        return Belonging(artwork=stated["artwork"], records=stated["records"])
    except (KeyError, ValidationError):
        return Belonging()


def _stated(path: Path) -> dict[str, Any]:
    try:
        stated = json.loads(door.read_bytes(path))
    except (OSError, ValueError, RecursionError):
        return {}
    return stated if isinstance(stated, dict) else {}


def _facts(subject: Subject) -> dict[str, Any]:
    """Each fact by its name, in plain values that are the same however they were written."""
    workspace, rx, lot = subject.workspace, subject.rx, subject.lot
    parts: dict[str, dict[str, Any]] = {
        "pharmacy": _fields(workspace.pharmacy, OF_THE_SHOP),
        "preparation": _of_preparation(subject),
        "decisions": _decisions(subject),
    }
    if lot is not None:
        days = {"made_on": lot.made_on, "beyond_use": subject.beyond_use}
        parts["lot"] = {"number": lot.number, **days}
    if rx is not None:
        parts["prescription"] = _fields(rx, AFTERWARDS)
        parts["patient"] = _of_patient(rx.patient)
        if subject.artwork == "lidding":
            parts["prescription"]["lidding"] = rx.lidding
    if subject.prescriber is not None:
        parts["prescriber"] = _fields(subject.prescriber)
    return {
        f"{part}.{name}": _plain(value)
        for part, fields in parts.items()
        for name, value in fields.items()
    }


def _fields(record: Record, without: Collection[str] = ()) -> dict[str, Any]:
    return record.model_dump(exclude=set(without))


def _of_preparation(subject: Subject) -> dict[str, Any]:
    """The preparation; of its strengths the one that the file is about, where it is about one."""
    fields = _fields(subject.preparation)
    if subject.lot is None:
        return fields
    label = subject.lot.strength
    fields["strengths"] = [one for one in subject.preparation.strengths if one.label == label]
    comparison = subject.preparation.comparison
    if comparison is not None:
        rows = [row for row in comparison.rows if row.strength == label]
        fields["comparison"] = _fields(comparison) | {"rows": rows}
    return fields


def _of_patient(patient: Patient) -> dict[str, Any]:
    """The patient, whose entry may have another id, and whose answers another order."""
    fields = _fields(patient, {"id", "medicines", "medicines_asked_on"})
    fields["allergies"] = _sorted(patient.allergies)
    fields["medicines"] = _sorted(
        None
        if patient.medicines is None
        else [(one.written, one.status, one.stopped_on) for one in patient.medicines]
    )
    return fields


def _sorted(answers: Any) -> list[Any] | None:
    """Answers in an order of their own; unknown stays unknown."""
    return None if answers is None else sorted((_plain(one) for one in answers), key=repr)


def _decisions(subject: Subject) -> dict[str, Any]:
    """What persons decided of the medicine, of this kind of paper and of who is who.

    What was decided on findings isn't among it: nothing of it is printed, and a record that is
    refused without it is refused. A file made on another decision is made anew (`keeping`).
    """
    decided = subject.workspace.decisions
    inns = {one.inn for one in subject.preparation.ingredients}
    patient = subject.rx.patient.id if subject.rx else ""
    return {
        "ingredients": [one for one in decided.ingredients if one.inn in inns],
        "added_particulars": [
            one for one in decided.added_particulars if one.artwork == subject.artwork
        ],
        "removed_particulars": [
            one for one in decided.removed_particulars if one.artwork == subject.artwork
        ],
        "same_persons": [one for one in decided.same_persons if patient in one.ids],
    }


def _plain(value: Any) -> Any:
    """A value as JSON has it: 2.50 is 2.5, and a record is its fields."""
    if isinstance(value, Record):
        return _plain(value.model_dump())
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return value.isoformat() if isinstance(value, date) else value


def _digest(value: Any) -> str:
    stated = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(stated.encode()).hexdigest()
