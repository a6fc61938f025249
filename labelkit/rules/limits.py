"""Dose limits: what a preparation may carry, what directions may ask for.

All sums are exact and shown in the message. Nothing is rounded except the number of whole
tablets a limit allows, which is cut down. Directions at the limit pass, one smallest unit
above it is refused. A limit that is missing is not 'none': it is refused.
"""

from collections.abc import Iterator
from decimal import Decimal

from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.model import (
    Amount,
    Directions,
    Limit,
    Preparation,
    Strength,
)
from labelkit.rules.amounts import duration, in_mg, multiple, plain, spoken
from labelkit.rules.model import DoseLimits
from labelkit.rules.places import At, of_preparation
from labelkit.rules.reasons import judge_reason

LIMITS_SOURCE = (
    "no label covers a compounded under-the-tongue form: a named pharmacist's or prescriber's "
    "decision with its reference is needed (common practice, no source)"
)
WHOLE_SOURCE = "common practice, no source: a tablet that crumbles can't be halved"
SENSE_SOURCE = "common practice, no source: directions must not contradict themselves"
ROUTE_SOURCE = (
    "US vardenafil orally disintegrating tablets label (on the tongue) and US zolpidem sublingual "
    "tablets label (under the tongue): different routes, not interchangeable"
)


def strength_of(preparation: Preparation, label: str) -> Strength:
    """The strength of that label. Raises KeyError; reading has checked all references."""
    return {s.label: s for s in preparation.strengths}[label]


def amount_limit(limits: tuple[Limit, ...], inn: str) -> tuple[Amount, str] | None:
    """The smallest amount recorded as a limit for an ingredient, with its source."""
    own = [(x.amount, x.source) for x in limits if x.ingredient == inn and x.amount is not None]
    return min(own, key=lambda pair: in_mg(pair[0])) if own else None


def interval_limit(limits: tuple[Limit, ...], inn: str) -> tuple[Decimal, str] | None:
    """The longest least interval recorded for an ingredient, in hours, with its source."""
    own = [(x.hours, x.source) for x in limits if x.ingredient == inn and x.hours is not None]
    return max(own, key=lambda pair: pair[0]) if own else None


def judge_limits(preparation: Preparation) -> tuple[Fault, ...]:
    """Limits that are missing, of the wrong kind, or under one tablet of a strength."""
    at = of_preparation(preparation)
    return (*_missing(preparation, at), *_too_strong(preparation, at))


def dose_limits(preparation: Preparation, strength_label: str) -> DoseLimits:
    """The limits of one strength, in whole tablets and hours: the strictest ingredient's.

    Raises RuleRefused when a limit is missing or even one tablet is above it.
    """
    faults = judge_limits(preparation)
    if faults:
        raise RuleRefused(faults)
    strength = strength_of(preparation, strength_label)
    limits = preparation.limits
    in_24_h = _whole_tablets(preparation, strength, limits.in_24_h)
    return DoseLimits(
        single_dose_tablets=min(in_24_h, _whole_tablets(preparation, strength, limits.single_dose)),
        in_24_h_tablets=in_24_h,
        least_interval_h=max(x.hours for x in limits.least_interval if x.hours is not None),
    )


def interval_statement(preparation: Preparation) -> str:
    """Id of the statement that says the least interval: in hours, or in minutes below one."""
    hours = [x.hours for x in preparation.limits.least_interval if x.hours is not None]
    whole = all(h % 1 == 0 for h in hours)
    return "limit.least-interval" if whole else "limit.least-interval-min"


def judge_directions(
    preparation: Preparation, strength_label: str, directions: Directions, at: At
) -> tuple[Fault, ...]:
    """Every way in which the directions go beyond the preparation's limits."""
    strength = strength_of(preparation, strength_label)
    return (
        *_sense(preparation, directions, at),
        *judge_reason(preparation, directions, at),
        *_amounts(preparation, strength, directions, at),
        *_intervals(preparation, directions, at),
    )


def sum_shown(tablets: Decimal, strength: Amount) -> str:
    """``2 tablets × 10 mg = 20 mg``."""
    word = "tablet" if tablets == 1 else "tablets"
    total = multiple(tablets, strength)
    return f"{plain(tablets)} {word} × {spoken(strength)} = {spoken(total)}"


def _whole_tablets(preparation: Preparation, strength: Strength, limits: tuple[Limit, ...]) -> int:
    counts = [
        in_mg(limit[0]) // in_mg(amount)
        for ingredient, amount in zip(preparation.ingredients, strength.amounts, strict=True)
        if (limit := amount_limit(limits, ingredient.inn)) is not None
    ]
    return int(min(counts))


def _missing(preparation: Preparation, at: At) -> Iterator[Fault]:
    limits = preparation.limits
    for ingredient in preparation.ingredients:
        inn = ingredient.inn
        recorded = {
            "single_dose": amount_limit(limits.single_dose, inn),
            "in_24_h": amount_limit(limits.in_24_h, inn),
            "least_interval": interval_limit(limits.least_interval, inn),
        }
        for name, limit in recorded.items():
            if limit is None:
                yield at.fault(
                    f"limits.{name}",
                    f"no such limit is recorded for {inn}",
                    "record the limit with its source, who decided it and when",
                    "limits.recorded",
                    LIMITS_SOURCE,
                )


def _too_strong(preparation: Preparation, at: At) -> Iterator[Fault]:
    groups = (
        ("one dose", preparation.limits.single_dose),
        ("24 hours", preparation.limits.in_24_h),
    )
    for strength in preparation.strengths:
        pairs = zip(preparation.ingredients, strength.amounts, strict=True)
        for ingredient, amount in pairs:
            for span, limits in groups:
                limit = amount_limit(limits, ingredient.inn)
                if limit is not None and in_mg(amount) > in_mg(limit[0]):
                    yield at.fault(
                        "strengths",
                        f"one tablet holds {spoken(amount)} of {ingredient.inn}; "
                        f"the limit for {span} is {spoken(limit[0])}",
                        "correct the strength or the limit",
                        "limits.one-tablet",
                        limit[1],
                    )


def _sense(preparation: Preparation, directions: Directions, at: At) -> Iterator[Fault]:
    tablets = directions.tablets_per_dose
    if directions.route is not preparation.route:
        yield at.fault(
            "route",
            f"the directions say {directions.route.value}, "
            f"{preparation.id} is made for {preparation.route.value}",
            "ask the prescriber; correct the route or choose another preparation",
            "directions.route",
            ROUTE_SOURCE,
        )
    if tablets <= 0:
        yield at.fault(
            "tablets_per_dose",
            f"a dose of {plain(tablets)} tablets is none",
            "write the number of tablets for one dose",
            "directions.sense",
            SENSE_SOURCE,
        )
    if "fragile" in preparation.handling and tablets % 1:
        yield at.fault(
            "tablets_per_dose",
            f"{plain(tablets)} tablets would have to be divided, and the tablet is fragile",
            "write whole tablets, or prescribe another strength",
            "directions.whole-tablets",
            WHOLE_SOURCE,
        )
    if tablets > directions.most_in_24_h:
        yield at.fault(
            "most_in_24_h",
            f"one dose is {plain(tablets)} tablets, "
            f"but at most {plain(directions.most_in_24_h)} are allowed in 24 hours",
            "correct one of the two",
            "directions.sense",
            SENSE_SOURCE,
        )
    if directions.least_interval_h <= 0:
        yield at.fault(
            "least_interval_h",
            f"an interval of {plain(directions.least_interval_h)} hours is none",
            "write the least number of hours between two doses",
            "directions.sense",
            SENSE_SOURCE,
        )


def _amounts(
    preparation: Preparation, strength: Strength, directions: Directions, at: At
) -> Iterator[Fault]:
    checks = (
        (
            "tablets_per_dose",
            directions.tablets_per_dose,
            "one dose",
            "dose.single",
            preparation.limits.single_dose,
        ),
        (
            "most_in_24_h",
            directions.most_in_24_h,
            "24 hours",
            "dose.in-24-h",
            preparation.limits.in_24_h,
        ),
    )
    for field, tablets, span, rule, limits in checks:
        pairs = zip(preparation.ingredients, strength.amounts, strict=True)
        for ingredient, amount in pairs:
            limit = amount_limit(limits, ingredient.inn)
            if limit is not None and in_mg(multiple(tablets, amount)) > in_mg(limit[0]):
                yield at.fault(
                    field,
                    f"{sum_shown(tablets, amount)} of {ingredient.inn}; "
                    f"the limit for {span} is {spoken(limit[0])}",
                    "ask the prescriber for a lower dose",
                    rule,
                    limit[1],
                )


def _intervals(preparation: Preparation, directions: Directions, at: At) -> Iterator[Fault]:
    for ingredient in preparation.ingredients:
        limit = interval_limit(preparation.limits.least_interval, ingredient.inn)
        if limit is not None and directions.least_interval_h < limit[0]:
            yield at.fault(
                "least_interval_h",
                f"{duration(directions.least_interval_h)} between doses; the least interval "
                f"for {ingredient.inn} is {duration(limit[0])}",
                "ask the prescriber for a longer interval",
                "dose.interval",
                limit[1],
            )
