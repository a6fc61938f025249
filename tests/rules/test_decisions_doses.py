"""The decision table of doses: limits, ceilings, lower limits, ages, comparisons.

For each rule a record that passes and one that is refused at the boundary.
"""

from datetime import date

import pytest
from decision_rows import (
    Row,
    dosed,
    melatonin,
    ondansetron,
    prep_faults,
    rx_faults,
    two_ingredients,
)
from rules_builders import (
    comparison_of,
    directions,
    limits_of,
    patient,
    sildenafil,
    tadalafil,
)

from labelkit.records.model import Route

TABLE = (
    # Doses: the preparation's own limits. 5 mg tablets, 10 mg at once and in 24 hours, 24 hours.
    Row(
        "dose.single",
        lambda: rx_faults(tadalafil(), directions=dosed("2", "2")),
        lambda: rx_faults(tadalafil(), directions=dosed("3", "3")),
        "3 tablets × 5 mg = 15 mg of tadalafil; the limit for one dose is 10 mg",
    ),
    Row(
        "dose.single",
        lambda: rx_faults(tadalafil(), strength="10 mg"),
        lambda: rx_faults(tadalafil(), strength="10 mg", directions=dosed("2", "2")),
        "2 tablets × 10 mg = 20 mg",
        "issue's sum",
    ),
    Row(
        "dose.single",
        lambda: rx_faults(
            melatonin(limits=limits_of("melatonin", "1 mg", "1 mg", "24")),
            quantity_this_fill=5,
            directions=dosed("2", "2", reason="jet-lag"),
        ),
        lambda: rx_faults(
            melatonin(limits=limits_of("melatonin", "999 mcg", "1 mg", "24")),
            quantity_this_fill=5,
            directions=dosed("2", "2", reason="jet-lag"),
        ),
        "2 tablets × 500 mcg = 1,000 mcg of melatonin; the limit for one dose is 999 mcg",
        "mcg against mg",
    ),
    Row(
        "dose.in-24-h",
        lambda: rx_faults(ondansetron(), directions=dosed("1", "4", "8", "nausea")),
        lambda: rx_faults(ondansetron(), directions=dosed("1", "5", "8", "nausea")),
        "5 tablets × 4 mg = 20 mg of ondansetron; the limit for 24 hours is 16 mg",
    ),
    Row(
        "dose.interval",
        lambda: rx_faults(ondansetron(), directions=dosed("1", "3", "8", "nausea")),
        lambda: rx_faults(ondansetron(), directions=dosed("1", "3", "7.98", "nausea")),
        "just under 7 hours 59 minutes between doses; the least interval for ondansetron is "
        "8 hours",
        "a minute short",
    ),
    Row(
        "dose.single",
        lambda: rx_faults(two_ingredients("4 mg"), directions=dosed("2", "2", reason="nausea")),
        lambda: rx_faults(two_ingredients("3.9 mg"), directions=dosed("2", "2", reason="nausea")),
        "2 tablets × 2 mg = 4 mg of dexamethasone",
        "the second ingredient counts",
    ),
    Row(
        "directions.route",
        lambda: rx_faults(tadalafil()),
        lambda: rx_faults(tadalafil(), directions=directions(route=Route.ON_TONGUE)),
    ),
    Row(
        "directions.reason",
        lambda: rx_faults(melatonin(), quantity_this_fill=5),
        lambda: rx_faults(
            melatonin(), quantity_this_fill=5, directions=directions(reason="erection")
        ),
        "the directions say it is for erection, melatonin is for jet-lag",
    ),
    Row(
        "directions.whole-tablets",
        lambda: rx_faults(tadalafil(handling=("peel-open",)), directions=dosed("0.5", "1")),
        lambda: rx_faults(tadalafil(), directions=dosed("0.5", "1")),
    ),
    Row(
        "directions.sense",
        lambda: rx_faults(tadalafil(), directions=dosed("2", "2")),
        lambda: rx_faults(tadalafil(), directions=dosed("2", "1")),
        name="dose above the day's most",
    ),
    Row(
        "directions.sense",
        lambda: rx_faults(tadalafil(), directions=dosed("1", "1")),
        lambda: rx_faults(tadalafil(), directions=dosed("0", "1")),
        name="no tablet",
    ),
    Row(
        "directions.sense",
        lambda: rx_faults(tadalafil(), directions=dosed("1", "1")),
        lambda: rx_faults(tadalafil(), directions=dosed("1", "1", "0")),
        name="no interval",
    ),
    # Limits of the preparation.
    Row(
        "limits.recorded",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(tadalafil(limits=limits_of("sildenafil", "10 mg", "10 mg", "24"))),
    ),
    Row(
        "limits.one-tablet",
        lambda: prep_faults(tadalafil(limits=limits_of("tadalafil", "10 mg", "10 mg", "24"))),
        lambda: prep_faults(tadalafil(limits=limits_of("tadalafil", "9.99 mg", "10 mg", "24"))),
        "one tablet holds 10 mg of tadalafil; the limit for one dose is 9.99 mg",
    ),
    Row(
        "limits.one-tablet",
        lambda: prep_faults(tadalafil(limits=limits_of("tadalafil", "10 mg", "10 mg", "24"))),
        lambda: prep_faults(tadalafil(limits=limits_of("tadalafil", "10 mg", "9.99 mg", "24"))),
        name="a day's limit under one tablet",
    ),
    # Ceilings of swallowed forms.
    Row(
        "ceiling.single-dose",
        lambda: prep_faults(
            tadalafil(comparison=None, limits=limits_of("tadalafil", "20 mg", "20 mg", "24"))
        ),
        lambda: prep_faults(
            tadalafil(comparison=None, limits=limits_of("tadalafil", "20.001 mg", "20 mg", "24"))
        ),
    ),
    Row(
        "ceiling.in-24-h",
        lambda: prep_faults(ondansetron(limits=limits_of("ondansetron", "8 mg", "24 mg", "8"))),
        lambda: prep_faults(ondansetron(limits=limits_of("ondansetron", "8 mg", "24.001 mg", "8"))),
    ),
    Row(
        "ceiling.least-interval",
        lambda: prep_faults(ondansetron(limits=limits_of("ondansetron", "8 mg", "24 mg", "8"))),
        lambda: prep_faults(ondansetron(limits=limits_of("ondansetron", "8 mg", "24 mg", "7.99"))),
    ),
    Row(
        "ceiling.comparable",
        lambda: prep_faults(tadalafil(limits=limits_of("tadalafil", "10 mg", "10 mg", "24"))),
        lambda: prep_faults(tadalafil(limits=limits_of("tadalafil", "15 mg", "15 mg", "24"))),
        "at 5 mg it allows 3 tablets × 10 mg = 30 mg of the swallowed tablet, "
        "above the 20 mg of its label",
    ),
    Row(
        "ceiling.days",
        lambda: rx_faults(melatonin(), quantity_this_fill=5),
        lambda: rx_faults(melatonin(), quantity_this_fill=6),
    ),
    # Lower limits beside other medicines: sildenafil 10 mg compared with 25 mg swallowed.
    Row(
        "interaction.ritonavir",
        lambda: rx_faults(
            sildenafil(), patient=patient("ritonavir"), directions=dosed("1", "1", "48")
        ),
        lambda: rx_faults(
            sildenafil(), patient=patient("ritonavir"), directions=dosed("1", "1", "47.98")
        ),
        "just under 47 hours 59 minutes between doses; beside ritonavir the least interval is "
        "48 hours",
    ),
    Row(
        "interaction.ritonavir",
        lambda: rx_faults(
            sildenafil(), patient=patient("ritonavir"), directions=dosed("1", "1", "48")
        ),
        lambda: rx_faults(
            sildenafil(),
            strength="20 mg",
            patient=patient("ritonavir"),
            directions=dosed("1", "1", "48"),
        ),
        "1 tablet × 50 mg = 50 mg, as swallowed tablets judged comparable; beside ritonavir "
        "the limit is 25 mg",
        "one strength up",
    ),
    Row(
        "interaction.ritonavir",
        lambda: rx_faults(
            sildenafil(), patient=patient("ritonavir"), directions=dosed("1", "1", "48")
        ),
        lambda: rx_faults(
            sildenafil(comparison=None),
            patient=patient("ritonavir"),
            directions=dosed("1", "1", "48"),
        ),
        "no comparison says what that is under the tongue",
        "nobody compared",
    ),
    Row(
        "interaction.cyp3a4-strong",
        lambda: rx_faults(
            tadalafil(), patient=patient("itraconazole"), directions=dosed("1", "1", "72")
        ),
        lambda: rx_faults(
            tadalafil(), patient=patient("itraconazole"), directions=dosed("1", "1", "71.98")
        ),
    ),
    Row(
        "interaction.alpha-blockers",
        lambda: rx_faults(sildenafil(), patient=patient("tamsulosin")),
        lambda: rx_faults(sildenafil(), strength="20 mg", patient=patient("tamsulosin")),
    ),
    # Ages: 50 years and 0 days on the day of dispensing, moved to the boundary.
    Row(
        "age.pde5-inhibitors.below-18",
        lambda: rx_faults(tadalafil(), patient=patient(born_on=date(2008, 11, 23))),
        lambda: rx_faults(tadalafil(), patient=patient(born_on=date(2008, 11, 24))),
        "the patient is 17 years old",
    ),
    Row(
        "age.pde5-inhibitors.from-65",
        lambda: rx_faults(
            sildenafil(), strength="20 mg", patient=patient(born_on=date(1961, 11, 24))
        ),
        lambda: rx_faults(
            sildenafil(), strength="20 mg", patient=patient(born_on=date(1961, 11, 23))
        ),
        "at 65 years the dose to start with is 25 mg",
        "lower dose from 65",
    ),
    # Comparison.
    Row(
        "table.complete",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(tadalafil(comparison=comparison_of(("5 mg", "10 mg")))),
    ),
    Row(
        "table.complete",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(
            tadalafil(
                comparison=comparison_of(("5 mg", "10 mg"), ("10 mg", "20 mg"), ("20 mg", "40 mg"))
            )
        ),
        name="a strength not sold",
    ),
    Row(
        "table.monotone",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(
            tadalafil(comparison=comparison_of(("5 mg", "10 mg"), ("10 mg", "10 mg")))
        ),
    ),
    Row(
        "table.answered-for",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(
            tadalafil(
                comparison=comparison_of(("5 mg", "10 mg"), ("10 mg", "20 mg")).model_copy(
                    update={"judged_by": " "}
                )
            )
        ),
    ),
    Row(
        "table.words",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(
            tadalafil(
                comparison=comparison_of(("5 mg", "10 mg"), ("10 mg", "20 mg")).model_copy(
                    update={"source": "shown equivalent in memo 2"}
                )
            )
        ),
    ),
    Row(
        "table.amount",
        lambda: prep_faults(tadalafil()),
        lambda: prep_faults(
            tadalafil(comparison=comparison_of(("5 mg", "ten"), ("10 mg", "20 mg")))
        ),
    ),
    Row(
        "table.one-ingredient",
        lambda: prep_faults(two_ingredients("4 mg")),
        lambda: prep_faults(
            two_ingredients("4 mg").model_copy(
                update={"comparison": comparison_of(("4 mg / 2 mg", "8 mg"))}
            )
        ),
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
