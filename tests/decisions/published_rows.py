"""What a row of the independent table is, and how it is set against the program.

The rows were written from the published sources named beside them (US labels, the UK SmPC of
melatonin, USP <795>, 21 CFR, 16 CFR, the ISMP list of error-prone abbreviations, GS1) without
sight of the rules' code or data. 'From memory' stands where the text wasn't at hand.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import pytest

from labelkit.ground.errors import Fault

PASSES = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One decisive case."""

    says: str
    """What the records say, in a pharmacist's words; no two rows of a table say the same."""
    given: Any
    """The records."""
    about: str
    """Pattern of what the refusal, or the printed words, must be about; PASSES: no refusal."""
    source: str
    gap: str = ""
    """Why the program doesn't do this yet; such a row is expected to fail, strictly."""

    def __post_init__(self) -> None:
        if not self.says or not self.source:
            raise ValueError("a row without its case or its source decides nothing")


def table(rows: Iterable[Row]) -> pytest.MarkDecorator:
    """The rows as cases of one test, each under its own name."""
    rows = tuple(rows)
    if len({row.says for row in rows}) < len(rows):
        raise ValueError("two rows say the same")
    return pytest.mark.parametrize(
        "row",
        [
            pytest.param(
                row,
                id=row.says,
                marks=pytest.mark.xfail(raises=AssertionError, strict=True, reason=row.gap)
                if row.gap
                else (),
            )
            for row in rows
        ],
    )


def set_against(row: Row, faults: Iterable[Fault]) -> None:
    """Fails unless the faults are what the row says: none, or at least one about its matter."""
    told = [f"{fault.rule}: {fault.wrong}" for fault in faults]
    if row.about == PASSES:
        assert told == [], row.source
        return
    assert any(re.search(row.about, words, re.IGNORECASE) for words in told), (told, row.source)
    assert all(fault.mend for fault in faults), "a refusal names what would mend it"
