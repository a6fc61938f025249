"""Recorded decisions: what they pass, what they never pass, and what is wrong with them."""

from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

import pytest
from decision_rows import controlled, dosed, rx_faults
from rules_builders import (
    decided,
    decision,
    directions,
    limits_of,
    lot_of,
    patient,
    preparation_of,
    prescription_of,
    tadalafil,
    workspace,
)

from labelkit.records.decisions import (
    Decisions,
    EarlierDecision,
    IngredientDecision,
    RemovedParticular,
    SecondLookAt,
)
from labelkit.records.model import Preparation, Route, Workspace
from labelkit.rules.deciding import of_nothing
from labelkit.rules.judging import judge_lot, judge_preparation, judge_prescription, judged_row
from labelkit.rules.particulars import required

AGE = "age.pde5-inhibitors.from-65"
OTHER = "conflict.pde5-inhibitors"


def of_patient(*medicines: str, **change: Any) -> Workspace:
    """Tadalafil for a patient with these medicines."""
    rx = prescription_of(tadalafil(), patient=patient(*medicines), **change)
    return workspace(tadalafil(), prescriptions=(rx,))


def old(**change: Any) -> Workspace:
    """Sildenafil 50 mg on the tongue, for a patient of 70 years. US label, section 2: consider
    25 mg from 65 years, from memory."""
    preparation = preparation_of("sildenafil", "50 mg", route=Route.ON_TONGUE)
    seventy = patient(born_on=date(1956, 11, 23))
    rx = prescription_of(
        preparation, patient=seventy, directions=directions(route=Route.ON_TONGUE), **change
    )
    return workspace(preparation, prescriptions=(rx,))


def rules_of(space: Workspace) -> list[str]:
    """Ids of the rules that refuse the workspace's one prescription."""
    return [fault.rule for fault in judge_prescription(space, space.prescriptions[0])]


def deciding(space: Workspace, rule: str, **change: Any) -> Workspace:
    """The same, with a decision on each finding of that rule."""
    rx = space.prescriptions[0]
    return decided(space, rule, rx.number, judge_prescription(space, rx), **change)


def with_(space: Workspace, **change: Any) -> Workspace:
    """The same decisions, and the one prescription changed."""
    rx = space.prescriptions[0].model_copy(update=change)
    return space.model_copy(update={"prescriptions": (rx,)})


def test_a_decision_passes_one_finding_of_one_record_and_is_told() -> None:
    """Sildenafil beside tadalafil, decided by two: made, and whoever asks hears of it."""
    space = of_patient("sildenafil")
    assert rules_of(space) == [OTHER]
    passed = deciding(space, OTHER)
    judged = judged_row(passed, passed.prescriptions[0])
    assert judged.faults == ()
    (used,) = judged.decided
    assert "the patient takes sildenafil" in used.passed[0].wrong
    for words in (OTHER, used.decision.finding, "Ines", "Tomas", "2026-11-30", "spoke with"):
        assert words in str(used)


@pytest.mark.parametrize(
    "changed",
    [
        {"patient": patient("sildenafil", "metformin")},
        {"patient": patient("sildenafil", born_on=date(1975, 1, 1))},
        {"directions": directions(when="once-daily")},
        {"directions": directions(least_interval_h=Decimal(48))},
    ],
)
def test_a_changed_input_ends_a_decision(changed: dict[str, Any]) -> None:
    """Another medicine beside it, another age, other times, another interval."""
    space = with_(deciding(of_patient("sildenafil"), OTHER), **changed)
    found = judge_prescription(space, space.prescriptions[0])
    assert {fault.rule for fault in found} >= {OTHER, "decision.other-finding"}
    (told,) = [fault for fault in found if fault.rule == "decision.other-finding"]
    (now,) = [fault.finding for fault in found if fault.rule == OTHER]
    assert now in told.wrong and (told.file, told.where) == ("decisions.toml", "line 1")


def test_an_age_decision_ends_with_another_dose() -> None:
    """Decided on 25 mg, and the prescription is then for twice as much."""
    space = old()
    assert set(rules_of(space)) == {AGE}
    passed = deciding(space, AGE)
    assert rules_of(passed) == []
    twice = directions(route=Route.ON_TONGUE, tablets_per_dose=Decimal(2), most_in_24_h=Decimal(2))
    assert {AGE, "decision.other-finding"} <= set(rules_of(with_(passed, directions=twice)))


@pytest.mark.parametrize("country", ["eu", "uk", "ca"])
def test_a_dose_to_start_with_in_one_country_is_only_told_in_another(country: str) -> None:
    """EU SmPC of sildenafil, section 4.2: no adjustment for age; the US label has one."""
    space = old()
    land = space.pharmacy.model_copy(update={"country": country, "province": "BC"})
    there = space.model_copy(update={"pharmacy": land})
    judged = judged_row(there, there.prescriptions[0])
    assert judged.faults == ()
    assert {fault.rule for fault in judged.told} == {AGE}
    assert "the dose to start with is 25 mg" in judged.told[0].wrong


@pytest.mark.parametrize(
    ("entry", "rule"),
    [
        ("amyl nitrite", "conflict.nitrates"),
        ("glyceryl trinitrate", "conflict.nitrates"),
        ("nicorandil", "conflict.nicorandil"),
        ("riociguat", "conflict.sgc-stimulators"),
        ("Nitrolin spray", "asked.possible-nitrate"),
    ],
)
def test_no_decision_passes_a_stop(entry: str, rule: str) -> None:
    """No finding is named for it, and a decision that names it is a fault beside it."""
    space = of_patient(entry)
    rx = space.prescriptions[0]
    (stop,) = [f for f in judge_prescription(space, rx) if f.rule == rule]
    assert stop.finding == ""
    forged = Decisions(decided=(decision(rule, rx.number, "3f2a09c1d4e5a7b8"),))
    assert {rule, "decision.stop"} <= set(rules_of(space.model_copy(update={"decisions": forged})))


def test_a_decision_of_another_record_or_finding_passes_nothing() -> None:
    """The digest of somebody else's prescription, and one that was made up."""
    space = of_patient("sildenafil")
    other = workspace(
        tadalafil(),
        prescriptions=(
            prescription_of(tadalafil(), number="999", patient=patient("sildenafil", id="p-2")),
        ),
    )
    (theirs,) = judge_prescription(other, other.prescriptions[0])
    for finding in (theirs.finding, "0000000000000000"):
        made = decision(OTHER, space.prescriptions[0].number, finding)
        given = space.model_copy(update={"decisions": Decisions(decided=(made,))})
        assert set(rules_of(given)) == {OTHER, "decision.other-finding"}


def test_a_decision_that_fits_nothing_refuses_its_record_alone() -> None:
    """It is a fault of that prescription; of a record that isn't there it is told."""
    rx, other = (
        prescription_of(tadalafil(), number=number, patient=patient(id=number, name=name))
        for number, name in (("1", "Bo Li"), ("2", "Ada Svensson"))
    )
    inert = Decisions(decided=(decision(OTHER, "1", "0" * 16), decision(OTHER, "gone", "0" * 16)))
    space = workspace(tadalafil(), prescriptions=(rx, other), decisions=inert)
    assert [fault.rule for fault in judge_prescription(space, rx)] == ["decision.inert"]
    assert judge_prescription(space, other) == ()
    assert judge_lot(space, space.lots[0]) == ()
    (told,) = of_nothing(space)
    assert told.rule == "told.decision-of-nothing" and "'gone'" in told.wrong


def test_a_decision_on_a_lot_passes_nothing() -> None:
    """No rule of a lot is decided on; a prescription of the same number keeps its own."""
    lot = lot_of(tadalafil())
    made = decision(OTHER, lot.number, "0" * 16)
    space = workspace(tadalafil(), lots=(lot,), decisions=Decisions(decided=(made,)))
    assert [fault.rule for fault in judge_lot(space, lot)] == ["decision.inert"]
    rx = prescription_of(tadalafil(), number=lot.number, patient=patient("sildenafil"))
    space = deciding(workspace(tadalafil(), lots=(lot,), prescriptions=(rx,)), OTHER)
    assert rules_of(space) == [] and judge_lot(space, lot) == ()


def test_a_decision_whose_days_were_over_is_history() -> None:
    """What was decided for an earlier fill stays on record, and refuses nothing today."""
    over = decision(OTHER, "104321", "0" * 16, until=date(2026, 11, 1), first=date(2026, 11, 1))
    rx = prescription_of(tadalafil(), number="104321")
    space = workspace(tadalafil(), prescriptions=(rx,), decisions=Decisions(decided=(over,)))
    assert rules_of(space) == []


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"until": date(2026, 11, 22), "first": date(2026, 11, 20)}, "decision.expired"),
        ({"first": date(2026, 11, 24)}, "decision.not-begun"),
        ({"first": date(1999, 1, 1)}, "decision.before-prescription"),
        ({"until": date(2036, 1, 1)}, "decision.too-long"),
        ({"second_by": "", "second_licence": ""}, "decision.second-person"),
        ({"second_by": "Calloway-Reyes Ines PharmD"}, "decision.one-person-twice"),
        ({"second_licence": "demo-rp-1"}, "decision.one-person-twice"),
    ],
)
def test_a_decision_that_does_not_hold_is_said_beside_the_rule(
    change: dict[str, Any], rule: str
) -> None:
    """Expired, not begun, of 1999, too long, without a second person, one person twice."""
    assert rules_of(deciding(of_patient("sildenafil"), OTHER, **change)) == [OTHER, rule]


def test_a_rule_that_asks_for_one_person_takes_one() -> None:
    """An unknown herb: one licensed person decides, and only on that word."""
    alone = {"second_by": "", "second_licence": ""}
    space = of_patient("зелье", "神药")
    passed = deciding(space, "conflict.unknown.зелье", **alone)
    assert rules_of(passed) == ["conflict.unknown.神药"]


@pytest.mark.parametrize(
    ("looked", "rules"),
    [
        (None, [OTHER, "decision.second-look"]),
        ((date(2026, 11, 23), "tadalafil 5 mg"), []),
        ((date(2026, 11, 23), "tadalafil 10 mg"), [OTHER, "decision.second-look"]),
        ((date(2026, 11, 22), "tadalafil 5 mg"), [OTHER, "decision.second-look"]),
    ],
)
def test_one_who_works_alone_looks_again_and_enters_it_anew(
    looked: tuple[date, str] | None, rules: list[str]
) -> None:
    """What takes the second person's place is recorded, and compared with the record."""
    space = of_patient("sildenafil")
    alone = space.pharmacy.model_copy(update={"works_alone": True})
    again = (
        SecondLookAt(at=datetime.combine(looked[0], time(15, 30)), entered=looked[1])
        if looked
        else None
    )
    change: dict[str, Any] = {"second_by": "", "second_licence": "", "looked_again": again}
    given = deciding(space.model_copy(update={"pharmacy": alone}), OTHER, **change)
    assert rules_of(given) == rules
    if not rules:
        refused = given.model_copy(update={"pharmacy": space.pharmacy})
        assert rules_of(refused) == [OTHER, "decision.second-person"]


def test_an_earlier_shape_is_refused_with_the_finding_to_write() -> None:
    """``[[override]]`` named no finding; the fault says which it would name today."""
    space = of_patient("sildenafil")
    rx = space.prescriptions[0]
    (found,) = judge_prescription(space, rx)
    earlier = EarlierDecision(rule=OTHER, record=rx.number, place="line 3")
    given = space.model_copy(update={"decisions": Decisions(earlier=(earlier,))})
    (_, fault) = judge_prescription(given, rx)
    assert fault.rule == "decision.earlier-shape"
    assert "[[decision]]" in fault.mend and found.finding in fault.mend


@pytest.mark.parametrize("own", ["nitrates", "Nitrates", "nitrate"])
def test_a_pharmacys_own_entry_has_the_groups_rule(own: str) -> None:
    """However it is spelt it stops for every nitrate, once, under the group's own id."""
    preparation = preparation_of("ondansetron", "4 mg", uses=("nausea",), contraindicated=(own,))
    rx = prescription_of(preparation, patient=patient("isosorbide mononitrate"))
    space = workspace(preparation, prescriptions=(rx,))
    assert [fault.rule for fault in judge_prescription(space, rx)] == ["conflict.nitrates"]


@pytest.mark.parametrize(
    ("preparation", "rule"),
    [
        (controlled("ketamine"), "ingredient.controlled"),
        (preparation_of("misoprostol", "100 mcg"), "ingredient.unknown"),
        (preparation_of("glyceryl trinitrate", "400 mcg"), "ingredient.original-container"),
        (tadalafil(limits=limits_of("sildenafil", "1 mg", "1 mg", "24")), "limits.recorded"),
    ],
)
def test_a_preparation_has_stops_too(preparation: Preparation, rule: str) -> None:
    """Unknown, controlled and glass-only ingredients and missing limits stop in any case."""
    made = decision(rule, preparation.id, "0" * 16)
    given = workspace(preparation, decisions=Decisions(decided=(made,)))
    assert {rule, "decision.stop"} <= {f.rule for f in judge_preparation(given, preparation)}


def test_a_preparations_decision_holds_a_year_at_most() -> None:
    """A ceiling decided on for two years, and for one; and one that ended before a dispensing."""
    preparation = preparation_of("ondansetron", "4 mg", uses=("sleep",))
    space = workspace(preparation)
    faults = judge_preparation(space, preparation)
    assert {fault.rule for fault in faults} == {"use.class"}
    for until, rules in (
        (date(2027, 10, 31), []),
        (date(2028, 11, 23), ["use.class", "decision.too-long"]),
        (date(2026, 11, 1), ["use.class", "decision.expired"]),
    ):
        given = decided(
            space, "use.class", preparation.id, faults, first=date(2026, 11, 1), until=until
        )
        assert [fault.rule for fault in judge_preparation(given, preparation)] == rules


def test_describing_an_unknown_ingredient_does_not_free_it() -> None:
    """What a pharmacist records of it is kept, and a monograph still covers nothing."""
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
    assert [f.rule for f in judge_preparation(given, preparation)] == ["ingredient.unknown"]


@pytest.mark.parametrize(
    ("artwork", "particular"),
    [
        ("sleeve", "patient"), ("sleeve", "drug"), ("sleeve", "strength"),
        ("sleeve", "directions"), ("sleeve", "lot"), ("sleeve", "beyond-use"),
        ("lidding", "lot"), ("pad", "strengths"),
    ],
)  # fmt: skip
def test_some_particulars_are_never_removed(artwork: str, particular: str) -> None:
    """The decision is refused, and what it names stays required."""
    removed = RemovedParticular(
        id=particular, artwork=artwork, reason="our sleeve has no room for so many lines",
        by="Ines Calloway-Reyes, PharmD", licence="DEMO-RP-1", on=date(2026, 11, 1),
    )  # fmt: skip
    preparation = tadalafil()
    given = workspace(preparation, decisions=Decisions(removed_particulars=(removed,)))
    (fault,) = judge_preparation(given, preparation)
    assert fault.rule == "particulars.never-removed" and particular in fault.wrong
    rx = given.prescriptions[0] if artwork == "sleeve" else None
    assert particular in {one.id for one in required(given, artwork, preparation, rx)}


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
    preparation = tadalafil()
    recorded = IngredientDecision(
        inn="tadalafil", of_class="pde5-inhibitors", cautions=("caution.pregnancy-ask",),
        conflicts=("mifepriston",), source="US tadalafil label",
        by="Ines Calloway-Reyes, PharmD", licence="DEMO-RP-1", on=date(2026, 11, 1),
    )  # fmt: skip
    given = workspace(preparation, decisions=Decisions(ingredients=(recorded,)))
    assert [f.rule for f in judge_preparation(given, preparation)] == ["ingredient.conflicts"]
