"""Dose limits: what a preparation must carry, and what they come to in tablets of a strength.

All sums are exact and shown in the message. Nothing is rounded except the number of whole
tablets a limit allows, which is cut down. A limit that is missing is not 'none': it is
refused. What a prescription asks for is judged against them in `regimen`.
"""

from collections.abc import Iterator
from decimal import Decimal

from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.model import Amount, Limit, Preparation, Prescription
from labelkit.rules.amounts import in_mg, multiple, plain, spoken
from labelkit.rules.model import DoseLimits
from labelkit.rules.places import At, of_preparation
from labelkit.rules.products import Product

LIMITS_SOURCE = (
    "no label covers a compounded under-the-tongue form: a named pharmacist's or prescriber's "
    "decision with its reference is needed (common practice, no source)"
)


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


def dose_limits(product: Product) -> DoseLimits:
    """The limits of one product, in whole tablets and hours: the strictest ingredient's.

    Raises RuleRefused when a limit is missing or even one tablet is above it.
    """
    faults = judge_limits(product.preparation)
    if faults:
        raise RuleRefused(faults)
    limits = product.preparation.limits
    in_24_h = _whole_tablets(product, limits.in_24_h)
    return DoseLimits(
        single_dose_tablets=min(in_24_h, _whole_tablets(product, limits.single_dose)),
        in_24_h_tablets=in_24_h,
        least_interval_h=least_interval_h(product.preparation),
    )


def least_interval_h(preparation: Preparation) -> Decimal:
    """Hours between two doses, the longest recorded: it holds for every strength alike."""
    return max(x.hours for x in preparation.limits.least_interval if x.hours is not None)


def interval_statement(preparation: Preparation, rx: Prescription | None) -> str:
    """Id of the statement that says the least interval: in whole hours, or else in minutes.

    With a prescription, of the longer of the preparation's interval and the directions'.
    """
    hours = least_interval_h(preparation)
    if rx is not None:
        hours = max(hours, rx.directions.least_interval_h)
    return "limit.least-interval" if hours % 1 == 0 else "limit.least-interval-min"


def sum_shown(tablets: Decimal, strength: Amount) -> str:
    """``2 tablets × 10 mg = 20 mg``."""
    word = "tablet" if tablets == 1 else "tablets"
    total = multiple(tablets, strength)
    return f"{plain(tablets)} {word} × {spoken(strength)} = {spoken(total)}"


def _whole_tablets(product: Product, limits: tuple[Limit, ...]) -> int:
    counts = [
        in_mg(limit[0]) // in_mg(amount)
        for ingredient, amount in product.contents
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
