"""What a preparation is for, held against its class, and the reason in directions against it.

The patient reads it on the label, and another medicine's reason there is a sign that the
wrong preparation was picked. Which reason stands for which uses is data (``reasons.toml``).
"""

from collections.abc import Iterator, Mapping
from functools import cache

from labelkit.ground.errors import Fault
from labelkit.records.model import Directions, Preparation, Workspace
from labelkit.rules.classes import sets_for
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.places import At, of_preparation
from labelkit.rules.substances import canonical


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


def judge_uses(preparation: Preparation, workspace: Workspace) -> Iterator[Fault]:
    """A use that no ingredient's class is known for, and an ingredient known for none of them.

    A class that lists no uses may be for any.
    """
    known = [
        (ingredient.inn, _known_for(canonical(ingredient.inn), workspace))
        for ingredient in preparation.ingredients
    ]
    at = of_preparation(preparation)
    for use in preparation.uses:
        if all(uses is not None and use not in uses for _, (uses, _) in known):
            inns = " and ".join(inn for inn, _ in known)
            yield _not_known(at, f"{inns} isn't known to be for {use}", known[0][1][1])
    for inn, (uses, source) in known:
        if uses is not None and uses.isdisjoint(preparation.uses) and len(known) > 1:
            asked = " and ".join(preparation.uses)
            yield _not_known(
                at, f"{inn}, one of its ingredients, isn't known to be for {asked}", source
            )


def _known_for(inn: str, workspace: Workspace) -> tuple[frozenset[str] | None, str]:
    """The uses that an ingredient's classes list, with their sources; None where they list none."""
    data = [
        datum
        for rules in sets_for(inn, workspace)
        for datum in rules.known_for
        if datum.holds_for(inn, ())
    ]
    if not data:
        return None, ""
    return frozenset(use for datum in data for use in datum.uses), "; ".join(d.source for d in data)


def _not_known(at: At, wrong: str, source: str) -> Fault:
    return at.fault(
        "uses",
        wrong,
        "correct the use; a pharmacist may record an override",
        "use.class",
        source,
    )
