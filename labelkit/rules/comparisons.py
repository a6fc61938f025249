"""The table that sets our strengths beside swallowed ones: what it must have to be shown.

labelkit ships no such table as fact. Each has a cited source, a named person and a day; it
covers every strength once; more of ours stands beside more of the other's; and its words
never say that the two are the same.
"""

import re
from collections.abc import Iterator
from itertools import pairwise

from labelkit.ground.errors import Fault
from labelkit.records.model import Comparison, Preparation
from labelkit.rules.amounts import in_mg, parse
from labelkit.rules.places import At, of_preparation

SOURCE = "common practice, no source: a comparison is one named person's judgement"

_SAME = re.compile(r"\w*equival\w*|interchang\w*|intercambi\w*|same as", re.I)


def judge_comparison(preparation: Preparation) -> tuple[Fault, ...]:
    """Every fault of the preparation's comparison table; none where it has no table."""
    comparison = preparation.comparison
    if comparison is None:
        return ()
    at = of_preparation(preparation)
    return (
        *_answered_for(comparison, at),
        *_complete(preparation, comparison, at),
        *_monotone(preparation, comparison, at),
        *_words(comparison, at),
    )


def _fault(at: At, field: str, wrong: str, mend: str, rule: str) -> Fault:
    return at.fault(f"comparison.{field}", wrong, mend, f"table.{rule}", SOURCE)


def _answered_for(comparison: Comparison, at: At) -> Iterator[Fault]:
    for field in ("source", "judged_by", "swallowed_name"):
        if not getattr(comparison, field).strip():
            yield _fault(at, field, "is empty", "write it, or leave the table out", "answered-for")


def _complete(preparation: Preparation, comparison: Comparison, at: At) -> Iterator[Fault]:
    named = [row.strength for row in comparison.rows]
    sold = [strength.label for strength in preparation.strengths]
    if len(preparation.ingredients) > 1:
        yield _fault(
            at,
            "row",
            "compares a tablet with more than one active ingredient",
            "leave the table out",
            "one-ingredient",
        )
    for label in sold:
        if named.count(label) != 1:
            yield _fault(
                at,
                "row",
                f"{label} has {named.count(label)} rows",
                "give each strength one row",
                "complete",
            )
    for label in sorted(set(named) - set(sold)):
        yield _fault(at, "row", f"{label} isn't a strength sold", "take the row out", "complete")


def _monotone(preparation: Preparation, comparison: Comparison, at: At) -> Iterator[Fault]:
    ours = {s.label: in_mg(s.amounts[0]) for s in preparation.strengths}
    pairs = []
    for row in comparison.rows:
        try:
            pairs.append((ours[row.strength], in_mg(parse(row.swallowed)), row))
        except ValueError as wrong:
            yield _fault(at, "row", str(wrong), "write the amount with its unit", "amount")
        except KeyError:
            continue  # named by _complete
    for (low, less, one), (high, more, other) in pairwise(sorted(pairs, key=lambda p: p[0])):
        if high > low and more <= less:
            yield _fault(
                at,
                "row",
                f"{other.strength} stands beside {other.swallowed}, "
                f"but {one.strength} already beside {one.swallowed}",
                "let the larger strength stand beside the larger swallowed one",
                "monotone",
            )


def _words(comparison: Comparison, at: At) -> Iterator[Fault]:
    for field in ("source", "swallowed_name"):
        found = _SAME.search(getattr(comparison, field))
        if found:
            yield _fault(
                at,
                field,
                f"says {found[0]!r}: the two are never called the same",
                "say 'was judged comparable by …'",
                "words",
            )
