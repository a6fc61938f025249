"""Which excipients of a preparation someone must be told of, and by which statement.

Data in ``excipients.toml``. A name is read word by word, so that ``lactose monohydrate`` and
``Aspartame (E951)`` are known; an excipient that no entry names brings no statement.
"""

import re
from functools import cache

from labelkit.records.model import Preparation
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.substances import words

_E_NUMBER = re.compile(r"\be[ -](?=\d)", re.IGNORECASE)


class Excipient(Datum):
    """One excipient with a known effect."""

    id: str
    words: tuple[str, ...]
    """Words of a name that tell it, lower case without accents."""
    statement: str
    severity: int
    source: Source


class Excipients(Datum):
    """The whole list."""

    source: Source
    excipients: tuple[Excipient, ...]


@cache
def excipients() -> tuple[Excipient, ...]:
    """The shipped list."""
    return Excipients.model_validate(load("excipients.toml")).excipients


def of_known_effect(preparation: Preparation) -> tuple[Excipient, ...]:
    """Those of the preparation's excipients that are listed, in the order of the list."""
    held = {
        part
        for name in preparation.excipients
        for word in words(_E_NUMBER.sub("e", name))
        for part in re.split(r"[-.']", word)
    }
    return tuple(one for one in excipients() if not held.isdisjoint(one.words))
