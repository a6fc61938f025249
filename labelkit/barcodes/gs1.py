"""GS1's rules for the element strings labelkit prints: GTIN, character set, dates.

Holds the standard's rules and nothing of symbols. It never corrects a datum: a wrong
check digit means that some digit is wrong, and nobody here knows which.
"""

from labelkit.records.identifiers import GS1_AI_82, check_digit

SERIAL_MOST = 20
"""Longest AI (10) lot and AI (21) serial: ``X..20`` (GS1 Syntax Dictionary)."""

GROUP_SEPARATOR = "\x1d"
"""What a reader sends for an FNC1 between element strings (GS1 General Specifications, 7.8,
from memory)."""

_GTIN_DIGITS = 14


def gtin_wrong(gtin: str) -> str:
    """What is wrong with a GTIN of 14 digits, as a clause; empty when nothing is."""
    if not (gtin.isascii() and gtin.isdigit() and len(gtin) == _GTIN_DIGITS):
        return f"a GTIN here has {_GTIN_DIGITS} digits, not {gtin!r}"
    expected = check_digit(gtin[:-1])
    if int(gtin[-1]) != expected:
        return f"the check digit of GTIN {gtin} is {gtin[-1]}, expected {expected}"
    return ""


def text_wrong(text: str) -> str:
    """What is wrong with a lot or serial as element string data, as a clause; empty if nothing."""
    if not text:
        return "it is empty"
    if len(text) > SERIAL_MOST:
        return f"{text!r} has {len(text)} characters, at most {SERIAL_MOST} are allowed"
    odd = sorted(set(text) - GS1_AI_82)
    if odd:
        named = ", ".join(repr(c) for c in odd)
        return f"{text!r} holds {named}, outside GS1's character set 82"
    return ""


def year_read(two_digits: int, read_in: int) -> int:
    """The year a reader takes a two-digit year for, in the year `read_in`.

    From 49 years back to 50 years ahead (GS1 General Specifications, determination
    of century in dates: 7.12, the section from memory).
    """
    century = read_in - read_in % 100
    ahead = two_digits - read_in % 100
    if ahead >= 51:
        century -= 100
    elif ahead <= -50:
        century += 100
    return century + two_digits
