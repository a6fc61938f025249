"""The integer programme behind the packing plan, solved by HiGHS.

Three solves, each holding what the one before won: fewest cavities, fewest cuts, fewest
cards. One thread and no time limit, so that the same input gives the same plan.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import highspy


@dataclass(frozen=True, slots=True)
class Variant:
    """A kind of card of which the first `used` pieces are filled."""

    kind: int
    """Place of the kind in the caller's list."""
    used: int
    cells: int
    """Cavities of each piece."""
    cavities: int
    cuts: int
    at_hand: int | None


def fewest(
    loads: Sequence[Sequence[int] | int], variants: Sequence[Variant]
) -> list[list[Variant]] | None:
    """For each load the cards it takes; None when the cards at hand can't hold all of them.

    A load is a list of packs (tablets each), of which each needs a piece of its own, or a
    number of tablets that may be spread over any pieces.
    """
    if not loads:
        return []
    if not variants:
        return None
    if all(v.at_hand is None for v in variants):
        alone = [
            _alone(load if isinstance(load, int) else tuple(sorted(load)), tuple(variants))
            for load in loads
        ]
        return None if None in alone else [list(plan) for plan in alone if plan is not None]
    return _solved(loads, variants)


@lru_cache(maxsize=4096)
def _alone(load: tuple[int, ...] | int, variants: tuple[Variant, ...]) -> list[Variant] | None:
    """Where cards never run out no load takes one from another: equal loads are solved once."""
    found = _solved([load], variants)
    return None if found is None else found[0]


def _solved(
    loads: Sequence[Sequence[int] | int], variants: Sequence[Variant]
) -> list[list[Variant]] | None:
    model = highspy.Highs()  # type: ignore[no-untyped-call] # its own stub leaves it bare
    model.silent()
    model.setOptionValue("threads", 1)
    model.setOptionValue("mip_rel_gap", 0.0)
    counts = [[model.addIntegral(lb=0) for _ in variants] for _ in loads]
    for load, row in zip(loads, counts, strict=True):
        _hold(model, load, row, variants)
    at_hand = {v.kind: v.at_hand for v in variants if v.at_hand is not None}
    for kind, number in at_hand.items():
        taken = model.qsum(
            x for row in counts for x, v in zip(row, variants, strict=True) if v.kind == kind
        )
        model.addConstr(taken <= number)
    costs = ([v.cavities for v in variants], [v.cuts for v in variants], [1] * len(variants))
    for cost in costs:
        total = model.qsum(c * x for row in counts for c, x in zip(cost, row, strict=True))
        model.minimize(total)
        if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        model.addConstr(total <= round(model.getObjectiveValue()))
    return [
        [v for x, v in zip(row, variants, strict=True) for _ in range(round(model.val(x)))]
        for row in counts
    ]


def _hold(
    model: highspy.Highs,
    load: Sequence[int] | int,
    row: Sequence[highspy.highs.highs_var],
    variants: Sequence[Variant],
) -> None:
    """The constraints under which the cards of one row hold one load."""
    if isinstance(load, int):
        room = model.qsum(v.used * v.cells * x for x, v in zip(row, variants, strict=True))
        model.addConstr(room >= load)
        return
    pieces = model.qsum(v.used * x for x, v in zip(row, variants, strict=True))
    model.addConstr(pieces == len(load))
    for size in sorted(set(load)):
        # Sizes are nested, so this count for every size is enough (Hall's condition).
        large = model.qsum(
            v.used * x for x, v in zip(row, variants, strict=True) if v.cells >= size
        )
        model.addConstr(large >= sum(tablets >= size for tablets in load))
