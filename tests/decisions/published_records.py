"""Small records for the independent table: the sample pharmacy with one thing changed.

Every builder starts from the sample workspace, which passes, so that a row differs from a
record that is filled in exactly what the row names.
"""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from labelkit.records import model as records
from labelkit.records.model import (
    ActiveIngredient,
    Amount,
    Appearance,
    BeyondUse,
    Comparison,
    ComparisonRow,
    Directions,
    IngredientLot,
    Limit,
    Limits,
    Lot,
    LotStatus,
    MedicineStatus,
    Preparation,
    Prescription,
    Route,
    Strength,
    Unit,
    Workspace,
)
from labelkit.records.reading import read_workspace

SAMPLE = Path(__file__).parents[2] / "samples" / "pharmacy"
DAY = date(2026, 11, 24)
BY = "Ines Calloway-Reyes, PharmD"
USUALLY = {
    "erection": "before-activity-30-60-min",
    "nausea": "when-needed",
    "sleep": "before-bed-30-60-min",
    "jet-lag": "before-bed-30-60-min",
    "craving": "once-daily",
    "swelling": "once-daily",
}


@cache
def sample() -> Workspace:
    """The sample workspace, read once."""
    return read_workspace(SAMPLE)


def amount(text: str) -> Amount:
    """``5 mg`` as an amount."""
    value, unit = text.split()
    return Amount(value=Decimal(value), unit=Unit(unit))


@dataclass(frozen=True, slots=True)
class Medicine:
    """A preparation of one strength, its limits, and nothing that its file needn't say."""

    inn: str = "tadalafil"
    strength: str = "5 mg"
    single: str = "10 mg"
    daily: str = "10 mg"
    hours: str = "24"
    use: str = "erection"
    route: Route = Route.UNDER_TONGUE
    schedule: str = ""
    handling: tuple[str, ...] = ("fragile", "peel-open")
    comparison: Comparison | None = None
    beyond_use: BeyondUse = field(default_factory=BeyondUse)
    form: str = "tablet-fast-dissolving"
    container: str = "peel card in sleeve"
    title: str = "Under-the-tongue tablets"

    def record(self) -> Preparation:
        """The record of it: no cautions, no contraindications, no effects of its own."""
        known = {"source": "decision TL-1, invented", "decided_by": BY, "decided_on": DAY}
        return Preparation(
            id="row",
            title=self.title,
            ingredients=tuple(
                ActiveIngredient(inn=inn, form="base", strength_as="base", schedule=self.schedule)
                for inn in self.inn.split(" + ")
            ),
            dosage_form=self.form,
            route=self.route,
            strengths=(
                Strength(
                    amounts=tuple(amount(text) for text in self.strength.split(" / ")),
                    appearance=Appearance(colour="white", shape="round"),
                ),
            ),
            storage="room-dry",
            container=self.container,
            handling=self.handling,
            uses=(self.use,),
            limits=Limits(
                single_dose=tuple(
                    Limit(amount=amount(self.single), ingredient=inn, **known)
                    for inn in self.inn.split(" + ")
                ),
                in_24_h=tuple(
                    Limit(amount=amount(self.daily), ingredient=inn, **known)
                    for inn in self.inn.split(" + ")
                ),
                least_interval=tuple(
                    Limit(hours=Decimal(self.hours), ingredient=inn, **known)
                    for inn in self.inn.split(" + ")
                ),
            ),
            comparison=self.comparison,
            beyond_use=self.beyond_use,
        )


@dataclass(frozen=True, slots=True)
class Fill:
    """A prescription for it: by default one tablet, once in 24 hours, ten tablets."""

    of: Medicine = field(default_factory=Medicine)
    takes: tuple[str, ...] | None = ()
    """What the patient takes; () is the answer 'none', None is nobody asked."""
    tablets: str = "1"
    every: str = "24"
    most: str = "1"
    quantity: int = 10
    route: Route | None = None
    born: date = date(1970, 2, 28)
    when: str = ""
    """Empty: when such a medicine is usually taken."""
    reason: str = ""
    """Empty: what the medicine is for."""
    made: date = date(2026, 11, 2)
    beyond_use: date | None = None
    expiry: date = date(2029, 1, 31)
    pharmacy: tuple[tuple[str, Any], ...] = ()

    def workspace(self) -> Workspace:
        """The sample workspace with this medicine, a lot of it and the prescription alone."""
        ours = sample()
        preparation = self.of.record()
        rx = self.prescription(preparation)
        return ours.model_copy(
            update={
                "pharmacy": ours.pharmacy.model_copy(update=dict(self.pharmacy)),
                "preparations": (preparation,),
                "lots": (self.lot(preparation),),
                "prescriptions": (rx,),
                "patients": (rx.patient,),
            }
        )

    def lot(self, preparation: Preparation) -> Lot:
        """A lot of 90 usable tablets of it."""
        return Lot(
            number="RW2611",
            preparation=preparation.id,
            strength=preparation.strengths[0].label,
            status=LotStatus.RELEASED,
            made_on=self.made,
            made=96,
            rejected=0,
            tested=3,
            retained=3,
            beyond_use=self.beyond_use,
            ingredient_lots=tuple(
                IngredientLot(name=inn, number="X1", expiry=self.expiry)
                for inn in self.of.inn.split(" + ")
            ),
            prepared_by="Rowan Achterberg",
            checked_by="Ines Calloway-Reyes",
        )

    def prescription(self, preparation: Preparation) -> Prescription:
        """The prescription as the row has it."""
        shape = sample().prescriptions[1]
        return shape.model_copy(
            update={
                "number": "200001",
                "written_on": DAY,
                "dispensed_on": DAY,
                "patient": shape.patient.model_copy(
                    update={
                        "born_on": self.born,
                        "language": "en",
                        "medicines": None if self.takes is None else taken(*self.takes),
                        "medicines_asked_on": None if self.takes is None else DAY,
                    }
                ),
                "preparation": preparation.id,
                "strength": preparation.strengths[0].label,
                "quantity_prescribed": self.quantity,
                "quantity_this_fill": self.quantity,
                "quantity_remaining": 0,
                "lot": None,
                "directions": Directions(
                    tablets_per_dose=Decimal(self.tablets),
                    route=self.route or self.of.route,
                    when=self.when or USUALLY[self.of.use],
                    reason=self.reason or self.of.use,
                    least_interval_h=Decimal(self.every),
                    most_in_24_h=Decimal(self.most),
                ),
            }
        )


def taken(*written: str) -> tuple[records.Medicine, ...]:
    """Medicines that the patient takes, confirmed on the day of dispensing."""
    return tuple(
        records.Medicine(
            written=one, status=MedicineStatus.TAKES, confirmed_by=BY, confirmed_on=DAY
        )
        for one in written
    )


def comparison(ours: str, swallowed: str) -> Comparison:
    """Ours beside a swallowed tablet, judged by a named pharmacist."""
    return Comparison(
        rows=(ComparisonRow(strength=ours, swallowed=swallowed),),
        swallowed_name="film-coated tablet",
        source="memo TL-2, invented",
        judged_by=BY,
        judged_on=DAY,
    )


TADALAFIL = Medicine()
SILDENAFIL = Medicine("sildenafil", "25 mg", "50 mg", "50 mg")
VARDENAFIL_ODT = Medicine("vardenafil", "10 mg", "10 mg", "10 mg", route=Route.ON_TONGUE)
ONDANSETRON = Medicine("ondansetron", "4 mg", "8 mg", "16 mg", "8", use="nausea")
NALTREXONE = Medicine("naltrexone", "1500 mcg", "4.5 mg", "4.5 mg", use="craving")
DEXAMETHASONE = Medicine("dexamethasone", "2 mg", "4 mg", "8 mg", use="swelling")
MELATONIN = Medicine("melatonin", "500 mcg", "1 mg", "1 mg", use="sleep")
