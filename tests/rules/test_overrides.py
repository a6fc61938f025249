"""Recorded decisions: what they lift, what they never lift."""

from datetime import date

import pytest
from decision_rows import controlled, dosed, rx_faults
from rules_builders import (
    limits_of,
    override,
    patient,
    preparation_of,
    prescription_of,
    tadalafil,
    workspace,
)

from labelkit.records.decisions import Decisions, IngredientDecision
from labelkit.records.model import Preparation
from labelkit.rules.judging import judge_preparation, judge_prescription


def test_an_override_lets_one_record_pass_one_rule() -> None:
    """A named pharmacist's decision lifts a conflict for that prescription alone."""
    preparation = tadalafil()
    rx = prescription_of(preparation, patient=patient("riociguat"))
    decided = override("conflict.sgc-stimulators", rx.number)
    with_it = workspace(preparation, prescriptions=(rx,), decisions=Decisions(overrides=(decided,)))
    assert judge_prescription(with_it, rx) == ()
    other = workspace(
        preparation,
        prescriptions=(rx,),
        decisions=Decisions(overrides=(override("conflict.sgc-stimulators", "999"),)),
    )
    assert [f.rule for f in judge_prescription(other, rx)] == ["conflict.sgc-stimulators"]


@pytest.mark.parametrize("own", ["nitrates", "Nitrates", "nitrate"])
def test_a_pharmacys_own_entry_has_the_groups_rule(own: str) -> None:
    """However it is spelt it stops for every nitrate, once, under the id that lifts it."""
    preparation = preparation_of("ondansetron", "4 mg", uses=("nausea",), contraindicated=(own,))
    rx = prescription_of(preparation, patient=patient("isosorbide mononitrate"))
    space = workspace(preparation, prescriptions=(rx,))
    assert [fault.rule for fault in judge_prescription(space, rx)] == ["conflict.nitrates"]
    decided = Decisions(overrides=(override("conflict.nitrates", rx.number),))
    lifted = workspace(preparation, prescriptions=(rx,), decisions=decided)
    assert judge_prescription(lifted, rx) == ()


@pytest.mark.parametrize(
    ("preparation", "rule"),
    [
        (controlled("ketamine"), "ingredient.controlled"),
        (preparation_of("misoprostol", "100 mcg"), "ingredient.unknown"),
        (preparation_of("glyceryl trinitrate", "400 mcg"), "ingredient.original-container"),
        (tadalafil(limits=limits_of("sildenafil", "1 mg", "1 mg", "24")), "limits.recorded"),
    ],
)
def test_some_rules_have_no_override(preparation: Preparation, rule: str) -> None:
    """Unknown, controlled and glass-only ingredients and missing limits stop in any case."""
    decided = Decisions(overrides=(override(rule, preparation.id),))
    given = workspace(preparation, decisions=decided)
    assert rule in {fault.rule for fault in judge_preparation(given, preparation)}


def test_a_pharmacist_can_describe_an_unknown_ingredient() -> None:
    """An ingredient recorded with class, cautions and conflicts is no longer unknown."""
    preparation = preparation_of("misoprostol", "100 mcg")
    recorded = IngredientDecision(
        inn="misoprostol",
        of_class="prostaglandins",
        cautions=("caution.pregnancy-ask",),
        conflicts=("mifepristone",),
        source="US misoprostol label",
        by="Ines Calloway-Reyes, PharmD",
        licence="DEMO-RP-1",
        on=date(2026, 11, 1),
    )
    given = workspace(preparation, decisions=Decisions(ingredients=(recorded,)))
    assert judge_preparation(given, preparation) == ()
    rx = prescription_of(preparation, patient=patient("mifepristone"))
    assert [f.rule for f in judge_prescription(given, rx)] == ["conflict.mifepristone"]


def test_all_faults_come_at_once() -> None:
    """Two things wrong with one prescription are both named."""
    faults = rx_faults(
        tadalafil(), patient=patient("riociguat", "tamsulozin"), directions=dosed("3", "3", "12")
    )
    assert {f.rule for f in faults} >= {
        "conflict.sgc-stimulators",
        "conflict.spelling.tamsulozin",
        "dose.single",
        "dose.in-24-h",
        "dose.interval",
    }


def test_a_recorded_conflict_that_matches_nothing_is_refused() -> None:
    """A name that no medicine could match would look like safety and be none."""
    preparation = preparation_of("misoprostol", "100 mcg")
    recorded = IngredientDecision(
        inn="misoprostol", of_class="prostaglandins", cautions=("caution.pregnancy-ask",),
        conflicts=("mifepriston",), source="US misoprostol label",
        by="Ines Calloway-Reyes, PharmD", licence="DEMO-RP-1", on=date(2026, 11, 1),
    )  # fmt: skip
    given = workspace(preparation, decisions=Decisions(ingredients=(recorded,)))
    assert [f.rule for f in judge_preparation(given, preparation)] == ["ingredient.conflicts"]
