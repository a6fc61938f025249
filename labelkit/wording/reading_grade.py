"""How hard the English of a leaflet is to read: Flesch-Kincaid grade and SMOG.

Measured on what a patient is told to do and to avoid, without the names of medicines (its
own, and those it must not meet), which nobody can shorten. A figure for leaflets only:
USP <17> advises against such formulas on label text. Measures no other language, and says
nothing of whether a sentence is understood.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import textstat

from labelkit.wording.model import Document
from labelkit.wording.statements import Statement

MEASURED = frozenset({"caution", "limit", "peel", "route", "storage"})
"""Classes of statements that tell what to do or to avoid."""

_MEASURED_FACTS = frozenset({"fact:directions", "fact:storage"})

HIGHEST = 6.0
"""Highest grade for a leaflet (AAFP: at or below a 5th- to 6th-grade level)."""


@dataclass(frozen=True, slots=True)
class ReadingGrade:
    """School grades of the United States; lower is easier."""

    flesch_kincaid: float
    """0.39 · words per sentence + 11.8 · syllables per word - 15.59 (Kincaid et al. 1975)."""
    smog: float
    """1.0430 · sqrt(words of 3 or more syllables · 30 / sentences) + 3.1291 (McLaughlin 1969);
    normed on 30 sentences and more."""
    sentences: int


@lru_cache(maxsize=64)
def measure(text: str) -> ReadingGrade:
    """Grades of an English text whose sentences end with a full stop, ``!`` or ``?``."""
    return ReadingGrade(
        flesch_kincaid=round(float(textstat.flesch_kincaid_grade(text)), 2),
        smog=round(float(textstat.smog_index(text)), 2),
        sentences=int(textstat.sentence_count(text)),
    )


def reading_grade(
    document: Document, statements: Mapping[str, Statement], drug: str
) -> ReadingGrade:
    """Grades of an English document's advice, without the name `drug` and other medicines'.

    Raises ValueError for a document in another language.
    """
    if document.language.split("-")[0] != "en":
        raise ValueError(f"the formulas hold for English, not for {document.language}")
    return measure(advice(document, statements, drug))


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
