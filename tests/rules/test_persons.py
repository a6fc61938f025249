"""Entries that may be one person: refused until a named person decides."""

from datetime import date

from rules_builders import (
    PHARMACIST,
    patient,
    preparation_of,
    prescription_of,
    tadalafil,
    workspace,
)

from labelkit.records.decisions import Decisions, SamePerson
from labelkit.records.model import Patient, Workspace
from labelkit.rules.judging import judge_row


def two(one: Patient, other: Patient, decisions: Decisions | None = None) -> Workspace:
    """Tadalafil for the one, vardenafil for the other."""
    ours, theirs = tadalafil(), preparation_of("vardenafil", "5 mg")
    rows = (prescription_of(ours, "1", patient=one), prescription_of(theirs, "2", patient=other))
    space = workspace(ours, prescriptions=rows, decisions=decisions)
    return space.model_copy(update={"preparations": (ours, theirs)})


def rules_of(space: Workspace) -> list[set[str]]:
    """The rules that refuse each prescription."""
    return [{fault.rule for fault in judge_row(space, rx)} for rx in space.prescriptions]


def decided(*, same: bool) -> Decisions:
    """Somebody found out."""
    said = SamePerson(
        ids=("p-1", "p-2"), same=same, by=PHARMACIST, licence="DEMO-1", on=date(2026, 11, 23)
    )
    return Decisions(same_persons=(said,))


JOSE, ACCENTLESS = patient(name="José Núñez"), patient(id="p-2", name="NUNEZ Jose")


def test_both_are_refused_until_somebody_decides() -> None:
    """One birth date, and names that fold alike: neither gets anything; each names the other."""
    space = two(JOSE, ACCENTLESS)
    assert rules_of(space) == [{"person.undecided"}, {"person.undecided"}]
    (fault,) = judge_row(space, space.prescriptions[0])
    assert fault.place == "patients, patient p-1, name"
    assert "patient p-2" in fault.wrong
    assert 'ids = ["p-1", "p-2"]' in fault.mend
    assert "José" not in str(fault)


def test_joined_they_are_one_person_to_every_conflict() -> None:
    """Two PDE5 inhibitors for one person (US sildenafil label, section 5: combination with other
    PDE5 inhibitors)."""
    space = two(JOSE, ACCENTLESS, decided(same=True))
    assert space.person("p-1") == space.person("p-2") == {"p-1", "p-2"}
    assert rules_of(space) == [{"conflict.pde5-inhibitors"}, {"conflict.pde5-inhibitors"}]


def test_told_apart_they_are_two() -> None:
    """Nothing of the one counts for the other."""
    space = two(JOSE, ACCENTLESS, decided(same=False))
    assert space.person("p-1") == {"p-1"}
    assert rules_of(space) == [set(), set()]


def test_another_birth_date_or_name_is_another_person() -> None:
    """Nobody has to decide on these."""
    later = ACCENTLESS.model_copy(update={"born_on": date(1976, 11, 24)})
    assert rules_of(two(JOSE, later)) == [set(), set()]
    assert rules_of(two(JOSE, patient(id="p-2", name="Juan Núñez"))) == [set(), set()]


def test_joining_goes_through_several_entries() -> None:
    """One with two, two with three: all three are one."""
    on = date(2026, 11, 23)
    pairs = (("a", "b"), ("b", "c"), ("x", "y"))
    decisions = Decisions(
        same_persons=tuple(
            SamePerson(ids=ids, same=True, by=PHARMACIST, licence="D", on=on) for ids in pairs
        )
    )
    assert decisions.joined("c") == {"a", "b", "c"}
    assert decisions.joined("x") == {"x", "y"}
