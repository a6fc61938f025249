"""How old a prescription may be, and which ones nothing is made for any more."""

from datetime import date

import pytest
from rules_builders import prescription_of, tadalafil, workspace

from labelkit.rules.judging import judge_row
from labelkit.rules.particulars import profiles
from labelkit.rules.prescribing import months_after, validity_of
from labelkit.rules.settled import settled


@pytest.mark.parametrize(
    ("country", "written", "refused"),
    [
        # Human Medicines Regulations 2012, reg. 217(5): six months; from memory.
        ("uk", date(2026, 5, 23), False),
        ("uk", date(2026, 5, 22), True),
        # The union asks for what any of its profiles asks for.
        ("union", date(2026, 5, 22), True),
        # A year where no shorter limit is known: common practice, no source.
        ("us", date(2025, 11, 23), False),
        ("us", date(2025, 11, 22), True),
        ("eu", date(2020, 11, 16), True),
    ],
)
def test_a_prescription_runs_out(country: str, written: date, refused: bool) -> None:
    """On the last day it may be dispensed; the day after it may not (dispensed 2026-11-23)."""
    ours = tadalafil()
    rx = prescription_of(ours, written_on=written)
    space = workspace(ours, prescriptions=(rx,), country=country)
    found = {fault.rule for fault in judge_row(space, rx)}
    assert ("prescription.validity" in found) is refused


def test_every_profile_has_a_limit_with_its_source() -> None:
    """No country is without one, the one that includes others among them."""
    for country in profiles():
        limit = validity_of(country)
        assert 1 <= limit.months <= 12
        assert limit.source


def test_months_end_on_a_day_of_the_calendar() -> None:
    """Six months after 31 August end on the last of February."""
    assert months_after(date(2026, 8, 31), 6) == date(2027, 2, 28)
    assert months_after(date(2027, 8, 31), 6) == date(2028, 2, 29)
    assert months_after(date(2026, 1, 15), 12) == date(2027, 1, 15)


def test_what_is_closed_or_replaced_is_settled() -> None:
    """A change from 5 to 10 mg: the later prescription replaces the earlier one."""
    ours = tadalafil()
    rows = (
        prescription_of(ours, "1"),
        prescription_of(ours, "2", strength="10 mg", replaces="1"),
        prescription_of(ours, "3", closed_on=date(2026, 11, 24)),
        prescription_of(ours, "4", renews="3"),
    )
    found = settled(workspace(ours, prescriptions=rows))
    assert {number: faults[0].rule for number, faults in found.items()} == {
        "1": "prescription.replaced",
        "3": "prescription.closed",
    }
