"""The reason in the directions, held against what the preparation is for.

The patient reads it on the label, and another medicine's reason there is a sign that the
wrong preparation was picked. Which reason stands for which uses is data (``reasons.toml``).
"""

from collections.abc import Iterator, Mapping
from functools import cache

from labelkit.ground.errors import Fault
from labelkit.records.model import Directions, Preparation
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.places import At


class Reasons(Datum):
    """The whole list."""

    source: Source
    reasons: Mapping[str, tuple[str, ...]]


@cache
def reasons() -> Reasons:
    """The shipped list."""
    return Reasons.model_validate(load("reasons.toml"))


def judge_reason(preparation: Preparation, directions: Directions, at: At) -> Iterator[Fault]:
    """A fault where the reason stands for none of the preparation's uses."""
    stands_for = reasons().reasons.get(directions.reason, (directions.reason,))
    if set(stands_for).isdisjoint(preparation.uses):
        yield at.fault(
            "reason",
            f"the directions say it is for {directions.reason}, "
            f"{preparation.id} is for {' and '.join(preparation.uses)}",
            "ask the prescriber; correct the reason or choose another preparation",
            "directions.reason",
            reasons().source,
        )
