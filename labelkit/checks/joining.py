"""Whether joined scripts are joined: Arabic letters that touch, Indic signs in their place.

A program that doesn't shape text prints every letter by itself. A search still finds the
words, and a reader can't read them. So joining letters must touch, a vowel sign that is
written before its consonant must stand before it, and no virama may stand by itself
between two consonants.
"""

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import Characters
from labelkit.checks.order import Order

TOUCHING_EM = 0.01
"""Joined letters overlap by some hundredths of an em; isolated forms keep side bearings."""

BEFORE_EM = 0.1
"""How far right of its consonant's left edge a sign that is written before it may begin."""

_ARABIC = ("\u0620", "\u06d3")
_JOIN_BACKWARD_ONLY = frozenset("اأإآٱدذرزوؤةژڑڈےۓ")
_NOT_JOINED = frozenset("ء")
"""Joining types R and U of the letters of Arabic, Persian and Urdu: Unicode, ArabicShaping."""

_WRITTEN_BEFORE = frozenset("\u093f\u09bf\u09c7\u09c8\u0a3f\u0abf\u0bc6\u0bc7\u0bc8")
"""Vowel signs written before their consonant: Unicode, Indic_Positional_Category Left."""

_VIRAMAS = frozenset("\u094d\u09cd\u0a4d\u0acd")


def unjoined(characters: Characters, order: Order) -> NDArray[np.bool_]:
    """For each character, whether it stands apart from the one it must join, or in the wrong
    place of its syllable."""
    codes = characters.codes
    apart = np.zeros(len(codes), dtype=np.bool_)
    if not any(code > "\u0600" for code in codes):
        return apart
    for index in range(1, len(codes)):
        code = codes[index]
        if code < "\u0600" or characters.parted[index]:
            continue
        if _ARABIC[0] <= code <= _ARABIC[1]:
            apart[index] = _joins(codes[index - 1], code) and (
                order.starts[index - 1] - order.ends[index] > TOUCHING_EM * order.em[index]
            )
        elif code in _WRITTEN_BEFORE:
            late = order.starts[index] - order.starts[index - 1]
            apart[index] = late > BEFORE_EM * order.em[index]
        elif code in _VIRAMAS and index + 1 < len(codes) and codes[index + 1].isalpha():
            apart[index] = not characters.parted[index + 1] and bool(
                (characters.boxes[index] != characters.boxes[index - 1]).any()
            )
    return apart


def _joins(first: str, second: str) -> bool:
    """Whether an Arabic letter joins the next one."""
    return (
        _ARABIC[0] <= first <= _ARABIC[1]
        and first.isalpha()
        and second.isalpha()
        and first not in _JOIN_BACKWARD_ONLY | _NOT_JOINED
        and second not in _NOT_JOINED
    )
