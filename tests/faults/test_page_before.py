"""What the check keeps from the page before never changes what it says of a page."""

from functools import cache

import campaign  # noqa: F401 - registers the kinds
import pytest
import released
from injecting import KINDS, Released, injected, opened

from labelkit.checks import view
from labelkit.checks.reading_back import check
from labelkit.jobs.orders import orders
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

SHEETS = 2

HARMS = (
    "lot-digit",
    "strength-digit",
    "line-lost",
    "covered",
    "half-covered",
    "crossed-out",
    "white",
    "shrunk",
    "overprinted",
    "next-door",
    "across-cut",
    "code-other-serial",
    "codes-swapped",
)
"""Harms of single letters, of texts, of pixels alone, and of codes; all done on the last sheet."""


@cache
def lot() -> Released:
    """Lidding of one lot on two sheets, which differ in serials and codes alone."""
    workspace = read_workspace(released.SAMPLE)
    first = workspace.lots[0]
    spent = first.rejected + first.tested + first.retained
    large = first.model_copy(update={"made": SHEETS * 40 + spent})
    wish = Wish(lots=(first.number,), only=frozenset({"lidding"}))
    made = orders(workspace.model_copy(update={"lots": (large,)}), wish).orders
    return released.drawn(made[0], "lot")


def test_the_file_has_sheets_that_share_nearly_everything() -> None:
    """Two sheets, and nothing wrong with them."""
    assert len(lot().manifest.pages) == SHEETS
    assert check(lot().pdf, lot().manifest).ok


@pytest.mark.parametrize("name", HARMS)
def test_a_page_is_judged_as_if_it_stood_alone(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same findings, harm by harm, with the page before and without it."""
    found = KINDS[name].find(opened(lot()))
    harmed = injected(KINDS[name], lot(), len(found) - 1)
    beside = check(harmed, lot().manifest)
    monkeypatch.setattr(view, "sameness", lambda *_: None)
    assert beside == check(harmed, lot().manifest)
    assert not beside.ok
