"""Conflicts that no list of medicines shows: within one tablet, and between our own fills."""

import pytest
from rules_builders import (
    WHITE,
    amount,
    limits_of,
    override,
    patient,
    preparation_of,
    prescription_of,
    tadalafil,
    workspace,
)

from labelkit.records.decisions import Decisions
from labelkit.records.model import ActiveIngredient, Preparation, Strength, Workspace
from labelkit.rules.judging import judge_preparation, judge_prescription


def pair(one: str, two: str) -> Preparation:
    """One tablet with 4 mg of each."""
    limits = [limits_of(inn, "4 mg", "4 mg", "24") for inn in (one, two)]
    return preparation_of(
        one,
        "4 mg",
        ingredients=tuple(
            ActiveIngredient(inn=inn, form="base", strength_as="base") for inn in (one, two)
        ),
        strengths=(Strength(amounts=(amount("4 mg"), amount("4 mg")), appearance=WHITE),),
        limits=limits[0].model_copy(
            update={
                name: (*getattr(limits[0], name), *getattr(limits[1], name))
                for name in ("single_dose", "in_24_h", "least_interval")
            }
        ),
    )


def rules_of(space: Workspace, number: str) -> list[str]:
    """Rules that refuse one prescription."""
    (rx,) = [one for one in space.prescriptions if one.number == number]
    return [fault.rule for fault in judge_prescription(space, rx)]


@pytest.mark.parametrize(
    ("one", "two", "rule"),
    [
        # US sildenafil label, section 5: combination with other PDE5 inhibitors.
        ("tadalafil", "sildenafil", "conflict.pde5-inhibitors"),
        # UK SmPC of melatonin (jet lag), section 4.5: hypnotics, from memory.
        ("melatonin", "diphenhydramine", "conflict.sedatives"),
    ],
)
def test_a_tablet_that_conflicts_with_itself_is_refused(one: str, two: str, rule: str) -> None:
    """Whichever ingredient comes first; and a pharmacist may override it by name."""
    for preparation in (pair(one, two), pair(two, one)):
        found = [f.rule for f in judge_preparation(workspace(preparation), preparation)]
        assert found and set(found) == {rule}
    decided = Decisions(overrides=(override(rule, preparation.id),))
    assert judge_preparation(workspace(preparation, decisions=decided), preparation) == ()


def test_ingredients_that_may_go_together_pass() -> None:
    """Ondansetron with dexamethasone: no rule is against it."""
    preparation = pair("ondansetron", "dexamethasone")
    assert judge_preparation(workspace(preparation), preparation) == ()


def test_what_the_same_patient_has_from_us_counts() -> None:
    """Two prescriptions of one person that conflict are both refused, though no list names them.

    US sildenafil label, section 5: combination with other PDE5 inhibitors.
    """
    ours = tadalafil()
    other = preparation_of("vardenafil", "5 mg")
    rows = (prescription_of(ours, "1"), prescription_of(other, "2"))
    space = workspace(ours, prescriptions=rows).model_copy(update={"preparations": (ours, other)})
    assert rules_of(space, "1") == ["conflict.pde5-inhibitors"]
    assert rules_of(space, "2") == ["conflict.pde5-inhibitors"]


def test_another_person_of_that_name_or_a_replacement_does_not() -> None:
    """Another birth date is another person; a strength that replaces another isn't beside it."""
    ours = tadalafil()
    other = preparation_of("vardenafil", "5 mg")
    born = patient().born_on.replace(year=1975)
    rows = (
        prescription_of(ours, "1"),
        prescription_of(ours, "2", strength="10 mg", replaces="1"),
        prescription_of(other, "3", patient=patient(id="p-2", born_on=born)),
    )
    space = workspace(ours, prescriptions=rows).model_copy(update={"preparations": (ours, other)})
    assert [rules_of(space, number) for number in ("1", "2", "3")] == [[], [], []]
