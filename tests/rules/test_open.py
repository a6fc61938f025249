"""What a patient has open counts together, whatever strength, preparation or prescription."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import permutations
from typing import Any

import pytest
from decision_rows import ondansetron
from hypothesis import given, settings
from hypothesis import strategies as st
from rules_builders import (
    directions,
    limits_of,
    patient,
    preparation_of,
    prescription_of,
    tadalafil,
    workspace,
)

from labelkit.records.decisions import Decisions, SamePerson
from labelkit.records.model import Directions, Prescription, Workspace
from labelkit.rules.amounts import in_mg
from labelkit.rules.judging import judge_prescription
from labelkit.rules.open import open_beside, open_for
from labelkit.rules.regimen import regimen_of

OURS = tadalafil()
SICK = ondansetron()
STEROID = preparation_of(
    "dexamethasone", "2 mg", limits=limits_of("dexamethasone", "4 mg", "8 mg", "8")
)
OTHER_STEROID = preparation_of("prednisolone", "2 mg")
VARDENAFIL = preparation_of("vardenafil", "5 mg")
ALL = {p.id: p for p in (OURS, SICK, STEROID, OTHER_STEROID, VARDENAFIL)}
DAY = date(2026, 11, 23)


def rx(number: str, of: str = "tadalafil", later: int = 0, **change: Any) -> Prescription:
    """A prescription of one of the preparations, dispensed so many days later."""
    day = DAY + timedelta(days=later)
    on = {"dispensed_on": day, "written_on": day}
    return prescription_of(ALL[of], number, **{**on, **change})


def daily(when: str = "once-daily", **change: Any) -> Directions:
    """One tablet at a fixed time."""
    return directions(when=when, **change)


def given_rows(*rows: Prescription) -> Workspace:
    """A workspace of those prescriptions and all preparations."""
    space = workspace(OURS, prescriptions=rows)
    return space.model_copy(update={"preparations": tuple(ALL.values())})


def rules(*rows: Prescription) -> dict[str, set[str]]:
    """The rules that refuse each prescription."""
    space = given_rows(*rows)
    return {one.number: {f.rule for f in judge_prescription(space, one)} for one in rows}


TWICE = {"open.in-24-h", "open.interval"}


def test_two_strengths_on_one_day_are_refused_by_their_sum() -> None:
    """Tadalafil 5 mg and 10 mg for one patient: 15 mg in 24 hours against 10 mg."""
    rows = (rx("1"), rx("2", strength="10 mg"))
    assert rules(*rows) == {"1": TWICE, "2": TWICE}
    told = [f.wrong for f in judge_prescription(given_rows(*rows), rows[1])]
    assert told[0] == (
        "10 mg on prescription 2 and 5 mg on prescription 1 are 15 mg of tadalafil in 24 hours; "
        "the limit is 10 mg"
    )


def test_two_that_stay_under_the_sum_still_need_their_interval() -> None:
    """5 mg and 5 mg are the 10 mg of a day, but nothing keeps the two doses 24 hours apart."""
    assert rules(rx("1"), rx("2")) == {"1": {"open.interval"}, "2": {"open.interval"}}


@pytest.mark.parametrize("how", ["renews", "replaces"])
@pytest.mark.parametrize("later", [0, 5])
def test_a_change_of_strength_that_is_recorded_is_no_sum(how: str, later: int) -> None:
    """From 5 to 10 mg: with the earlier prescription's number, the two aren't taken together."""
    second = rx("2", strength="10 mg", later=later, **{how: "1"})
    assert rules(rx("1"), second) == {"1": set(), "2": set()}


def test_what_is_taken_when_needed_stays_open_until_it_is_closed() -> None:
    """A year later it still counts; closed on the day or before, it doesn't."""
    asked = patient(asked_on=DAY + timedelta(days=366))
    second = rx("2", strength="10 mg", later=366, patient=asked)
    assert rules(rx("1"), second)["2"] == TWICE
    for closed in (0, 365, 366):
        first = rx("1", closed_on=DAY + timedelta(days=closed))
        assert rules(first, second)["2"] == set()
    assert rules(rx("1", closed_on=DAY + timedelta(days=367)), second)["2"] == TWICE


def test_fixed_times_end_with_their_supply() -> None:
    """Ten tablets, one a day, from the 23rd: the 2nd of December is the last day."""
    for later, found in ((9, TWICE), (10, set())):
        second = rx("2", strength="10 mg", later=later, directions=daily())
        assert rules(rx("1", directions=daily()), second)["2"] == found


def test_the_earlier_one_is_not_refused_for_what_came_later() -> None:
    """Judged as of its own day, when the second wasn't there."""
    assert rules(rx("1"), rx("2", strength="10 mg", later=1)) == {"1": set(), "2": TWICE}


def test_several_fills_of_one_prescription_count_once_and_follow_on() -> None:
    """A refill isn't a second regimen; fetched early, its tablets come after the first ones."""
    fills = tuple(rx("1", fill=n, later=later, directions=daily()) for n, later in ((1, 0), (2, 5)))
    space = given_rows(*fills)
    assert [judge_prescription(space, one) for one in fills] == [(), ()]
    for later, open_ones in ((4, [1]), (19, [2]), (20, [])):
        found = open_for(space, fills[0].patient, DAY + timedelta(days=later))
        assert [one.fill for one in found] == open_ones


def test_a_fill_of_another_strength_under_the_same_number_is_another_order() -> None:
    """A number used twice hides no sum."""
    rows = (rx("1"), rx("1", fill=2, strength="10 mg"))
    space = given_rows(*rows)
    assert [{f.rule for f in judge_prescription(space, one)} for one in rows] == [TWICE, TWICE]


def test_another_persons_prescriptions_do_not_count() -> None:
    """Another entry of the patients' table, until a person joins the two."""
    other = patient(id="p-2", name="Bo Liu")
    rows = (rx("1"), rx("2", strength="10 mg", patient=other))
    assert rules(*rows) == {"1": set(), "2": set()}
    said = SamePerson(ids=("p-1", "p-2"), same=True, by="A. Person", licence="DEMO-1", on=DAY)
    joined = given_rows(*rows).model_copy(update={"decisions": Decisions(same_persons=(said,))})
    assert [{f.rule for f in judge_prescription(joined, one)} for one in rows] == [TWICE, TWICE]


@pytest.mark.parametrize("how", ["renews", "replaces"])
@pytest.mark.parametrize(
    ("first", "second", "says"),
    [
        ({}, {"to": "3"}, "3 isn't another prescription of this patient"),
        ({}, {"to": "2"}, "2 isn't another prescription of this patient"),
        (
            {"patient": patient(id="p-2", name="Bo Liu")},
            {"to": "1"},
            "1 isn't another prescription",
        ),
        ({"later": 1}, {"to": "1"}, "1 was dispensed later than this one"),
        ({"replaces": "2"}, {"to": "1"}, "1 says in its turn"),
    ],
)
def test_a_number_that_names_nothing_earlier_frees_nothing(
    how: str, first: dict[str, Any], second: dict[str, str], says: str
) -> None:
    """A slip in the number is told, and what it was meant to end still counts."""
    rows = (rx("1", **first), rx("2", strength="10 mg", **{how: second["to"]}))
    found = judge_prescription(given_rows(*rows), rows[1])
    assert next(f.wrong for f in found if f.rule == "open.reference").startswith(says)


def test_a_circle_of_replacements_frees_none() -> None:
    """Three that replace one another in a ring are all taken."""
    rows = tuple(
        rx(n, strength="10 mg", replaces=of) for n, of in (("1", "3"), ("2", "1"), ("3", "2"))
    )
    assert all(found >= {*TWICE, "open.reference"} for found in rules(*rows).values())


def test_two_of_one_class_are_refused_by_their_class() -> None:
    """US sildenafil label, section 5: other PDE5 inhibitors; and two corticosteroids, which no
    label forbids together, add up (common practice, no source)."""
    assert rules(rx("1"), rx("2", of="vardenafil")) == {
        "1": {"conflict.pde5-inhibitors"},
        "2": {"conflict.pde5-inhibitors"},
    }
    found = rules(rx("1", of="dexamethasone"), rx("2", of="prednisolone"))
    assert found["2"] == {"conflict.same-class-corticosteroids"}
    closed = rx("1", of="dexamethasone", closed_on=DAY)
    assert rules(closed, rx("2", of="prednisolone"))["2"] == set()


def test_doses_at_hours_that_are_far_enough_apart_pass() -> None:
    """Dexamethasone in the morning and in the evening are 12 hours apart: enough for 8, and the
    8 mg of a day hold both."""

    def steroid(number: str, when: str, most: str = "1") -> Prescription:
        asked = directions(
            when=when, reason="swelling", most_in_24_h=Decimal(most), least_interval_h=Decimal(24)
        )
        return rx(number, of="dexamethasone", directions=asked)

    apart = (steroid("1", "every-morning"), steroid("2", "every-evening"))
    assert rules(*apart) == {"1": set(), "2": set()}
    near = (steroid("1", "every-evening"), steroid("2", "at-bedtime"))
    assert rules(*near) == {"1": {"open.interval"}, "2": {"open.interval"}}
    third = steroid("3", "when-needed", most="3")
    assert rules(*apart, third)["3"] == TWICE


STRENGTHS = st.sampled_from(["5 mg", "10 mg"])
ROWS = st.lists(
    st.builds(
        lambda strength, later, when, closed: (strength, later, when, closed),
        STRENGTHS,
        st.integers(0, 20),
        st.sampled_from(["once-daily", "before-activity-30-60-min"]),
        st.one_of(st.none(), st.integers(0, 20)),
    ),
    min_size=2,
    max_size=4,
)


def made(rows: list[tuple[str, int, str, int | None]]) -> tuple[Prescription, ...]:
    """Prescriptions of one patient."""
    return tuple(
        rx(
            str(number),
            strength=strength,
            later=later,
            directions=directions(when=when),
            closed_on=None if closed is None else DAY + timedelta(days=closed),
        )
        for number, (strength, later, when, closed) in enumerate(rows, start=1)
    )


@settings(max_examples=60, deadline=None)
@given(ROWS)
def test_the_order_of_rows_does_not_matter(rows: list[tuple[str, int, str, int | None]]) -> None:
    """Each prescription is refused by the same rules wherever it stands in the file."""
    prescriptions = made(rows)
    assert len({frozenset((n, frozenset(r)) for n, r in rules(*turned).items())
                for turned in permutations(prescriptions)}) == 1  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(ROWS)
def test_what_passes_together_stays_under_the_limit(
    rows: list[tuple[str, int, str, int | None]],
) -> None:
    """On the day of each prescription that passes, all that is open is at most 10 mg in 24 h."""
    prescriptions = made(rows)
    space = given_rows(*prescriptions)
    for one in prescriptions:
        if judge_prescription(space, one):
            continue
        taken = (one, *open_beside(space, one))
        total = sum(
            in_mg(amount)
            for other in taken
            for amount in regimen_of(space, other).product.amounts_in(other.directions.most_in_24_h)
        )
        assert total <= 10


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 4), st.integers(1, 4))
def test_splitting_a_prescription_permits_no_more(one: int, other: int) -> None:
    """Tablets that are refused on one prescription are refused on two of the same day."""

    def asked(tablets: int) -> Directions:
        count = Decimal(tablets)
        return directions(tablets_per_dose=count, most_in_24_h=count)

    whole = rules(rx("1", directions=asked(one + other)))["1"]
    parts = rules(rx("1", directions=asked(one)), rx("2", directions=asked(other)))
    if whole:
        assert all(parts.values())
