"""Small records for the tests of rules: each builder gives one that passes every rule."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from labelkit.records.decisions import Decisions, Override
from labelkit.records.model import (
    ActiveIngredient,
    Amount,
    Appearance,
    Comparison,
    ComparisonRow,
    Directions,
    IngredientLot,
    Limit,
    Limits,
    Lot,
    LotStatus,
    Medicine,
    MedicineStatus,
    Patient,
    Pharmacy,
    Preparation,
    Prescriber,
    Prescription,
    Route,
    Strength,
    Unit,
    Workspace,
)

UNDER = Route.UNDER_TONGUE
WHITE = Appearance(colour="white", shape="round")
PHARMACIST = "Ines Calloway-Reyes, PharmD"


USES = {
    "ondansetron": "nausea",
    "granisetron": "nausea",
    "dexamethasone": "swelling",
    "prednisolone": "swelling",
    "melatonin": "sleep",
    "diphenhydramine": "sleep",
    "naltrexone": "craving",
}
"""What a preparation of it is for, unless a test says otherwise."""

USUALLY = {
    "erection": "before-activity-30-60-min",
    "sleep": "before-bed-30-60-min",
    "jet-lag": "before-bed-30-60-min",
}
"""When it is usually taken for that; anything else when it is needed."""


def amount(text: str) -> Amount:
    """``2.5 mg`` as an amount, without the code under test."""
    value, unit = text.split(" ")
    return Amount(value=Decimal(value), unit=Unit(unit))


def limits_of(inn: str, single: str, in_24_h: str, hours: str) -> Limits:
    """Three limits of one ingredient, with an invented source."""

    def limit(**measure: Any) -> Limit:
        return Limit(
            ingredient=inn,
            source="Decision TL-1, invented",
            decided_by=PHARMACIST,
            decided_on=date(2026, 10, 5),
            **measure,
        )

    return Limits(
        single_dose=(limit(amount=amount(single)),),
        in_24_h=(limit(amount=amount(in_24_h)),),
        least_interval=(limit(hours=Decimal(hours)),),
    )


def comparison_of(*rows: tuple[str, str]) -> Comparison:
    """A comparison with those rows, answered for."""
    return Comparison(
        rows=tuple(ComparisonRow(strength=s, swallowed=w) for s, w in rows),
        swallowed_name="film-coated tablet",
        source="Memo TL-2, invented",
        judged_by=PHARMACIST,
        judged_on=date(2026, 10, 6),
    )


def preparation_of(inn: str, *strengths: str, **change: Any) -> Preparation:
    """A preparation of one ingredient; limits wide enough for one tablet a day of the largest."""
    largest = max(strengths, key=lambda s: Decimal(s.split(" ")[0]))
    values: dict[str, Any] = {
        "id": inn.replace(" ", "-"),
        "title": f"{inn} tablets",
        "ingredients": (ActiveIngredient(inn=inn, form="base", strength_as="base"),),
        "dosage_form": "tablet-fast-dissolving",
        "route": UNDER,
        "strengths": tuple(Strength(amounts=(amount(s),), appearance=WHITE) for s in strengths),
        "storage": "room-dry",
        "container": "peel card in sleeve",
        "handling": ("fragile", "peel-open"),
        "uses": (USES.get(inn, "erection"),),
        "limits": limits_of(inn, largest, largest, "24"),
    }
    return Preparation(**{**values, **change})


def tadalafil(**change: Any) -> Preparation:
    """Tadalafil 5 and 10 mg, compared with 10 and 20 mg swallowed."""
    compared = comparison_of(("5 mg", "10 mg"), ("10 mg", "20 mg"))
    return preparation_of("tadalafil", "5 mg", "10 mg", **{"comparison": compared, **change})


def sildenafil(**change: Any) -> Preparation:
    """Sildenafil; 20 beside 50 and 40 beside 100 mg swallowed: common practice, no source."""
    compared = comparison_of(("10 mg", "25 mg"), ("20 mg", "50 mg"), ("40 mg", "100 mg"))
    return preparation_of(
        "sildenafil", "10 mg", "20 mg", "40 mg", **{"comparison": compared, **change}
    )


def lot_of(preparation: Preparation, number: str = "TV2611", **change: Any) -> Lot:
    """88 usable tablets of the preparation's first strength, made on 2 November 2026."""
    values: dict[str, Any] = {
        "number": number,
        "preparation": preparation.id,
        "strength": preparation.strengths[0].label,
        "made_on": date(2026, 11, 2),
        "made": 96,
        "rejected": 2,
        "tested": 3,
        "retained": 3,
        "status": LotStatus.RELEASED,
        "ingredient_lots": tuple(
            IngredientLot(name=name, number="X-1", expiry=date(2029, 1, 31))
            for name in (*(i.inn for i in preparation.ingredients), *preparation.excipients)
        ),
        "prepared_by": "Rowan Achterberg",
        "checked_by": PHARMACIST,
    }
    return Lot(**{**values, **change})


def directions(**change: Any) -> Directions:
    """One tablet, at most one in 24 hours, when it is usually taken for its reason."""
    values: dict[str, Any] = {
        "tablets_per_dose": Decimal(1),
        "route": UNDER,
        "when": USUALLY.get(change.get("reason", "erection"), "when-needed"),
        "reason": "erection",
        "least_interval_h": Decimal(24),
        "most_in_24_h": Decimal(1),
    }
    return Directions(**{**values, **change})


def prescription_of(
    preparation: Preparation, number: str = "104321", **change: Any
) -> Prescription:
    """Ten tablets of the first strength for a patient of 50 who takes nothing else."""
    values: dict[str, Any] = {
        "number": number,
        "written_on": date(2026, 11, 16),
        "dispensed_on": date(2026, 11, 23),
        "patient": patient(),
        "prescriber": Prescriber(name="H. Quill", registration="D-1", telephone="555-0131"),
        "preparation": preparation.id,
        "strength": preparation.strengths[0].label,
        "quantity_prescribed": 10,
        "quantity_this_fill": 10,
        "quantity_remaining": 0,
        "refills_left": 0,
        "directions": directions(reason=preparation.uses[0]),
    }
    return Prescription(**{**values, **change})


def takes(*written: str, on: date = date(2026, 11, 23), **change: Any) -> tuple[Medicine, ...]:
    """Medicines that are taken, confirmed on the day of dispensing."""
    values: dict[str, Any] = {"status": MedicineStatus.TAKES, "confirmed_by": PHARMACIST}
    return tuple(Medicine(written=one, confirmed_on=on, **{**values, **change}) for one in written)


def patient(*medicines: str, asked_on: date | None = date(2026, 11, 23), **change: Any) -> Patient:
    """A patient of 50 years, asked about medicines on the day of dispensing, or never (None)."""
    values: dict[str, Any] = {
        "id": "p-1",
        "name": "Bo Li",
        "born_on": date(1976, 11, 23),
        "language": "en",
        "medicines": takes(*medicines, on=asked_on) if asked_on else None,
        "medicines_asked_on": asked_on,
    }
    return Patient(**{**values, **change})


def pharmacy(**change: Any) -> Pharmacy:
    """A pharmacy in the United States, day of making counted as day 0."""
    values: dict[str, Any] = {
        "name": "Tidewrack Lane Compounding Pharmacy",
        "address": ("14 Tidewrack Lane",),
        "telephone": "(503) 555-0114",
        "licence": "DEMO-1",
        "out_of_hours": "(503) 555-0190",
        "country": "us",
        "language": "en",
        "languages": ("en", "es"),
    }
    return Pharmacy(**{**values, **change})


def workspace(
    preparation: Preparation,
    lots: tuple[Lot, ...] | None = None,
    prescriptions: tuple[Prescription, ...] | None = None,
    decisions: Decisions | None = None,
    **pharmacy_change: Any,
) -> Workspace:
    """A workspace round one preparation."""
    kept = prescriptions or (prescription_of(preparation),)
    return Workspace(
        root="",
        pharmacy=pharmacy(**pharmacy_change),
        preparations=(preparation,),
        lots=(lot_of(preparation),) if lots is None else lots,
        prescriptions=kept,
        patients=tuple({rx.patient.id: rx.patient for rx in kept}.values()),
        decisions=decisions or Decisions(),
    )


def override(rule: str, record: str) -> Override:
    """A pharmacist's recorded override."""
    return Override(
        rule=rule,
        record=record,
        by=PHARMACIST,
        licence="DEMO-RP-1",
        reason="spoke with the prescriber, who accepts it",
        at=datetime(2026, 11, 23, 9, 30, tzinfo=UTC),
    )
