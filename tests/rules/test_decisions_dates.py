"""The decision table of dates, lots and country profiles.

For each rule a record that passes and one that is refused at the boundary.
"""

from datetime import date

import pytest
from decision_rows import (
    Row,
    expiring,
    lot_faults,
    prep_faults,
    study,
)
from rules_builders import (
    tadalafil,
)

from labelkit.records.model import BeyondUse

TABLE = (
    # Beyond-use dates: made on 2 November 2026; 180 days later is 1 May 2027.
    Row(
        "beyond-use.default",
        lambda: lot_faults(tadalafil(), {"beyond_use": date(2027, 5, 1)}),
        lambda: lot_faults(tadalafil(), {"beyond_use": date(2027, 5, 2)}),
    ),
    Row(
        "beyond-use.cap",
        lambda: lot_faults(tadalafil(beyond_use=study(365)), {"beyond_use": date(2027, 5, 1)}),
        lambda: lot_faults(tadalafil(beyond_use=study(365)), {"beyond_use": date(2027, 5, 2)}),
        name="cap in spite of a study",
    ),
    Row(
        "beyond-use.study",
        lambda: lot_faults(tadalafil(beyond_use=study(120)), {"beyond_use": date(2027, 3, 2)}),
        lambda: lot_faults(tadalafil(beyond_use=study(120)), {"beyond_use": date(2027, 3, 3)}),
    ),
    Row(
        "beyond-use.study",
        lambda: prep_faults(tadalafil(beyond_use=study(1))),
        lambda: prep_faults(
            tadalafil(beyond_use=BeyondUse(days=120, container="peel card in sleeve"))
        ),
        name="days without a study",
    ),
    Row(
        "beyond-use.container",
        lambda: prep_faults(tadalafil(beyond_use=study(120, "Peel card  in sleeve"))),
        lambda: prep_faults(tadalafil(beyond_use=study(120, "glass bottle"))),
    ),
    Row(
        "beyond-use.ingredient",
        lambda: lot_faults(
            tadalafil(),
            {"beyond_use": date(2027, 2, 28), "ingredient_lots": expiring(date(2027, 2, 28))},
        ),
        lambda: lot_faults(
            tadalafil(),
            {"beyond_use": date(2027, 2, 28), "ingredient_lots": expiring(date(2027, 2, 27))},
        ),
    ),
    Row(
        "beyond-use.ingredient",
        lambda: lot_faults(tadalafil(), {"ingredient_lots": expiring(date(2026, 11, 2))}),
        lambda: lot_faults(tadalafil(), {"ingredient_lots": expiring(date(2026, 11, 1))}),
        name="expired when made",
    ),
    Row(
        "beyond-use.order",
        lambda: lot_faults(tadalafil(), {"beyond_use": date(2026, 11, 2)}),
        lambda: lot_faults(tadalafil(), {"beyond_use": date(2026, 11, 1)}),
    ),
    Row(
        "beyond-use.default",
        lambda: prep_faults(tadalafil(beyond_use=study(120)), country="uk"),
        lambda: prep_faults(tadalafil(), country="uk"),
        name="no default known",
    ),
    Row(
        "lot.usable",
        lambda: lot_faults(tadalafil(), {"made": 8}),
        lambda: lot_faults(tadalafil(), {"made": 7}),
    ),
    Row(
        "beyond-use.cap",
        lambda: lot_faults(tadalafil(beyond_use=study(10**7)), {}),
        lambda: lot_faults(tadalafil(beyond_use=study(10**7)), {"beyond_use": date(2027, 5, 2)}),
        name="a study of many lifetimes",
    ),
    # Profiles.
    Row(
        "particulars.profile",
        lambda: prep_faults(tadalafil(), country="us"),
        lambda: prep_faults(tadalafil(), country="zz"),
    ),
    Row(
        "particulars.province",
        lambda: prep_faults(tadalafil(), country="ca", province="ON"),
        lambda: prep_faults(tadalafil(), country="ca"),
    ),
    Row(
        "particulars.province-language",
        lambda: prep_faults(tadalafil(), country="ca", province="QC", languages=("en", "fr-CA")),
        lambda: prep_faults(tadalafil(), country="ca", province="QC"),
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
