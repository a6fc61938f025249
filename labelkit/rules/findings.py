"""What a decision is bound to: one finding of one rule, with all that it depends on.

A finding is named by a digest over the rule and its version, what it is about (the other
medicine with the limit it brings, the unknown word), the record, and the inputs that the rule's
tier lists. Change one of them, and the finding is another: a decision on the old one ends.
"""

import hashlib
import json
from collections.abc import Callable, Mapping

from labelkit.ground.errors import Fault
from labelkit.records.model import Limit, Preparation, Prescription, Workspace
from labelkit.rules.ceilings import years
from labelkit.rules.conflicts import entries
from labelkit.rules.open import open_beside
from labelkit.rules.tiers import of_rule

LENGTH = 16
"""Hexadecimal digits of a finding's name: as many as an acceptance's. Our own choice."""

_Input = Callable[[Workspace, Preparation, Prescription], object]


def finding_of(
    fault: Fault,
    record: str,
    workspace: Workspace,
    preparation: Preparation,
    rx: Prescription | None = None,
) -> str:
    """The finding's name: 16 hexadecimal digits. Without a prescription it is the preparation's."""
    datum = of_rule(fault.rule)
    said: dict[str, object] = {
        "rule": fault.rule,
        "version": datum.version,
        "record": record,
        "about": fault.about,
    }
    for name in datum.inputs:
        if name in OF_PREPARATION:
            said[name] = OF_PREPARATION[name](preparation, rx)
        elif rx is not None:
            said[name] = OF_PRESCRIPTION[name](workspace, rx)
    text = json.dumps(said, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:LENGTH]


def _medicine(preparation: Preparation, rx: Prescription | None) -> object:
    strengths = [rx.strength] if rx else [one.label for one in preparation.strengths]
    made_of = [[one.inn, one.form, one.strength_as] for one in preparation.ingredients]
    return [preparation.id, preparation.route.value, made_of, strengths]


def _comparison(preparation: Preparation, rx: Prescription | None) -> object:
    table = preparation.comparison
    if table is None:
        return None
    rows = [
        [row.strength, row.swallowed]
        for row in table.rows
        if rx is None or row.strength == rx.strength
    ]
    return [table.swallowed_name, rows]


def _limits(preparation: Preparation, _: Prescription | None) -> object:
    limits = preparation.limits
    return [
        [_limit(one) for one in kind]
        for kind in (limits.single_dose, limits.in_24_h, limits.least_interval)
    ]


def _limit(one: Limit) -> object:
    amount = None if one.amount is None else [f"{one.amount.value.normalize():f}", one.amount.unit]
    hours = None if one.hours is None else f"{one.hours.normalize():f}"
    return [one.ingredient, amount, hours]


def _dose(_: Workspace, rx: Prescription) -> object:
    asked = rx.directions
    numbers = (asked.tablets_per_dose, asked.least_interval_h, asked.most_in_24_h)
    return [asked.route.value, *(f"{number.normalize():f}" for number in numbers)]


def _list(workspace: Workspace, rx: Prescription) -> object:
    """What the patient takes, as it was read: another spelling is no other medicine."""
    read = [
        [*one.substances, *one.unknown, *one.possible_nitrates]
        for one in entries(workspace, rx)
        if not one.denies
    ]
    return sorted({name for names in read for name in names})


def _open(workspace: Workspace, rx: Prescription) -> object:
    return sorted(
        [other.number, other.preparation, other.strength, str(_dose(workspace, other))]
        for other in open_beside(workspace, rx)
    )


OF_PREPARATION: Mapping[str, Callable[[Preparation, Prescription | None], object]] = {
    "medicine": _medicine,
    "comparison": _comparison,
    "limits": _limits,
    "uses": lambda preparation, _: sorted(preparation.uses),
}
"""Inputs that a preparation has, with a prescription or without."""

OF_PRESCRIPTION: Mapping[str, Callable[[Workspace, Prescription], object]] = {
    "patient": lambda _, rx: rx.patient.id,
    "age": lambda _, rx: years(rx),
    "dose": _dose,
    "times": lambda _, rx: [rx.directions.when, rx.directions.reason],
    "quantity": lambda _, rx: rx.quantity_this_fill,
    "list": _list,
    "open": _open,
}
"""Inputs that only a prescription has."""
