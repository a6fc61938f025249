"""The decision table of stops: other medicines, names, ingredients.

For each rule a record that passes and one that is refused at the boundary.
"""

from datetime import date

import pytest
from decision_rows import (
    Row,
    controlled,
    melatonin,
    ondansetron,
    prep_faults,
    rx_faults,
)
from rules_builders import (
    patient,
    preparation_of,
    tadalafil,
)

TABLE = (
    # Conflicts.
    Row(
        "conflict.nitrates",
        lambda: rx_faults(tadalafil(), patient=patient("lisinopril")),
        lambda: rx_faults(tadalafil(), patient=patient("Isosorbide mononitrate 30 mg ER tablet")),
        "tadalafil must not be taken with it: nitrates and nitrites",
    ),
    Row(
        "conflict.pde5-inhibitors",
        lambda: rx_faults(tadalafil(), patient=patient("bosentan")),
        lambda: rx_faults(tadalafil(), patient=patient("sildenafil citrate 20 mg")),
        name="for the lungs",
    ),
    Row(
        "conflict.sgc-stimulators",
        lambda: rx_faults(tadalafil(), patient=patient("bosentan")),
        lambda: rx_faults(tadalafil(), patient=patient("riociguat")),
    ),
    Row(
        "conflict.nicorandil",
        lambda: rx_faults(tadalafil(), patient=patient("ivabradine")),
        lambda: rx_faults(tadalafil(), patient=patient("nicorandil")),
    ),
    Row(
        "conflict.opioids",
        lambda: rx_faults(preparation_of("naltrexone", "4.5 mg"), patient=patient("ibuprofen")),
        lambda: rx_faults(
            preparation_of("naltrexone", "4.5 mg"), patient=patient("codeine phosphate")
        ),
    ),
    Row(
        "conflict.apomorphine",
        lambda: rx_faults(ondansetron(), patient=patient("levodopa")),
        lambda: rx_faults(ondansetron(), patient=patient("apomorphine hydrochloride")),
    ),
    Row(
        "conflict.same-substance",
        lambda: rx_faults(melatonin(), quantity_this_fill=5),
        lambda: rx_faults(melatonin(), quantity_this_fill=5, patient=patient("melatonin 3 mg")),
    ),
    Row(
        "conflict.spelling.tamsulozin",
        lambda: rx_faults(ondansetron(), patient=patient("tamsulosin")),
        lambda: rx_faults(ondansetron(), patient=patient("tamsulozin")),
        "it may be tamsulosin",
    ),
    Row(
        "conflict.unknown.zzyqx",
        lambda: rx_faults(ondansetron(), patient=patient()),
        lambda: rx_faults(ondansetron(), patient=patient("Zzyqx 5 mg")),
    ),
    Row(
        "conflict.lithium",
        lambda: rx_faults(ondansetron(contraindicated=("lithium",)), patient=patient("metformin")),
        lambda: rx_faults(
            ondansetron(contraindicated=("lithium",)), patient=patient("lithium carbonate")
        ),
        name="the pharmacy's own list",
    ),
    Row(
        "preparation.contraindicated",
        lambda: prep_faults(ondansetron(contraindicated=("apomorphine", "nitrates"))),
        lambda: prep_faults(ondansetron(contraindicated=("nitratez",))),
    ),
    Row(
        "asked.medicines",
        lambda: rx_faults(tadalafil(), patient=patient()),
        lambda: rx_faults(tadalafil(), patient=patient(asked_on=None)),
    ),
    Row(
        "asked.again",
        lambda: rx_faults(tadalafil(), patient=patient(asked_on=date(2026, 8, 25))),
        lambda: rx_faults(tadalafil(), patient=patient(asked_on=date(2026, 8, 24))),
    ),
    Row(
        "asked.order",
        lambda: rx_faults(tadalafil(), patient=patient(asked_on=date(2026, 11, 23))),
        lambda: rx_faults(tadalafil(), patient=patient(asked_on=date(2026, 11, 24))),
    ),
    # Ingredients.
    Row(
        "ingredient.unknown",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(preparation_of("misoprostol", "100 mcg")),
    ),
    Row(
        "ingredient.controlled",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(controlled("ketamine")),
        "schedule III (21 CFR 1308.13(c)",
        "by the data",
    ),
    Row(
        "ingredient.controlled",
        lambda: prep_faults(controlled("tadalafil")),
        lambda: prep_faults(controlled("tadalafil", "C-IV")),
        "recorded schedule C-IV",
        "by the record",
    ),
    Row(
        "ingredient.original-container",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(preparation_of("glyceryl trinitrate", "400 mcg")),
        "glass",
    ),
    Row(
        "ingredient.original-container",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(preparation_of("nitroglycerin", "400 mcg")),
        name="by its other name",
    ),
    Row(
        "ingredient.original-container",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(tadalafil(handling=("original-container-only",))),
        name="by the record",
    ),
)


@pytest.mark.parametrize("row", TABLE, ids=str)
def test_passes_and_is_refused_at_the_boundary(row: Row) -> None:
    """The record at the limit passes everything; the one beyond it is refused by this rule."""
    row.check_boundary()


@pytest.mark.parametrize("row", TABLE, ids=str)
def test_every_refusal_names_rule_source_and_mend(row: Row) -> None:
    """A fault says which record, what is wrong, what would mend it, and by which source."""
    row.check_words()
