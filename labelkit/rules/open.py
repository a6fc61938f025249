"""What a patient has open from this pharmacy, and what it comes to together.

A prescription is open from the day of dispensing: one with fixed times until its supply has
run out, one without until a person closes it; either until another prescription renews or
replaces it. What is open together counts together, whatever strength, preparation or
prescription it came from: the amount of each substance in 24 hours, the hours between two
doses of it, and two medicines of one class. Knows nothing of other pharmacies: what the
patient takes from elsewhere is in the patient's list of medicines (`conflicts`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from itertools import combinations
from operator import itemgetter

from labelkit.ground.errors import Fault
from labelkit.records.model import Patient, Prescription, Workspace
from labelkit.rules.amounts import duration, in_mg, multiple, plain
from labelkit.rules.limits import amount_limit, interval_limit
from labelkit.rules.places import At, of_prescription
from labelkit.rules.regimen import Regimen, regimen_of
from labelkit.rules.substances import canonical

REFERENCE_SOURCE = "common practice, no source: a prescription is renewed or replaced by its number"
TOGETHER_SOURCE = (
    "common practice, no source: a limit holds for all that one patient takes of a substance"
)


def of_person(workspace: Workspace, patient: Patient) -> tuple[Prescription, ...]:
    """All of the workspace's prescriptions of that person, whichever entry of theirs they name,
    in the records' order."""
    by_entry = _by_entry(_Rows(workspace.prescriptions))
    rows = [row for id_ in workspace.person(patient.id) for row in by_entry.get(id_, ())]
    return tuple(rx for _, rx in sorted(rows, key=itemgetter(0)))


def open_for(workspace: Workspace, patient: Patient, day: date) -> tuple[Prescription, ...]:
    """What the person has open on that day: the newest fill of each order, as recorded."""
    theirs = of_person(workspace, patient)
    orders: dict[tuple[object, ...], list[Prescription]] = {}
    for rx in theirs:
        if rx.dispensed_on <= day:
            orders.setdefault(_order(rx), []).append(rx)
    enders = [rx for rx in theirs if _ends(rx)]
    return tuple(
        max(fills, key=lambda rx: (rx.dispensed_on, rx.fill))
        for fills in orders.values()
        if _supplied(workspace, fills, day)
        and not any(_takes_over(later, fills[0], theirs, day) for later in enders)
    )


def open_beside(workspace: Workspace, rx: Prescription) -> tuple[Prescription, ...]:
    """What the patient has open on the day of dispensing besides this prescription's order.

    What takes over from this one on the same day isn't taken beside it.
    """
    day = rx.dispensed_on
    theirs = of_person(workspace, rx.patient)
    return tuple(
        other
        for other in open_for(workspace, rx.patient, day)
        if _order(other) != _order(rx) and not _takes_over(other, rx, theirs, day)
    )


def judge_open(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """Every way in which the prescription goes too far with what the patient has open."""
    at = of_prescription(rx)
    open_ones = (rx, *open_beside(workspace, rx))
    uses = [use for one in open_ones for use in _uses(one.number, regimen_of(workspace, one))]
    inns = dict.fromkeys(use.inn for use in uses if use.rx == rx.number)
    return (
        *_references(workspace, rx, at),
        *(
            fault
            for inn in inns
            for fault in _together([use for use in uses if use.inn == inn], rx, at)
        ),
    )


@dataclass(frozen=True, slots=True)
class _Use:
    """One substance of one open prescription: how much of it is allowed, and how often."""

    rx: str
    inn: str
    in_24_h_mg: Decimal
    limit: tuple[Decimal, str] | None
    """The most in 24 hours in mg, with its source."""
    interval: tuple[Decimal, str] | None
    regimen: Regimen

    @property
    def shown(self) -> str:
        """``10 mg on prescription 104321``."""
        return f"{plain(self.in_24_h_mg)} mg on prescription {self.rx}"


def _uses(number: str, regimen: Regimen) -> Iterator[_Use]:
    limits = regimen.product.preparation.limits
    for ingredient, amount in regimen.product.contents:
        most = amount_limit(limits.in_24_h, ingredient.inn)
        yield _Use(
            rx=number,
            inn=canonical(ingredient.inn),
            in_24_h_mg=in_mg(multiple(regimen.directions.most_in_24_h, amount)),
            limit=None if most is None else (in_mg(most[0]), most[1]),
            interval=interval_limit(limits.least_interval, ingredient.inn),
            regimen=regimen,
        )


def _together(uses: list[_Use], rx: Prescription, at: At) -> Iterator[Fault]:
    """Faults of all uses of one substance taken together; none where there is one alone."""
    if len({id(use.regimen) for use in uses}) < 2:
        return
    inn = uses[0].inn
    limits = [use.limit for use in uses if use.limit is not None]
    total_mg = sum((use.in_24_h_mg for use in uses), Decimal(0))
    if limits and total_mg > min(limits)[0]:
        most_mg, source = min(limits)
        yield at.fault(
            "most_in_24_h",
            f"{' and '.join(use.shown for use in uses)} are {plain(total_mg)} mg of {inn} "
            f"in 24 hours; the limit is {plain(most_mg)} mg",
            "ask the prescriber; write what it renews or replaces, or close what isn't taken "
            "any more",
            "open.in-24-h",
            f"{TOGETHER_SOURCE}; {source}",
        )
    intervals = [use.interval for use in uses if use.interval is not None]
    if not intervals:
        return
    least_h, source = max(intervals)
    for one, other in combinations(uses, 2):
        if rx.number in (one.rx, other.rx) and not _apart(one, other, least_h):
            second = other if one.rx == rx.number else one
            yield at.fault(
                "least_interval_h",
                f"{duration(least_h)} must lie between two doses of {inn}, and nothing keeps "
                f"these apart from those of prescription {second.rx}",
                "ask the prescriber; write what it renews or replaces, or close what isn't taken "
                "any more",
                "open.interval",
                f"{TOGETHER_SOURCE}; {source}",
            )


def _apart(one: _Use, other: _Use, least_h: Decimal) -> bool:
    """Whether both have an hour of the day, and so many hours between them, round the clock."""
    hours = one.regimen.times.hour, other.regimen.times.hour
    if hours[0] is None or hours[1] is None:
        return False
    between = abs(hours[0] - hours[1])
    return min(between, 24 - between) >= least_h


def _references(workspace: Workspace, rx: Prescription, at: At) -> Iterator[Fault]:
    """Numbers in `renews` and `replaces` that name no earlier prescription of the patient."""
    theirs = of_person(workspace, rx.patient)
    for field, number in (("renews", rx.renews), ("replaces", rx.replaces)):
        if not number:
            continue
        named = [other for other in theirs if other.number == number]
        if not named or number == rx.number:
            wrong = f"{number} isn't another prescription of this patient"
        elif any(other.dispensed_on > rx.dispensed_on for other in named):
            wrong = f"{number} was dispensed later than this one, on {rx.dispensed_on.isoformat()}"
        elif rx.number in _chain(number, theirs):
            wrong = f"{number} says in its turn that it renews or replaces this one"
        else:
            continue
        yield at.fault(
            field,
            wrong,
            "correct the number, or leave it empty",
            "open.reference",
            REFERENCE_SOURCE,
        )


def _ends(rx: Prescription) -> frozenset[str]:
    """Numbers of the prescriptions that are over once this one is dispensed."""
    return frozenset({rx.renews, rx.replaces} - {"", rx.number})


def _order(rx: Prescription) -> tuple[object, ...]:
    """What tells one order from another: fills with all of it equal supply the same regimen."""
    return rx.number, rx.preparation, rx.strength, rx.directions


def _supplied(workspace: Workspace, fills: list[Prescription], day: date) -> bool:
    """Whether the fills of one order still last on that day, each begun where one ended."""
    closed = [f.closed_on for f in fills if f.closed_on is not None and f.closed_on <= day]
    end = date.min
    for rx in sorted(fills, key=lambda f: f.dispensed_on):
        if rx.closed_on in closed or any(rx.dispensed_on < on for on in closed):
            continue
        lasts = regimen_of(workspace, rx).lasts_days
        try:
            end = date.max if lasts is None else max(end, rx.dispensed_on) + timedelta(days=lasts)
        except OverflowError:
            end = date.max
    return day < end


def _takes_over(
    later: Prescription, rx: Prescription, theirs: tuple[Prescription, ...], day: date
) -> bool:
    """Whether `later` renews or replaces it by that day. Of a circle none takes over another."""
    return (
        rx.number in _ends(later)
        and rx.dispensed_on <= later.dispensed_on <= day
        and later.number not in _chain(rx.number, theirs)
    )


def _chain(number: str, theirs: tuple[Prescription, ...]) -> frozenset[str]:
    """Numbers that a prescription renews or replaces, and those that these do, and so on."""
    found: set[str] = set()
    next_ones = {number}
    while next_ones:
        ends = {n for rx in theirs if rx.number in next_ones for n in _ends(rx)}
        next_ones = ends - found
        found |= ends
    return frozenset(found)


class _Rows:
    """Prescriptions compared by identity: to hash ten thousand of them each time is slow."""

    def __init__(self, rows: tuple[Prescription, ...]) -> None:
        self.rows = rows

    def __hash__(self) -> int:
        return id(self.rows)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Rows) and other.rows is self.rows


@lru_cache(maxsize=4)
def _by_entry(known: _Rows) -> dict[str, list[tuple[int, Prescription]]]:
    """Each patient entry's prescriptions, with their places among the records."""
    found: dict[str, list[tuple[int, Prescription]]] = {}
    for place, rx in enumerate(known.rows):
        found.setdefault(rx.patient.id, []).append((place, rx))
    return found
