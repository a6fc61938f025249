"""File names come from records, and no record can name a file elsewhere."""

from pathlib import PurePosixPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.jobs.order import stem

PRINTABLE = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=24)


@pytest.mark.parametrize(
    ("record", "name"),
    [
        ("TV2611", "lidding-TV2611"),
        ("../../etc/passwd", "lidding-%2E%2E%2F%2E%2E%2Fetc%2Fpasswd"),
        ("A.B", "lidding-A%2EB"),
        ("A%B", "lidding-A%25B"),
    ],
)
def test_names_are_readable_and_safe(record: str, name: str) -> None:
    """Ordinary numbers stay as they are; everything else is written as RFC 3986 does."""
    assert stem("lidding", record) == name


@given(PRINTABLE, PRINTABLE)
def test_two_records_never_share_a_name(one: str, other: str) -> None:
    """The name is one step, and tells records apart."""
    assert len(PurePosixPath(stem("x", one)).parts) == 1
    assert (stem("x", one) == stem("x", other)) == (one == other)
