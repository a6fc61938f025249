"""Exact sums with amounts of substance. Never rounds, never mixes units unconverted."""

import math
import re
from decimal import Decimal

from labelkit.records.model import Amount, Unit

MG_PER_UNIT = {Unit.MCG: Decimal("0.001"), Unit.MG: Decimal(1), Unit.G: Decimal(1000)}
"""SI prefixes (BIPM SI brochure, 9th edition, table 7): exact."""

_AMOUNT = re.compile(r"(\d+(?:\.\d+)?)[ \u00a0](mcg|mg|g)")


def in_mg(amount: Amount) -> Decimal:
    """The amount in milligrams, exact."""
    return amount.value * MG_PER_UNIT[amount.unit]


def parse(text: str) -> Amount:
    """``2.5 mg`` to an `Amount`. Raises ValueError for anything else."""
    match = _AMOUNT.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is no amount such as '2.5 mg'")
    return Amount(value=Decimal(match[1]), unit=Unit(match[2]))


def plain(value: Decimal) -> str:
    """Digits without exponent or trailing zero, a zero before the point, thousands parted.

    ISMP List of Error-Prone Abbreviations (2021): no trailing zero, a leading zero, and
    commas from 1,000 up. English form, for messages of rules.
    """
    return f"{value.normalize():,f}"


def spoken(amount: Amount) -> str:
    """``2.5 mg``, as a message of a rule prints it."""
    return f"{plain(amount.value)} {amount.unit.value}"


def multiple(times: Decimal, amount: Amount) -> Amount:
    """`times` as much, in the same unit."""
    return Amount(value=times * amount.value, unit=amount.unit)


def duration(hours: Decimal) -> str:
    """``8 hours``, ``7 hours 30 minutes``; between two minutes ``just under`` the longer.

    Never longer than it is: an interval that is too short mustn't read as one that isn't.
    """
    minutes = hours * 60
    whole = math.ceil(minutes)
    told = [
        f"{count:,} {unit}" if count == 1 else f"{count:,} {unit}s"
        for count, unit in ((whole // 60, "hour"), (whole % 60, "minute"))
        if count
    ]
    return ("just under " if whole > minutes else "") + (" ".join(told) or "0 hours")
