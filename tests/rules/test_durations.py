"""Hours in messages: read as hours and minutes, and never longer than they are."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.rules.amounts import duration


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        # 60 minutes in an hour, 3600 seconds (BIPM SI brochure, table 8).
        ("8", "8 hours"),
        ("1", "1 hour"),
        ("0.5", "30 minutes"),
        ("1.5", "1 hour 30 minutes"),
        ("23.9", "23 hours 54 minutes"),
        ("7.983", "just under 7 hours 59 minutes"),
        ("47.99", "just under 48 hours"),
        ("0.01", "just under 1 minute"),
        ("0", "0 hours"),
        ("1000", "1,000 hours"),
    ],
)
def test_hours_are_said_in_hours_and_minutes(hours: str, said: str) -> None:
    """Worked by hand."""
    assert duration(Decimal(hours)) == said


@given(st.decimals(min_value=0, max_value=1000, places=6))
def test_what_is_said_is_less_than_a_minute_off_and_owns_up_to_it(hours: Decimal) -> None:
    """Read back, it is the value; or 'just under' stands there, and it is that."""
    said = duration(hours)
    whole = re.search(r"([\d,]+) hours?", said)
    minutes = re.search(r"(\d+) minutes?", said)
    told = Decimal(whole[1].replace(",", "")) * 60 if whole else Decimal(0)
    told += Decimal(minutes[1]) if minutes else 0
    if said.startswith("just under"):
        assert told - 1 < hours * 60 < told
    else:
        assert told == hours * 60
