"""Published values beside those the rules hold. Each test names what it was compared with.

'From memory' stands beside what could not be read again.
"""

from datetime import date
from decimal import Decimal

import pytest
from decision_rows import expiring, ondansetron
from rules_builders import lot_of, patient, preparation_of, prescription_of, tadalafil, workspace

from labelkit.ground.errors import RuleRefused
from labelkit.records.model import Preparation
from labelkit.rules.beyond_use import beyond_use_of, rules
from labelkit.rules.cautions import cautions_for
from labelkit.rules.classes import RuleSet, sets_for
from labelkit.rules.judging import judge_preparation, judge_prescription
from labelkit.rules.tall_man import spelt


def rule_set(inn: str) -> RuleSet:
    """The one shipped class of an ingredient."""
    (found,) = sets_for(inn)
    return found


@pytest.mark.parametrize(
    ("inn", "single", "in_24_h", "hours"),
    [
        # US sildenafil label, section 2: maximum 100 mg, at most once a day.
        ("sildenafil", "100 mg", "100 mg", 24),
        # US tadalafil label, section 2: 5 to 20 mg, at most once a day.
        ("tadalafil", "20 mg", "20 mg", 24),
        # US vardenafil orally disintegrating tablets label: 10 mg, at most once a day.
        ("vardenafil", "10 mg", "10 mg", 24),
        # US naltrexone label: 50 mg a day.
        ("naltrexone", "50 mg", "50 mg", 24),
        # UK SmPC of melatonin (jet lag): 3 mg, at most 6 mg a day.
        ("melatonin", "6 mg", "6 mg", 24),
        # US ondansetron label: 16 mg once before surgery; 24 mg once (other countries' text).
        ("ondansetron", "16 mg", "24 mg", 8),
    ],
)
def test_labelled_maxima(inn: str, single: str, in_24_h: str, hours: int) -> None:
    """The ceilings are the labels' largest doses."""
    (ceiling,) = [c for c in rule_set(inn).ceilings if c.holds_for(inn, ()) and c.single_dose]
    assert (ceiling.single_dose, ceiling.in_24_h) == (single, in_24_h)
    assert ceiling.least_interval_h == hours


def test_dexamethasone_starts_between_0_75_and_9_mg() -> None:
    """US dexamethasone label: initial dose from 0.75 to 9 mg a day."""
    (ceiling,) = rule_set("dexamethasone").ceilings
    assert ceiling.in_24_h == "9 mg"


@pytest.mark.parametrize(
    ("inn", "group", "dose", "hours"),
    [
        # US sildenafil label: "maximum dose is 25 mg within a 48 hour period" beside ritonavir.
        ("sildenafil", "ritonavir", "25 mg", 48),
        # US sildenafil label: start with 25 mg beside an alpha-blocker.
        ("sildenafil", "alpha-blockers", "25 mg", 24),
        # US tadalafil label: 10 mg in 72 hours beside strong CYP3A4 inhibitors.
        ("tadalafil", "cyp3a4-strong", "10 mg", 72),
    ],
)
def test_labelled_lower_limits(inn: str, group: str, dose: str, hours: int) -> None:
    """The lower limits beside other medicines are the labels'."""
    (found,) = [i for i in rule_set(inn).interactions if i.group == group and i.holds_for(inn, ())]
    assert (found.single_dose, found.least_interval_h) == (dose, Decimal(hours))


def test_melatonin_for_jet_lag_lasts_five_days() -> None:
    """UK SmPC of melatonin (jet lag): at most 5 days."""
    (days,) = [c for c in rule_set("melatonin").ceilings if c.most_days]
    assert (days.most_days, days.use) == (5, "jet-lag")


@pytest.mark.parametrize("inn", ["sildenafil", "tadalafil", "vardenafil"])
@pytest.mark.parametrize(
    "taken", ["isosorbide mononitrate", "nitroglycerin", "poppers", "riociguat"]
)
def test_contraindications_of_pde5_inhibitors(inn: str, taken: str) -> None:
    """US labels, section 4: nitrates in any form (also for recreation), riociguat."""
    preparation = preparation_of(inn, "5 mg")
    rx = prescription_of(preparation, patient=patient(taken))
    faults = judge_prescription(workspace(preparation, prescriptions=(rx,)), rx)
    assert {f.rule for f in faults} & {"conflict.nitrates", "conflict.sgc-stimulators"}


@pytest.mark.parametrize("taken", ["ketoconazole", "erythromycin", "doxazosin"])
def test_vardenafil_on_the_tongue_takes_no_inhibitor_beside_it(taken: str) -> None:
    """US vardenafil orally disintegrating tablets label: no moderate or potent CYP3A4 inhibitors;
    not to be started with an alpha-blocker (from memory)."""
    preparation = preparation_of("vardenafil", "5 mg")
    rx = prescription_of(preparation, patient=patient(taken))
    faults = judge_prescription(workspace(preparation, prescriptions=(rx,)), rx)
    assert any(f.rule.startswith("conflict.") for f in faults)


@pytest.mark.parametrize(
    ("inn", "statement", "words"),
    [
        # US tadalafil label: "at least 48 hours should have elapsed".
        ("tadalafil", "caution.nitrate-wait.tadalafil", "48 hours"),
        # ACC/AHA consensus, Circulation 1999;99:168: 24 h; the US label gives no interval.
        ("sildenafil", "caution.nitrate-wait.sildenafil", "the US sildenafil label gives no"),
        # US vardenafil label (film-coated): the interval "has not been determined".
        ("vardenafil", "caution.nitrate-wait.vardenafil", "not determined"),
        # US avanafil label: "at least 12 hours should elapse after the last dose".
        ("avanafil", "caution.nitrate-wait.avanafil", "12 hours"),
        # No figure is known for others.
        ("udenafil", "caution.nitrate-wait.unknown", "unknown when nitrates can be"),
    ],
)
def test_the_wait_before_nitrates_is_by_substance(inn: str, statement: str, words: str) -> None:
    """Hours belong to a substance, not to its class, and where no label gives any it says so."""
    preparation = preparation_of(inn, "5 mg")
    waits = [
        c
        for c in cautions_for(preparation, workspace(preparation))
        if c.statement.startswith("caution.nitrate-wait.")
    ]
    assert [c.statement for c in waits] == [statement]
    assert words in waits[0].source


def test_glyceryl_trinitrate_stays_in_glass() -> None:
    """US nitroglycerin sublingual tablets label: keep in the original glass container."""
    preparation = preparation_of("glyceryl trinitrate", "400 mcg")
    faults = judge_preparation(workspace(preparation), preparation)
    assert "ingredient.original-container" in {f.rule for f in faults}


@pytest.mark.parametrize(
    "inn", ["ketamine", "zolpidem", "lorazepam", "buprenorphine", "testosterone"]
)
def test_controlled_substances_are_refused(inn: str) -> None:
    """Ketamine is in schedule III (21 CFR 1308.13(c)); the others from memory."""
    preparation = preparation_of(inn, "5 mg")
    faults = judge_preparation(workspace(preparation), preparation)
    assert "ingredient.controlled" in {f.rule for f in faults}


@pytest.mark.parametrize(
    ("form", "days"),
    [
        # USP <795> (official 2023-11-01), section 10, secondary summary.
        ("liquid-aqueous", 14),
        ("liquid-aqueous-preserved", 35),
        ("liquid-nonaqueous", 90),
        # Tablets are among other nonaqueous forms; 180 days from memory.
        ("tablet-fast-dissolving", 180),
        ("capsule", 180),
    ],
)
def test_default_days_by_dosage_form(form: str, days: int) -> None:
    """The defaults without a stability study."""
    preparation = tadalafil(dosage_form=form)
    lot = lot_of(preparation, made_on=date(2026, 1, 1))
    given = beyond_use_of(workspace(preparation, lots=(lot,)), lot)
    assert (given - date(2026, 1, 1)).days == days


@pytest.mark.parametrize(("counts_from", "expected"), [(0, "2026-07-14"), (1, "2026-07-13")])
def test_both_ways_of_counting_days(counts_from: int, expected: str) -> None:
    """Made on 15 January 2026 with 180 days: 14 July, or 13 July where the day itself is day 1.

    Computed by hand: 16 + 28 + 31 + 30 + 31 + 30 = 166 days to 30 June, and 14 more.
    """
    preparation = tadalafil()
    lot = lot_of(preparation, made_on=date(2026, 1, 15))
    space = workspace(preparation, lots=(lot,), made_on_is_day=counts_from)
    assert beyond_use_of(space, lot).isoformat() == expected


def test_cap_of_180_days_also_with_a_study() -> None:
    """USP <795>: "BUDs may extend up to 180 days with a stability study" (secondary summary)."""
    (profile,) = [p for p in rules().profiles if "us" in p.countries]
    assert profile.cap_days == 180


def test_never_later_than_the_earliest_ingredient() -> None:
    """USP <795>, from memory: an ingredient that expires sooner decides."""
    preparation = tadalafil()
    lot = lot_of(preparation, ingredient_lots=expiring(date(2027, 2, 28)))
    assert beyond_use_of(workspace(preparation, lots=(lot,)), lot) == date(2027, 2, 28)


def test_a_recorded_date_within_the_rules_is_kept() -> None:
    """A pharmacy may give a shorter date than the rules would."""
    preparation = tadalafil()
    lot = lot_of(preparation, beyond_use=date(2026, 12, 24))
    assert beyond_use_of(workspace(preparation, lots=(lot,)), lot) == date(2026, 12, 24)
    late = lot_of(preparation, beyond_use=date(2027, 12, 24))
    with pytest.raises(RuleRefused, match="USP <795>"):
        beyond_use_of(workspace(preparation, lots=(late,)), late)


@pytest.mark.parametrize(
    ("inn", "spelling"),
    [
        # FDA mixed-case list.
        ("bupropion", "buPROPion"), ("buspirone", "busPIRone"), ("hydralazine", "hydrALAZINE"),
        ("glipizide", "glipiZIDE"), ("glyburide", "glyBURIDE"), ("dobutamine", "DOBUTamine"),
        ("dopamine", "DOPamine"),
        # ISMP list.
        ("alprazolam", "ALPRAZolam"), ("lorazepam", "LORazepam"), ("clonazepam", "clonazePAM"),
        ("clonidine", "cloNIDine"),
        # From memory.
        ("dexamethasone", "dexAMETHasone"), ("dexmedetomidine", "dexmedeTOMIDine"),
        # In no list: left as it is.
        ("tadalafil", "tadalafil"), ("sildenafil", "sildenafil"), ("ondansetron", "ondansetron"),
    ],
)  # fmt: skip
def test_mixed_case_spellings(inn: str, spelling: str) -> None:
    """Names are spelt as the published lists have them, and never by a rule of our own."""
    assert spelt(inn) == spelling


def test_severe_liver_disease_and_ondansetron() -> None:
    """Ondansetron, severe hepatic impairment: at most 8 mg a day (secondary summary)."""
    preparation: Preparation = ondansetron()
    said = {c.statement for c in cautions_for(preparation, workspace(preparation))}
    assert {"caution.severe-liver-ondansetron", "caution.apomorphine", "caution.qt"} <= said
