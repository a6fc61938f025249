"""Dates as they are printed: the month in letters, or marked by its own word; never a bare
number between two others, since 03/04 is March in one country and April in the next.

The year is whole, the digits Western (see `labelkit.wording.numbers`), the order CLDR's for
the language. Knows no times of day.
"""

from datetime import date

from babel import Locale
from babel.dates import format_skeleton

WORDED_WHERE_NARROW = frozenset({"de", "en", "es", "fr", "hi", "pl"})
"""Languages whose date in words fits a cell (14.2 mm at 6 pt) in every month (measured)."""


def date_text(day: date, locale: Locale) -> str:
    """CLDR's skeleton ``yMMMd``: ``Jul 14, 2026``, ``14 jul 2026``, ``2026年7月14日``."""
    return format_skeleton("yMMMd", day, locale=locale)


def short_date_text(day: date, locale: Locale) -> str:
    """The same where it is short, else year, month and day in numerals: ``2026-07-14``.

    ISO 8601's order begins with a whole year and is read one way only.
    """
    return date_text(day, locale) if locale.language in WORDED_WHERE_NARROW else day.isoformat()
