"""Which plural form a count takes: CLDR's categories, in CLDR's order, for whole numbers.

A catalog's texts stand in that order, whatever its header says, so that the header of one
file never governs the texts of another. A header that parts counts otherwise is told by
`labelkit.wording.checking`. Knows no sentence.
"""

from functools import cache

from babel import Locale
from babel.plural import PluralRule, to_gettext

ORDER = ("zero", "one", "two", "few", "many", "other")
"""CLDR's categories, as Unicode Technical Standard #35, part 3, names and orders them."""

MOST_COUNTED = 1000
"""Counts below this decide which categories a language needs. Our own bound: no label counts a
thousand tablets, and the 'many' that Romance languages have for millions is never said."""


@cache
def categories(language: str) -> tuple[str, ...]:
    """The categories that whole numbers under `MOST_COUNTED` take in a language, in order.

    Raises ValueError or babel.UnknownLocaleError for a tag CLDR doesn't have.
    """
    rule = Locale.parse(language, sep="-").plural_form
    used = {rule(count) for count in range(MOST_COUNTED)}
    return tuple(name for name in ORDER if name in used)


def form(language: str, count: int) -> int:
    """The place, among a language's texts, of the one for a count."""
    named = categories(language)
    name = Locale.parse(language, sep="-").plural_form(count)
    return named.index(name) if name in named else len(named) - 1


@cache
def header(language: str) -> str:
    """The language's ``Plural-Forms``, as gettext reads it, written by Babel from CLDR's rules."""
    rules = Locale.parse(language, sep="-").plural_form.rules
    # The last category is gettext's "else": it needs no condition of its own.
    own = {name: rules[name] for name in categories(language)[:-1]}
    return to_gettext(PluralRule(own))
