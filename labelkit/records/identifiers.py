"""Numbers that name things: GTINs, lot numbers, prescription numbers.

Judges their form only. It can't know whether a GTIN was given to this pharmacy.
"""

import re
import string

from labelkit.records.faultbook import Unreadable
from labelkit.records.text import code_point, shown

GS1_AI_82 = frozenset(string.ascii_letters + string.digits + "!\"%&'()*+,-./:;<=>?_")
"""GS1 AI encodable character set 82, which a lot (AI 10) may hold: GS1 General Specifications,
figure 7.11-1 (the number from memory)."""

LOT_MOST = 20
"""AI (10): ``X..20`` (GS1 Syntax Dictionary)."""

RX_MOST = 64
"""Most characters of a prescription number: as long as an id in FHIR R4 (data type id), which
holds a UUID. Where the Code 128 of a long one doesn't fit, the layout refuses that artwork."""

PATIENT_MOST = 64
"""Most characters of a patient's id: as long as a resource's id in FHIR R4 (data type id)."""

_PRINTABLE = frozenset(map(chr, range(0x21, 0x7F)))


def check_digit(digits: str) -> int:
    """The GS1 check digit for the digits before it (GS1 General Specifications, 7.9.1; the section
    from memory).

    Weights 3 and 1 alternate from the right, starting with 3; the digit lifts the sum to
    the next multiple of ten. Raises ValueError for anything but ASCII digits.
    """
    if not (digits.isascii() and digits.isdigit()):
        raise ValueError(f"not all digits: {digits!r}")
    total = sum(int(d) * (3 if i % 2 == 0 else 1) for i, d in enumerate(reversed(digits)))
    return -total % 10


def gtin(text: str) -> str:
    """A GTIN of 14 digits whose check digit is right. Raises Unreadable."""
    if not re.fullmatch(r"[0-9]{14}", text):
        raise Unreadable(
            f"{shown(text)} isn't a GTIN of 14 digits",
            "write all 14 digits, with noughts before a shorter GTIN",
        )
    wanted = check_digit(text[:-1])
    if int(text[-1]) != wanted:
        raise Unreadable(
            f"the check digit of {text} is {text[-1]}; these digits give {wanted}",
            "copy the GTIN anew from where it was assigned",
        )
    return text


def lot_number(text: str) -> str:
    """A lot number that a GS1 code can carry. Raises Unreadable."""
    return _code(text, LOT_MOST, GS1_AI_82, "GS1 allows no such character in a lot number")


def prescription_number(text: str) -> str:
    """A prescription number in printable ASCII without spaces. Raises Unreadable."""
    return _code(
        text, RX_MOST, _PRINTABLE, "a prescription number is printable ASCII without spaces"
    )


def patient_id(text: str) -> str:
    """The id of a patient's entry, in printable ASCII without spaces. Raises Unreadable."""
    return _code(text, PATIENT_MOST, _PRINTABLE, "a patient's id is printable ASCII without spaces")


def _code(text: str, most: int, allowed: frozenset[str], reason: str) -> str:
    for char in text:
        if char not in allowed:
            raise Unreadable(f"holds {code_point(char)}; {reason}", "take that character out")
    if len(text) > most:
        raise Unreadable(f"has {len(text)} characters; the most is {most}", "shorten it")
    return text
