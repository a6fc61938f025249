"""Which parts of a text stay whole: telephone numbers, amounts with their unit, words of names.

What is kept is neither hyphenated nor broken, and keeps its own order inside a sentence that
is written from right to left.
"""

import re

_TELEPHONE = r"[+(]?\d[\d()./\s-]{5,}\d"
_WORD = r"[^\s-]+"
_PARTS = re.compile(f"{_TELEPHONE}|{_WORD}")
_MEASURE = re.compile(r"\d[\d.,]*[ \u00a0]?(?:°[CF]|%|mg\b|mcg\b|g\b|mL\b)")


def unbroken(text: str) -> tuple[str, ...]:
    """The parts of a record's text: it is broken between words, or after its own hyphens, only.

    No name is hyphenated, least of all by the rules of another language.
    """
    return tuple(_PARTS.findall(text))


def measures(text: str) -> tuple[str, ...]:
    """Amounts with their unit: ``25 °C``, ``5 mg``."""
    return tuple(_MEASURE.findall(text))
