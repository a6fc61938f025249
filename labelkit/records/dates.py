"""Dates as records write them: ISO 8601, year first, or another form that has one reading.

A date such as 03/04/27 is refused, never guessed: it is two days in two countries, and a
beyond-use date read the wrong way round keeps a dead medicine in use. 30.12.1957 and 11/23/2026
are one day each; 03.04.2027 is one where the pharmacy declares the form of its dates.
"""

import calendar
import re
from datetime import date, datetime, time

from labelkit.records.faultbook import Unreadable
from labelkit.records.text import shown

FIRST_YEAR = 1900
LAST_YEAR = 2199
"""Years outside are taken for slips of the pen. Our own bound."""

_DAY = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_MONTH = re.compile(r"([0-9]{4})-([0-9]{2})")
_MOMENT = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})[ T]([0-9]{2}):([0-9]{2})")
_NUMBERS = re.compile(r"[0-9]{1,4}[/.\- ][0-9]{1,2}[/.\- ][0-9]{1,4}")
_OTHER = re.compile(r"([0-9]{1,2})([./\-])([0-9]{1,2})\2([0-9]{4})")
FORMS = ("day.month.year", "day/month/year", "day-month-year", "month/day/year")
"""Forms of dates that a pharmacy may declare for its tables."""
_MEND = "write year, month and day in digits, as 2027-05-31 (ISO 8601)"


def day(text: str, form: str = "") -> date:
    """A calendar day written ``YYYY-MM-DD``, in the declared `form` (one of `FORMS`), or so that it
    is one day in every country. Raises Unreadable.
    """
    found = _DAY.fullmatch(text)
    other = _OTHER.fullmatch(text)
    readings = _readings(other, form) if other else []
    if len(readings) == 1 and other:
        return _plausible(text, int(other[4]), *readings[0])
    if not found:
        if _NUMBERS.fullmatch(text):
            raise Unreadable(
                f"{shown(text)} is ambiguous: it may be another day in another country", _MEND
            )
        wrong = "names a month where a day is needed" if _MONTH.fullmatch(text) else "is no date"
        raise Unreadable(f"{shown(text)} {wrong}", _MEND)
    return _plausible(text, *map(int, found.groups()))


def _readings(found: re.Match[str], form: str) -> list[tuple[int, int]]:
    """Month and day, in each way that it may be read; one where the form is declared."""
    first, second = int(found[1]), int(found[3])
    if form and found[2] in form:
        return [(first, second) if form.startswith("month") else (second, first)]
    both = {(second, first), (first, second)}
    return sorted(pair for pair in both if 1 <= pair[0] <= 12)


def day_or_month_end(text: str) -> date:
    """A day, or a month written ``YYYY-MM``, which means its last day. Raises Unreadable.

    The last day of the month: GS1 General Specifications, AI 17, as it read while day 00
    was allowed (130200 is 2013-02-28), and the usual reading of a month-only expiry.
    """
    found = _MONTH.fullmatch(text)
    if not found:
        return day(text)
    year, month = map(int, found.groups())
    if not 1 <= month <= 12:
        raise Unreadable(f"{shown(text)} has no month {month}", _MEND)
    first = _plausible(text, year, month, 1)
    return first.replace(day=calendar.monthrange(year, month)[1])


def moment(text: str) -> datetime:
    """A day and a time by the wall clock, written ``2026-11-02 15:30``. Raises Unreadable."""
    found = _MOMENT.fullmatch(text)
    if not found or int(found[2]) > 23 or int(found[3]) > 59:
        raise Unreadable(
            f"{shown(text)} is no day with a time", "write it as 2026-11-02 15:30 (ISO 8601)"
        )
    return datetime.combine(day(found[1]), time(int(found[2]), int(found[3])))


def _plausible(text: str, year: int, month: int, day_of_month: int) -> date:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise Unreadable(
            f"{shown(text)} lies outside the years {FIRST_YEAR} to {LAST_YEAR}", "check the year"
        )
    try:
        return date(year, month, day_of_month)
    except ValueError:
        raise Unreadable(f"{shown(text)} isn't a day of the calendar", _MEND) from None
