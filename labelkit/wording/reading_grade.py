"""How hard the English of a leaflet is to read: its Coleman-Liau grade.

Measured on what a patient is told to do and to avoid, without the names of medicines (its
own, and those it must not meet), which nobody can shorten. A figure for leaflets only:
USP <17> advises against such formulas on label text. Measures no other language, and says
nothing of whether a sentence is understood.

Of the published formulas it is one that counts letters: those of syllables need a dictionary
of how each word is said, or guess.
"""

import re
from collections.abc import Mapping

from labelkit.wording.model import Document
from labelkit.wording.statements import Statement

MEASURED = frozenset({"caution", "limit", "peel", "route", "storage"})
"""Classes of statements that tell what to do or to avoid."""

_MEASURED_FACTS = frozenset({"fact:directions", "fact:storage"})

HIGHEST = 6.0
"""Highest grade for a leaflet (AAFP: at or below a 5th- to 6th-grade level)."""

_WORD = re.compile(r"[^\W_]+(?:['’.-][^\W_]+)*")
_END = re.compile(r"(?<!\b[A-Z])[.!?](?=\W*(?:\s|$))")
"""A sentence's end; the stop of an initial, as in U.S., is none."""


def coleman_liau(text: str) -> float:
    """The school grade (United States) of an English text whose sentences end with a full stop,
    ``!`` or ``?``; lower is easier.

    0.0588 · letters per 100 words - 0.296 · sentences per 100 words - 15.8 (Coleman and Liau
    1975, Journal of Applied Psychology 60, 283-284). Digits count as letters. Raises ValueError
    for a text without a word.
    """
    words: list[str] = _WORD.findall(text)
    if not words:
        raise ValueError("a text without a word has no grade")
    letters = sum(character.isalnum() for word in words for character in word)
    sentences = max(1, len(_END.findall(text)))
    grade = (5.88 * letters - 29.6 * sentences) / len(words) - 15.8
    return round(grade, 2)


def reading_grade(document: Document, statements: Mapping[str, Statement], drug: str) -> float:
    """The Coleman-Liau grade of an English document's advice, without the name `drug` and those
    of other medicines.

    Raises ValueError for a document in another language.
    """
    if document.language.split("-")[0] != "en":
        raise ValueError(f"the formula holds for English, not for {document.language}")
    return coleman_liau(advice(document, statements, drug))


def advice(document: Document, statements: Mapping[str, Statement], drug: str) -> str:
    """What the document tells to do and to avoid, a sentence after the other."""
    told: list[str] = []
    for said in (said for block in document.blocks for said in block.said):
        statement = statements.get(said.origin.removeprefix("statement:"))
        if said.origin in _MEASURED_FACTS or (statement and statement.kind in MEASURED):
            names = (drug, *(statement.names if statement else ()))
            told.append(_without(names, said.text.rstrip(".") + "."))
    return "\n".join(told)


def _without(names: tuple[str, ...], text: str) -> str:
    pattern = "|".join(re.escape(name) for name in names)
    return re.sub(rf"\b({pattern})\b", "it", text, flags=re.IGNORECASE)
