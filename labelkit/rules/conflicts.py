"""What the patient takes, against what the medicine must not be taken with.

A match stops the job; so does a name that isn't known, with what it may have meant; so does
a list that nobody asked for, or that is too old. Finding nothing is never 'no conflicts':
it is 'checked against the medicines recorded on that day'. A pharmacist may override a stop
(see `judging`); what is printed doesn't change.
"""

import re
from collections.abc import Iterator

from labelkit.ground.errors import Fault
from labelkit.records.model import Medicines, Preparation, Prescription, Workspace
from labelkit.rules.classes import sets_for
from labelkit.rules.open import open_beside
from labelkit.rules.places import At, of_preparation, of_prescription
from labelkit.rules.substances import (
    Identified,
    canonical,
    identify,
    in_group,
    known_as,
    means_something,
    title_of,
)

ASKED_SOURCE = "common practice, no source: blank is not 'none'"
OLD_AFTER_DAYS = 90
OLD_SOURCE = "common practice, no source: medicines asked again within 90 days of dispensing"
NAME_SOURCE = "common practice, no source: a name that isn't understood can't be checked"
SAME = "same-substance"
SAME_SOURCE = "common practice, no source: the same substance twice"
CLASS_SOURCE = "common practice, no source: two medicines of one class add up"


def judge_conflicts(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """Every stop that the patient's other medicines give, those from this pharmacy included."""
    at = of_prescription(rx)
    medicines = rx.patient.medicines
    if medicines is None:
        return (
            at.fault(
                "patient_medicines",
                "nobody asked the patient about other medicines",
                "ask, and record the answer with the date; 'none' is an answer",
                "asked.medicines",
                ASKED_SOURCE,
            ),
        )
    preparation = workspace.preparation(rx.preparation)
    ours = tuple(_also_from_us(workspace, rx))
    taken = [*(identify(name) for name in medicines.names), *ours]
    return (
        *_date(medicines, rx, at),
        *(fault for one in taken for fault in _not_understood(one, at)),
        *(fault for one in taken for fault in _matches(workspace, preparation, one, at)),
        *(fault for one in ours for fault in _same_class(workspace, preparation, one, at)),
    )


def judge_contraindicated(preparation: Preparation) -> tuple[Fault, ...]:
    """Names on the preparation's own list that nothing would ever match."""
    at = of_preparation(preparation)
    return tuple(
        at.fault(
            "contraindicated",
            f"{name!r} is neither a known substance nor a known group",
            "write the INN in English, or a group's id",
            "preparation.contraindicated",
            NAME_SOURCE,
        )
        for name in preparation.contraindicated
        if not means_something(name)
    )


def judge_pairs(preparation: Preparation, workspace: Workspace) -> tuple[Fault, ...]:
    """Ingredients of one tablet that must not be taken together."""
    inns = [canonical(ingredient.inn) for ingredient in preparation.ingredients]
    return tuple(
        of_preparation(preparation).fault(
            "ingredients",
            f"{inn} must not be taken with {other}, the same tablet's: {title_of(datum.group)}",
            "don't make it; a pharmacist may record an override",
            f"conflict.{datum.group.replace(' ', '-')}",
            datum.source,
        )
        for inn in inns
        for rules in sets_for(inn, workspace)
        for datum in rules.conflicts
        if datum.holds_for(inn, preparation.uses)
        for other in inns
        if other != inn and in_group(other, datum.group)
    )


def judge_decisions(preparation: Preparation, workspace: Workspace) -> tuple[Fault, ...]:
    """Names in what a pharmacist recorded of an ingredient that nothing would ever match."""
    at = At("decisions.toml", "", "")
    used = {canonical(ingredient.inn) for ingredient in preparation.ingredients}
    return tuple(
        at.fault(
            "ingredient.conflicts",
            f"{name!r}, recorded for {decision.inn}, is neither a known substance nor a group",
            "write the INN in English, or a group's id",
            "ingredient.conflicts",
            NAME_SOURCE,
        )
        for decision in workspace.decisions.ingredients
        if canonical(decision.inn) in used
        for name in decision.conflicts
        if not means_something(name)
    )


def taken_by(rx: Prescription) -> tuple[str, ...]:
    """INNs that were recognised among the patient's medicines, each once."""
    names = rx.patient.medicines.names if rx.patient.medicines else ()
    return tuple(dict.fromkeys(inn for name in names for inn in identify(name).substances))


def _also_from_us(workspace: Workspace, rx: Prescription) -> Iterator[Identified]:
    """What the same person has open from this pharmacy on a prescription of something else.

    A second prescription of the same preparation isn't a second medicine: `open` adds the two.
    """
    for other in open_beside(workspace, rx):
        if other.preparation != rx.preparation:
            for ingredient in workspace.preparation(other.preparation).ingredients:
                inn = canonical(ingredient.inn)
                yield Identified(f"on prescription {other.number}", (inn,), (), ())


def _same_class(
    workspace: Workspace, preparation: Preparation, one: Identified, at: At
) -> Iterator[Fault]:
    """Another medicine from this pharmacy of a class that has no stop of its own against it."""
    for taken in one.substances:
        for ingredient in preparation.ingredients:
            inn = canonical(ingredient.inn)
            if inn == taken or any(True for _ in _reasons(workspace, preparation, taken)):
                continue
            theirs = {rules.id for rules in sets_for(taken, workspace)}
            for rules in sets_for(inn, workspace):
                if rules.id in theirs:
                    yield at.fault(
                        "patient_medicines",
                        f"the patient has {taken} {one.written}; {inn} is of the same class, "
                        f"{rules.title}",
                        "call the prescriber; a pharmacist may record an override",
                        f"conflict.same-class-{rules.id}",
                        CLASS_SOURCE,
                    )


def _date(medicines: Medicines, rx: Prescription, at: At) -> Iterator[Fault]:
    age = (rx.dispensed_on - medicines.asked_on).days
    if age > OLD_AFTER_DAYS:
        yield at.fault(
            "patient_medicines_asked_on",
            f"the patient was asked {age} days before dispensing, "
            f"on {medicines.asked_on.isoformat()}",
            "ask again, and record the answer with the date",
            "asked.again",
            OLD_SOURCE,
        )
    elif age < 0:
        yield at.fault(
            "patient_medicines_asked_on",
            f"{medicines.asked_on.isoformat()} is after the day of dispensing, "
            f"{rx.dispensed_on.isoformat()}",
            "correct one of the two dates",
            "asked.order",
            ASKED_SOURCE,
        )


def _not_understood(one: Identified, at: At) -> Iterator[Fault]:
    for word in one.unknown:
        slug = re.sub(r"[^a-z0-9]+", "-", word.casefold()).strip("-")
        if one.near:
            yield at.fault(
                "patient_medicines",
                f"{one.written!r} isn't known; it may be {' or '.join(one.near[:3])}",
                "ask, and write the INN",
                f"conflict.spelling.{slug}",
                NAME_SOURCE,
            )
        else:
            yield at.fault(
                "patient_medicines",
                f"{one.written!r} isn't known: {word!r} is in no list",
                "write the INN; a brand name isn't looked up",
                f"conflict.unknown.{slug}",
                NAME_SOURCE,
            )


def _matches(
    workspace: Workspace, preparation: Preparation, one: Identified, at: At
) -> Iterator[Fault]:
    found: dict[tuple[str, str], Fault] = {}
    for taken in one.substances:
        for inn, group, source in _reasons(workspace, preparation, taken):
            found.setdefault((taken, group), _stop(one, taken, inn, group, source, at))
    yield from found.values()


def _reasons(
    workspace: Workspace, preparation: Preparation, taken: str
) -> Iterator[tuple[str, str, str]]:
    """Ours, the group it stops for, and the source: the classes' before the pharmacy's own."""
    for ingredient in preparation.ingredients:
        inn = canonical(ingredient.inn)
        for rules in sets_for(inn, workspace):
            for datum in rules.conflicts:
                if datum.holds_for(inn, preparation.uses) and in_group(taken, datum.group):
                    yield inn, datum.group, datum.source
        if taken == inn:
            yield inn, SAME, SAME_SOURCE
    for own in map(known_as, preparation.contraindicated):
        if in_group(taken, own):
            source = f"the pharmacy's own record, {of_preparation(preparation).file}"
            yield preparation.title, own, source


def _stop(one: Identified, taken: str, ours: str, group: str, source: str, at: At) -> Fault:
    written = f" (written {one.written!r})" if one.written.casefold() != taken else ""
    title = "the same substance twice" if group == SAME else title_of(group)
    because = "" if title == taken else f": {title}"
    return at.fault(
        "patient_medicines",
        f"the patient takes {taken}{written}; {ours} must not be taken with it{because}",
        "call the prescriber and don't dispense; a pharmacist may record an override",
        f"conflict.{group.replace(' ', '-')}",
        source,
    )
