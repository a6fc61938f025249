"""Rows of the decision table, and the records that its rows change."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from rules_builders import (
    amount,
    directions,
    limits_of,
    lot_of,
    preparation_of,
    prescription_of,
    workspace,
)

from labelkit.ground.errors import Fault
from labelkit.records.model import (
    ActiveIngredient,
    Appearance,
    BeyondUse,
    Directions,
    IngredientLot,
    Preparation,
    Strength,
)
from labelkit.rules.judging import judge_lot, judge_preparation, judge_prescription


def rx_faults(preparation: Preparation, **change: Any) -> tuple[Fault, ...]:
    """Faults of a prescription of that preparation, changed so."""
    rx = prescription_of(preparation, **change)
    return judge_prescription(workspace(preparation, prescriptions=(rx,)), rx)


def prep_faults(preparation: Preparation, **pharmacy: Any) -> tuple[Fault, ...]:
    """Faults of a preparation in a pharmacy changed so."""
    return judge_preparation(workspace(preparation, **pharmacy), preparation)


def lot_faults(preparation: Preparation, lot: dict[str, Any], **pharmacy: Any) -> tuple[Fault, ...]:
    """Faults of a lot of that preparation, changed so."""
    made = lot_of(preparation, **lot)
    return judge_lot(workspace(preparation, lots=(made,), **pharmacy), made)


def dosed(tablets: str, most: str, hours: str = "24", reason: str = "erection") -> Directions:
    """Directions with those numbers."""
    return directions(
        tablets_per_dose=Decimal(tablets),
        most_in_24_h=Decimal(most),
        least_interval_h=Decimal(hours),
        reason=reason,
    )


def ondansetron(**change: Any) -> Preparation:
    """Ondansetron 4 mg: at most 8 mg at once, 16 mg in 24 hours, 8 hours apart."""
    limits = limits_of("ondansetron", "8 mg", "16 mg", "8")
    return preparation_of(
        "ondansetron", "4 mg", **{"uses": ("nausea",), "limits": limits, **change}
    )


def melatonin(**change: Any) -> Preparation:
    """Melatonin 500 mcg for jet lag."""
    return preparation_of("melatonin", "500 mcg", **{"uses": ("jet-lag",), **change})


def controlled(inn: str, schedule: str = "") -> Preparation:
    """A preparation whose ingredient has that recorded schedule."""
    ingredient = ActiveIngredient(inn=inn, form="base", strength_as="base", schedule=schedule)
    return preparation_of(inn, "5 mg", ingredients=(ingredient,))


def two_ingredients(single: str) -> Preparation:
    """Ondansetron 4 mg with dexamethasone 2 mg; the second's single-dose limit as given."""
    one, two = (
        limits_of("ondansetron", "8 mg", "16 mg", "24"),
        limits_of("dexamethasone", single, "8 mg", "24"),
    )
    return ondansetron(
        ingredients=tuple(
            ActiveIngredient(inn=i, form="base", strength_as="base")
            for i in ("ondansetron", "dexamethasone")
        ),
        strengths=(
            Strength(
                amounts=(amount("4 mg"), amount("2 mg")),
                appearance=Appearance(colour="white", shape="round"),
            ),
        ),
        limits=one.model_copy(
            update={
                "single_dose": (*one.single_dose, *two.single_dose),
                "in_24_h": (*one.in_24_h, *two.in_24_h),
                "least_interval": (*one.least_interval, *two.least_interval),
            }
        ),
    )


def study(days: int, container: str = "peel card in sleeve") -> BeyondUse:
    """A stability study's result."""
    return BeyondUse(days=days, study="Report S-14, invented", container=container)


def expiring(on: date) -> tuple[IngredientLot, ...]:
    """One lot of tadalafil with that expiry."""
    return (IngredientLot(name="tadalafil", number="X-1", expiry=on),)


@dataclass(frozen=True)
class Row:
    """A rule, what passes it, and what it refuses."""

    rule: str
    passes: Callable[[], tuple[Fault, ...]]
    refused: Callable[[], tuple[Fault, ...]]
    says: str = ""
    name: str = ""

    def __str__(self) -> str:
        return f"{self.rule}: {self.name}".rstrip(": ")

    def check_boundary(self) -> None:
        """The record at the limit has no fault at all; the one beyond it has this rule's."""
        assert [str(fault) for fault in self.passes()] == []
        faults = [fault for fault in self.refused() if fault.rule == self.rule]
        assert faults
        assert any(self.says in fault.wrong for fault in faults)

    def check_words(self) -> None:
        """Every fault says which record, what is wrong, what mends it, and by which source."""
        for fault in self.refused():
            assert fault.file and fault.wrong and fault.mend
            assert fault.rule and len(fault.source) >= 8
