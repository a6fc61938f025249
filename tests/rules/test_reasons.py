"""The reason on the label is one that the medicine is for (common practice, no source)."""

import tomllib
from pathlib import Path

import pytest
from rules_builders import directions, preparation_of

from labelkit.rules.places import At
from labelkit.rules.reasons import judge_reason, reasons

STATEMENTS = Path(__file__).resolve().parents[2] / "labelkit" / "wording" / "statements"


def worded(kind: str) -> set[str]:
    """Suffixes of the shipped statements of that kind."""
    ids = {
        id_
        for file in STATEMENTS.glob("*.toml")
        for id_ in tomllib.loads(file.read_text(encoding="utf-8"))
    }
    return {id_.removeprefix(f"{kind}.") for id_ in ids if id_.startswith(f"{kind}.")}


def refused(reason: str, *uses: str) -> bool:
    """Whether that reason is refused for a preparation of those uses."""
    preparation = preparation_of("tadalafil", "5 mg", uses=uses)
    faults = list(judge_reason(preparation, directions(reason=reason), At("f", "", "")))
    assert {fault.rule for fault in faults} <= {"directions.reason"}
    return bool(faults)


def test_every_shipped_reason_is_listed_with_uses_that_have_words() -> None:
    """No reason that wording can say is left to chance, and none stands for an unknown use."""
    listed = reasons().reasons
    assert set(listed) == worded("reason")
    assert {use for uses in listed.values() for use in uses} <= worded("use")


@pytest.mark.parametrize(
    ("reason", "uses", "stops"),
    [
        ("erection", ("erection",), False),
        ("erection", ("prostate", "erection"), False),
        ("erection", ("prostate",), True),
        ("sleep", ("jet-lag",), True),
        ("pain", ("long-lasting-pain",), False),
        ("long-lasting-pain", ("pain",), False),
        ("burning-mouth", ("burning-mouth",), False),  # a pharmacy's own, by the same name
        ("burning-mouth", ("pain",), True),
    ],
)
def test_a_reason_stands_for_a_use(reason: str, uses: tuple[str, ...], stops: bool) -> None:
    """One of the preparation's uses is enough; none is refused."""
    assert refused(reason, *uses) is stops
