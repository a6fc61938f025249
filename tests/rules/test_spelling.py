"""How far two spellings are apart: published examples, and what holds of every pair."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.rules.spelling import edits

NAMES = st.text("abcd", max_size=7)


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("kitten", "sitting", 3),
        ("saturday", "sunday", 3),
        ("ca", "abc", 3),
        ("tadalafil", "tadalafli", 1),
        ("", "abc", 3),
        ("same", "same", 0),
    ],
)
def test_worked_examples(one: str, other: str, apart: int) -> None:
    """The textbooks' pairs; `ca` and `abc` are 3 apart where no part is edited twice, else 2."""
    assert edits(one, other) == apart


@given(NAMES, NAMES)
def test_either_way_is_as_far(one: str, other: str) -> None:
    """An edit can be undone by one edit, so both ways cost the same."""
    assert edits(one, other) == edits(other, one)
    assert (edits(one, other) == 0) == (one == other)
    assert abs(len(one) - len(other)) <= edits(one, other) <= max(len(one), len(other))


@given(NAMES, st.integers(0, 6))
def test_one_swap_is_one_edit(name: str, at: int) -> None:
    """Two neighbours in the wrong order are one edit, or none where they are the same letter."""
    if at + 1 < len(name):
        swapped = name[:at] + name[at + 1] + name[at] + name[at + 2 :]
        assert edits(name, swapped) == (name != swapped)
