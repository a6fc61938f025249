"""UCUM codes of imported records to units that may be printed; an unknown code is refused.

Codes are compared as they are written: UCUM is case-sensitive, so ``MG`` is no milligram.
"""

from functools import cache

from labelkit.records.model import Unit
from labelkit.rules.data import Datum, Source, load


class UnitDatum(Datum):
    """One code."""

    code: str
    print: str
    amount: bool = False
    """Whether a strength may be given in it."""
    source: Source


class UnknownUnit(ValueError):
    """A code that isn't in the list, or that no strength is given in."""


@cache
def units() -> dict[str, UnitDatum]:
    """Every code that is understood."""
    return {u.code: u for u in (UnitDatum.model_validate(e) for e in load("units.toml")["units"])}


def printed(code: str) -> str:
    """The unit as it may be printed: ``ug`` is mcg. Raises UnknownUnit."""
    if code not in units():
        raise UnknownUnit(f"{code!r} is no UCUM code that is understood: {', '.join(units())}")
    return units()[code].print


def unit_of(code: str) -> Unit:
    """The unit of an amount of substance. Raises UnknownUnit for units and volumes too."""
    text = printed(code)
    if not units()[code].amount:
        raise UnknownUnit(f"{code!r} ({text}) isn't a mass: a strength is in mcg, mg or g")
    return Unit(text)
