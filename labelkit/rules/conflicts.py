"""What the patient takes, against what the medicine must not be taken with.

A match stops the job; so does a name that isn't known, with what it may have meant; so does
a list that nobody asked for, or that is too old. Finding nothing is never 'no conflicts':
it is 'checked against the medicines recorded on that day'. A pharmacist may override a stop
(see `judging`); what is printed doesn't change.
"""

from collections.abc import Iterator
from datetime import date

from labelkit.ground.errors import Fault
from labelkit.records.model import Preparation, Prescription, Workspace
from labelkit.rules.classes import sets_for
from labelkit.rules.identifying import Identified, identify
from labelkit.rules.open import of_person, open_beside
from labelkit.rules.own_names import own_names
from labelkit.rules.places import At, of_medicines, of_preparation
from labelkit.rules.substances import (
    canonical,
    groups,
    in_group,
    known_as,
    means_something,
    title_of,
)
from labelkit.rules.understood import FIELD, NAME_SOURCE, not_understood, only_denied

ASKED_SOURCE = "common practice, no source: blank is not 'none'"
OLD_AFTER_DAYS = 90
OLD_SOURCE = "common practice, no source: medicines asked again within 90 days of dispensing"
LOCAL_DONORS = "nitric-oxide-donors-of-eye-and-skin"
SAME = "same-substance"
SAME_SOURCE = "common practice, no source: the same substance twice"
CLASS_SOURCE = "common practice, no source: two medicines of one class add up"


def judge_conflicts(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """Every stop that the patient's other medicines give, those from this pharmacy included."""
    at = of_medicines(rx)
    asked_on = rx.patient.medicines_asked_on
    if asked_on is None:
        return (
            at.fault(
                FIELD,
                "nobody asked the patient about other medicines",
                "ask, and record the answer with the date; 'none' is an answer",
                "asked.medicines",
                ASKED_SOURCE,
            ),
        )
    preparation = workspace.preparation(rx.preparation)
    said = entries(workspace, rx)
    ours = tuple(_also_from_us(workspace, rx))
    taken = [*said, *ours]
    return (
        *_date(workspace, asked_on, rx, at),
        *only_denied(said, at),
        *(fault for one in said for fault in not_understood(one, at)),
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


def told(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """What stops nothing and must be told at the hand-over.

    Entries that only say that no nitrate is taken, and donors of nitric oxide in the eye or on
    the skin beside a medicine that must not meet nitrates.
    """
    at = of_medicines(rx)
    faults = [
        at.fault(
            FIELD,
            f"{one.written!r} says that none is taken, and is no medicine",
            "take the entry out; what isn't taken needs no row",
            "told.denied",
            NAME_SOURCE,
        )
        for one in entries(workspace, rx)
        if one.denies
    ]
    preparation = workspace.preparation(rx.preparation)
    for ingredient in preparation.ingredients:
        inn = canonical(ingredient.inn)
        if not any(
            datum.group == "nitrates" for s in sets_for(inn, workspace) for datum in s.conflicts
        ):
            continue
        faults += [
            at.fault(
                FIELD,
                f"the patient uses {taken}: {title_of(LOCAL_DONORS)}; {inn} must not be taken "
                "with nitrates that are swallowed, and no label speaks of these",
                "tell the patient to report dizziness and fainting",
                f"told.{LOCAL_DONORS}",
                groups()[LOCAL_DONORS].source,
            )
            for one in entries(workspace, rx)
            for taken in one.substances
            if in_group(taken, LOCAL_DONORS)
        ]
    return tuple(dict.fromkeys(faults))


def entries(workspace: Workspace, rx: Prescription) -> tuple[Identified, ...]:
    """What each entry of the patient's list was read as: the one place that asks for the list."""
    own = own_names(workspace)
    return tuple(identify(one.written, own) for one in rx.patient.taken)


def taken_by(workspace: Workspace, rx: Prescription) -> tuple[str, ...]:
    """INNs that were recognised among the patient's medicines, each once."""
    return tuple(dict.fromkeys(inn for one in entries(workspace, rx) for inn in one.substances))


def _also_from_us(workspace: Workspace, rx: Prescription) -> Iterator[Identified]:
    """What the same person has open from this pharmacy on a prescription of something else.

    A second prescription of the same preparation isn't a second medicine: `open` adds the two.
    """
    for other in open_beside(workspace, rx):
        if other.preparation != rx.preparation:
            for ingredient in workspace.preparation(other.preparation).ingredients:
                inn = canonical(ingredient.inn)
                yield Identified(f"on prescription {other.number}", (inn,))


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
                        FIELD,
                        f"the patient has {taken} {one.written}; {inn} is of the same class, "
                        f"{rules.title}",
                        "call the prescriber; a pharmacist may record an override",
                        f"conflict.same-class-{rules.id}",
                        CLASS_SOURCE,
                    )


def _date(workspace: Workspace, asked_on: date, rx: Prescription, at: At) -> Iterator[Fault]:
    age = (rx.dispensed_on - asked_on).days
    latest = max(one.dispensed_on for one in of_person(workspace, rx.patient))
    if age > OLD_AFTER_DAYS:
        yield at.fault(
            "confirmed_on",
            f"the patient was asked {age} days before dispensing, on {asked_on.isoformat()}",
            "ask again, and record the answer with the date",
            "asked.again",
            OLD_SOURCE,
        )
    elif asked_on > max(latest, rx.dispensed_on):
        # Asked again for a later fill is a newer answer; later than every fill is a slip.
        yield at.fault(
            "confirmed_on",
            f"{asked_on.isoformat()} is after the day of dispensing, {rx.dispensed_on.isoformat()}",
            "correct one of the two dates",
            "asked.order",
            ASKED_SOURCE,
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
        "medicine",
        f"the patient takes {taken}{written}; {ours} must not be taken with it{because}",
        "call the prescriber and don't dispense; a pharmacist may record an override",
        f"conflict.{group.replace(' ', '-')}",
        source,
    )
