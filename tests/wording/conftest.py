"""One small invented pharmacy for the tests of wording; no such firm or person exists."""

from datetime import date
from decimal import Decimal

import pytest

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
from labelkit.rules.model import Caution


def _limit(amount: Amount | None = None, hours: str = "") -> Limit:
    return Limit(
        amount=amount,
        hours=Decimal(hours) if hours else None,
        ingredient="tadalafil",
        source="decision D-1",
        decided_by="R. Ph",
        decided_on=date(2026, 1, 2),
    )


@pytest.fixture
def preparation() -> Preparation:
    """Tadalafil under the tongue, with a comparison."""
    ten = Amount(value=Decimal("10"), unit=Unit.MG)
    return Preparation(
        id="tadalafil",
        title="Tadalafil under the tongue",
        ingredients=(ActiveIngredient(inn="tadalafil", form="base", strength_as="base"),),
        dosage_form="tablet-fast-dissolving",
        route=Route.UNDER_TONGUE,
        strengths=(
            Strength(
                amounts=(Amount(value=Decimal("2.5"), unit=Unit.MG),),
                appearance=Appearance(colour="pale-yellow", shape="round", mark="T2"),
            ),
        ),
        excipients=("mannitol", "Gum Never Translated"),
        storage="room-dry",
        container="peel card in sleeve",
        handling=("fragile", "peel-open"),
        uses=("erection",),
        limits=Limits(
            single_dose=(_limit(ten),), in_24_h=(_limit(ten),), least_interval=(_limit(hours="24"),)
        ),
        comparison=Comparison(
            rows=(ComparisonRow(strength="2.5 mg", swallowed="5 mg"),),
            swallowed_name="tadalafil film-coated tablet",
            source="memo M-1",
            judged_by="Ines Calloway",
            judged_on=date(2026, 2, 3),
        ),
        side_effects=("headache",),
        urgent_effects=("chest-pain",),
    )


@pytest.fixture
def prescription() -> Prescription:
    """One tablet a day before activity, for a patient who reads Spanish."""
    return Prescription(
        number="10432",
        written_on=date(2026, 6, 1),
        dispensed_on=date(2026, 6, 2),
        patient=Patient(id="p-1", name="José Núñez", born_on=date(1950, 3, 4), language="es"),
        prescriber=Prescriber(name="H. Quill, MD", registration="R-1", telephone="555-0102"),
        preparation="tadalafil",
        strength="2.5 mg",
        quantity_prescribed=20,
        quantity_this_fill=10,
        quantity_remaining=10,
        refills_left=1,
        directions=Directions(
            tablets_per_dose=Decimal(1),
            route=Route.UNDER_TONGUE,
            when="before-activity-30-60-min",
            reason="erection",
            least_interval_h=Decimal(24),
            most_in_24_h=Decimal(1),
        ),
    )


@pytest.fixture
def lot() -> Lot:
    """A lot of the preparation."""
    return Lot(
        number="TV2611",
        preparation="tadalafil",
        strength="2.5 mg",
        status=LotStatus.RELEASED,
        made_on=date(2026, 5, 1),
        made=96,
        rejected=0,
        tested=0,
        retained=0,
        ingredient_lots=(IngredientLot(name="tadalafil", number="X1", expiry=date(2028, 1, 31)),),
        prepared_by="A. Ro",
        checked_by="B. Li",
    )


@pytest.fixture
def workspace(preparation: Preparation, prescription: Prescription, lot: Lot) -> Workspace:
    """All of it, in the United States and in English."""
    return Workspace(
        root="/nowhere",
        pharmacy=Pharmacy(
            name="Tidewrack Lane Pharmacy",
            address=("14 Tidewrack Lane", "Port Quill"),
            telephone="555-0114",
            licence="DEMO-1",
            out_of_hours="555-0190",
            country="us",
            language="en",
            languages=("en", "es"),
        ),
        preparations=(preparation,),
        lots=(lot,),
        prescriptions=(prescription,),
    )


@pytest.fixture
def cautions() -> tuple[Caution, ...]:
    """One of each severity."""
    return (
        Caution("caution.nitrates", "r", "s", 1),
        Caution("caution.sgc-stimulators", "r", "s", 2),
        Caution("caution.comparison.do-not-take-more", "r", "s", 2),
        Caution("caution.children", "r", "s", 2),
        Caution("peel.do-not-push", "r", "s", 2),
        Caution("caution.grapefruit", "r", "s", 3),
    )
