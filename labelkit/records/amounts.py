"""Numbers and amounts as records write them: digits, a decimal point, a unit; exact.

Everything is `Decimal`. Refuses what has harmed people or can't be told apart: a naked
decimal point, a decimal comma, thousands separators, a point that may be one (``1.000``), ``µg``,
``ug``, ``U`` and ``IU`` (ISMP, List of Error-Prone Abbreviations, 2021), signs and exponents. It
never rounds.
"""

import re
from decimal import Decimal

from labelkit.records.faultbook import Unreadable
from labelkit.records.model import Amount, Unit
from labelkit.records.text import shown

MOST_WHOLE = 1_000_000
"""Largest count of a record. Our own bound: a slip of the keyboard is found sooner."""

_WHOLE = re.compile(r"[0-9]{1,9}")
_NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,9})?")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
"""Digits with a point before a group of three: a thousand where the point groups digits (CLDR,
`decimal` and `group` of de, es, it), one and no thousandths where it is the decimal mark."""
_AMOUNT = re.compile(r"(\S+?)[ \u00a0\u202f]?([^\W\d_]+)")
_IN_MCG = {Unit.MCG: Decimal(1), Unit.MG: Decimal(1000), Unit.G: Decimal(1_000_000)}
_ERROR_PRONE = {
    "µg": "mcg",
    "μg": "mcg",
    "ug": "mcg",
    "mgs": "mg",
    "MG": "mg",
    "Mg": "mg",
    "gm": "g",
    "G": "g",
    "MCG": "mcg",
}


def whole(text: str, least: int = 0, most: int = MOST_WHOLE) -> int:
    """A whole number in digits, from `least` to `most`. Raises Unreadable."""
    if not _WHOLE.fullmatch(text):
        raise Unreadable(f"{shown(text)} is no whole number", "write it in digits alone, as 20")
    value = int(text)
    if not least <= value <= most:
        raise Unreadable(f"{value} isn't between {least} and {most}", "check the number")
    return value


def number(text: str) -> Decimal:
    """A number of nought or more, with a decimal point if need be. Raises Unreadable."""
    if _NUMBER.fullmatch(text):
        return Decimal(text)
    if text.startswith("."):
        raise Unreadable(f"{shown(text)} starts with its decimal point", f"write '0{text}'")
    if re.fullmatch(r"[0-9]+,[0-9]+", text):
        raise Unreadable(
            f"{shown(text)} has a comma: a decimal in one country, a thousand in another",
            "write a decimal point and no thousands separator",
        )
    raise Unreadable(f"{shown(text)} is no number", "write it in digits, as 2.5")


def unambiguous(text: str) -> str:
    """The text, unless it is a number that two countries read a thousandfold apart.

    Raises Unreadable.
    """
    if _THOUSANDS.fullmatch(text):
        whole_, decimals = text.replace(".", ""), text.rstrip("0").rstrip(".")
        decimal = decimals if decimals != text else f"{text}0"
        raise Unreadable(
            f"{shown(text)} is a thousandfold more in one country than in another",
            f"write '{whole_}' if the point sets thousands apart, '{decimal}' if it is decimal",
        )
    return text


def positive(text: str) -> Decimal:
    """A number above nought. Raises Unreadable."""
    value = number(text)
    if value == 0:
        raise Unreadable("is nought", "write a number above nought")
    return value


def amount(text: str) -> Amount:
    """``2.5 mg`` as an exact amount, in the unit it is to be shown in. Raises Unreadable.

    Below 1 mg it is in mcg, from 1 mg in mg, from 1 g in g, so that equal amounts are
    equal records however they were written.
    """
    found = _AMOUNT.fullmatch(text)
    if not found:
        raise Unreadable(f"{shown(text)} is no amount with a unit", "write it as '2.5 mg'")
    digits, unit = found.groups()
    if unit in _ERROR_PRONE:
        raise Unreadable(
            f"the unit {shown(unit)} is misread too easily", f"write '{_ERROR_PRONE[unit]}'"
        )
    if unit not in set(Unit):
        raise Unreadable(f"the unit {shown(unit)} isn't one labelkit knows", "use mcg, mg or g")
    return tidy(Amount(value=positive(unambiguous(digits)), unit=Unit(unit)))


def amounts(text: str) -> tuple[Amount, ...]:
    """``5 mg / 250 mcg``: one amount for each active ingredient. Raises Unreadable."""
    return tuple(amount(part.strip()) for part in text.split("/"))


def label(parts: tuple[Amount, ...]) -> str:
    """The strength's name, as `labelkit.records.model.Strength.label` gives it."""
    return " / ".join(f"{a.value.normalize():f} {a.unit.value}" for a in parts)


def tidy(given: Amount) -> Amount:
    """The same amount in the unit it is to be shown in, without needless noughts."""
    mcg = in_mcg(given)
    if mcg < _IN_MCG[Unit.MG]:
        unit = Unit.MCG
    elif mcg < _IN_MCG[Unit.G]:
        unit = Unit.MG
    else:
        unit = Unit.G
    value = mcg / _IN_MCG[unit]
    return Amount(value=Decimal(f"{value.normalize():f}"), unit=unit)


def in_mcg(given: Amount) -> Decimal:
    """The amount in micrograms, exact."""
    return given.value * _IN_MCG[given.unit]
