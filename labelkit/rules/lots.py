"""Whether a lot may be sealed, and whether it may fill prescriptions.

Its status says how far it has come; its ingredient lots say that each substance in it can be
traced; two people made and checked it, or one who works alone looked again after a pause. How
long it keeps, `beyond_use` says.
"""

from collections.abc import Iterator

from labelkit.ground.errors import Fault
from labelkit.records.alike import alike
from labelkit.records.model import Lot, LotStatus, Preparation, Workspace
from labelkit.rules.places import of_lot
from labelkit.rules.substances import canonical, words

STATUS_SOURCE = "common practice, no source: only a released lot fills prescriptions"
TRACE_SOURCE = (
    "common practice, no source: a lot names the lot of each active ingredient and of each "
    "excipient that is declared"
)
TWO_SOURCE = "common practice, no source: who checks a lot didn't make it"
ALONE_SOURCE = (
    "common practice, no source: who works alone checks again after a pause, and counts without "
    "the first count in sight"
)


def judge_made(workspace: Workspace, lot: Lot) -> tuple[Fault, ...]:
    """Why nothing of the lot may be sealed: held or recalled, untraced, checked by its maker."""
    return (
        *_stopped(lot),
        *_untraced(lot, workspace.preparation(lot.preparation)),
        *_two_people(workspace, lot),
    )


def judge_for_fills(workspace: Workspace, lot: Lot) -> tuple[Fault, ...]:
    """Why the lot fills no prescription: all that keeps it from being sealed, or not released."""
    stopped = judge_made(workspace, lot)
    if lot.status in (LotStatus.MADE, LotStatus.TESTED):
        return (_status(lot, "isn't released"), *stopped)
    return stopped


def _stopped(lot: Lot) -> Iterator[Fault]:
    if lot.status in (LotStatus.HELD, LotStatus.RECALLED):
        yield _status(lot, f"is {lot.status}")


def _status(lot: Lot, wrong: str) -> Fault:
    return of_lot(lot).fault(
        "status",
        f"lot {lot.number} {wrong}",
        f"write '{LotStatus.RELEASED}' once a person has released it, or use another lot",
        "lot.status",
        STATUS_SOURCE,
    )


def _untraced(lot: Lot, preparation: Preparation) -> Iterator[Fault]:
    named = [part.name for part in lot.ingredient_lots]
    wanted = (*(one.inn for one in preparation.ingredients), *preparation.excipients)
    missing = [name for name in wanted if not any(_is_of(part, name) for part in named)]
    if missing:
        yield of_lot(lot).fault(
            "ingredient_lots",
            f"lot {lot.number} names no lot of {', '.join(missing)}",
            "add it as name:number:expiry, with | between two",
            "lot.ingredients",
            TRACE_SOURCE,
        )


def _is_of(part: str, name: str) -> bool:
    """Whether an ingredient lot's name, as ``ondansetron hydrochloride dihydrate``, names it.

    It begins with the name, or with another name of the same substance: a salt comes after.
    """
    held = words(part)
    asked = words(name)
    starts = (" ".join(held[:length]) for length in range(1, len(held) + 1))
    return held[: len(asked)] == asked or canonical(name) in map(canonical, starts)


def _two_people(workspace: Workspace, lot: Lot) -> Iterator[Fault]:
    if not alike(lot.prepared_by, lot.checked_by):
        return
    at = of_lot(lot)
    look = lot.second_look
    if not workspace.pharmacy.works_alone:
        yield at.fault(
            "checked_by",
            f"lot {lot.number} was checked by the one who prepared it",
            "have another person check it; a pharmacy where one person works alone says "
            "works_alone = true in pharmacy.toml and records a second look",
            "lot.two-people",
            TWO_SOURCE,
        )
    elif look is None:
        yield at.fault(
            "checked_again_at",
            f"lot {lot.number} was made and checked by one person, and no second look is recorded",
            "after a pause, count the tablets with the first count out of sight; write the "
            "moment into 'checked_again_at' and the count into 'counted_again'",
            "lot.second-look",
            ALONE_SOURCE,
        )
    elif look.counted != lot.made:
        yield at.fault(
            "counted_again",
            f"lot {lot.number} was counted as {lot.made} and then as {look.counted}",
            "find the tablets that one of the counts missed, and record what is true",
            "lot.second-look",
            ALONE_SOURCE,
        )
