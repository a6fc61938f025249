"""Which lot fills which prescription: dates, quantities, packs."""

from datetime import date
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rules_builders import directions, lot_of, prescription_of, tadalafil, workspace

from labelkit.ground.errors import RuleRefused
from labelkit.records.model import Lot, Prescription, Workspace
from labelkit.rules.fills import fill, packs_of
from labelkit.rules.regimen import regimen_of

PREPARATION = tadalafil()


def given_lots(*lots: Lot, **pharmacy: object) -> Workspace:
    """A workspace with those lots."""
    return workspace(PREPARATION, lots=lots, **pharmacy)


def lot(number: str, usable: int, beyond_use: date = date(2027, 3, 2), **change: object) -> Lot:
    """A lot with that many usable tablets."""
    return lot_of(
        PREPARATION,
        number,
        made=usable,
        rejected=0,
        tested=0,
        retained=0,
        beyond_use=beyond_use,
        **change,
    )


def rx(number: str, quantity: int, **change: object) -> Prescription:
    """A prescription for that many tablets, four a day at most so that they don't outlast a lot."""
    asked = directions(most_in_24_h=Decimal(4))
    return prescription_of(
        PREPARATION, number, **{"quantity_this_fill": quantity, "directions": asked, **change}
    )


def chosen(space: Workspace, *prescriptions: Prescription) -> list[str]:
    """Numbers of the lots chosen, in the order of the prescriptions."""
    return [one.lot for one in fill(space, prescriptions)]


def test_the_earliest_beyond_use_date_comes_first() -> None:
    """Of two lots that can fill, the one that ends sooner is taken, whatever their order."""
    late, early = lot("AA1", 50, date(2027, 4, 1)), lot("BB1", 50, date(2027, 3, 1))
    assert chosen(given_lots(late, early), rx("1", 10)) == ["BB1"]


def test_a_named_lot_is_taken() -> None:
    """A prescription that names its lot is filled from it, also when another ends sooner."""
    late, early = lot("AA1", 50, date(2027, 4, 1)), lot("BB1", 50, date(2027, 3, 1))
    assert chosen(given_lots(late, early), rx("1", 10, lot="AA1")) == ["AA1"]


def test_what_one_takes_the_next_cannot_have() -> None:
    """Twenty usable tablets fill ten and ten, and not one more."""
    space = given_lots(lot("AA1", 20))
    assert chosen(space, rx("1", 10), rx("2", 10)) == ["AA1", "AA1"]
    with pytest.raises(RuleRefused, match=r"prescription 2.*11 tablets are no longer left"):
        fill(space, [rx("1", 10), rx("2", 11)])


def test_a_fill_never_mixes_lots() -> None:
    """Two lots of ten don't fill twenty."""
    with pytest.raises(RuleRefused, match="AA1 has 10 usable tablets; BB1 has 10"):
        fill(given_lots(lot("AA1", 10), lot("BB1", 10)), [rx("1", 20)])


def test_seven_days_before_the_date_is_the_last_day() -> None:
    """Beyond use on 2 March with 7 days to keep: filled on 23 February, refused on the 24th.

    Seven days: common practice, no source.
    """
    space = given_lots(lot("AA1", 50, date(2027, 3, 2)))
    assert chosen(space, rx("1", 4, dispensed_on=date(2027, 2, 23))) == ["AA1"]
    with pytest.raises(RuleRefused, match="not filled from after 2027-02-23"):
        fill(space, [rx("1", 4, dispensed_on=date(2027, 2, 24))])


def test_tablets_that_outlast_the_lot_are_refused() -> None:
    """Thirty tablets at one a day end on the lot's last day, or the lot isn't filled from."""
    one_a_day = directions()
    space = given_lots(lot("AA1", 50, date(2026, 12, 22)))
    ends = rx("1", 30, directions=one_a_day)
    assert regimen_of(space, ends).last_tablet_on(ends.dispensed_on) == date(2026, 12, 22)
    assert chosen(space, ends) == ["AA1"]
    with pytest.raises(RuleRefused, match="31 tablets last until 2026-12-23"):
        fill(space, [rx("1", 31, directions=one_a_day)])


def test_a_lot_made_later_than_the_day_of_dispensing_is_not_filled_from() -> None:
    """A lot can't be dispensed before it is made."""
    space = given_lots(lot("AA1", 50, made_on=date(2026, 11, 24)))
    with pytest.raises(RuleRefused, match="made on 2026-11-24, after the day of dispensing"):
        fill(space, [rx("1", 10)])


def test_a_lot_that_the_rules_refuse_is_not_filled_from() -> None:
    """A lot with too late a date is passed over; named by the prescription, it says why."""
    bad, good = lot("AA1", 50, date(2027, 12, 1)), lot("BB1", 50)
    assert chosen(given_lots(bad, good), rx("1", 10)) == ["BB1"]
    with pytest.raises(RuleRefused, match="2027-12-01 is later than 2027-05-01"):
        fill(given_lots(bad, good), [rx("1", 10, lot="AA1")])


def test_every_prescription_that_cannot_be_filled_is_named() -> None:
    """Two of three can't: both are in one refusal."""
    with pytest.raises(RuleRefused) as refusal:
        fill(given_lots(lot("AA1", 20)), [rx("1", 30), rx("2", 10), rx("3", 40)])
    assert [fault.where for fault in refusal.value.faults] == ["prescription 1", "prescription 3"]


@pytest.mark.parametrize(
    ("quantity", "packs"),
    [(6, [6]), (10, [10]), (11, [10, 1]), (20, [10, 10]), (30, [10, 10, 10]), (35, [10] * 3 + [5])],
)
def test_packs_hold_at_most_one_piece(quantity: int, packs: list[int]) -> None:
    """Packs of ten, the rest in the last; numbered n of m."""
    found = packs_of(rx("1", quantity))
    assert [pack.tablets for pack in found] == packs
    assert [(pack.number, pack.of) for pack in found] == [
        (n, len(packs)) for n in range(1, len(packs) + 1)
    ]


def test_a_batch_of_a_thousand_is_filled() -> None:
    """A thousand prescriptions of one medicine from two lots: no depth is too deep."""
    space = given_lots(lot("AA1", 600, date(2027, 3, 1)), lot("BB1", 600, date(2027, 3, 2)))
    fills = fill(space, [rx(str(n), 1) for n in range(1000)])
    assert [one.lot for one in fills] == ["AA1"] * 600 + ["BB1"] * 400


@settings(max_examples=150, deadline=None)
@given(
    usable=st.lists(st.integers(1, 40), min_size=1, max_size=3),
    wanted=st.lists(st.integers(1, 30), min_size=1, max_size=4),
)
def test_filled_whenever_any_choice_of_lots_can(usable: list[int], wanted: list[int]) -> None:
    """Against brute force: the first possible choice in order of date, or a refusal."""
    lots = [lot(f"AA{n}", k, date(2027, 3, 2 + n)) for n, k in enumerate(usable)]
    possible = (
        choice
        for choice in product(range(len(usable)), repeat=len(wanted))
        if all(
            sum(q for q, at in zip(wanted, choice, strict=True) if at == n) <= k
            for n, k in enumerate(usable)
        )
    )
    first = next(possible, None)
    asked = [rx(str(n), quantity) for n, quantity in enumerate(wanted)]
    if first is None:
        with pytest.raises(RuleRefused):
            fill(given_lots(*lots), asked)
    else:
        assert chosen(given_lots(*lots), *asked) == [f"AA{n}" for n in first]


@pytest.mark.parametrize("most", ["0", "0.000001"])
def test_directions_that_allow_nothing_end_on_no_day(most: str) -> None:
    """Next to nothing in 24 hours lasts beyond any lot: refused, with no arithmetic error."""
    asked = rx("1", 10, directions=directions(most_in_24_h=Decimal(most)))
    space = given_lots(lot("AA1", 50))
    assert regimen_of(space, asked).last_tablet_on(asked.dispensed_on) > date(2100, 1, 1)
    with pytest.raises(RuleRefused, match="10 tablets last until"):
        fill(space, [asked])
