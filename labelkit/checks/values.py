"""Parses values back out of printed text: amounts, dates, lots, numbers.

Reads what stands there and knows nothing of what was meant to; the comparison with the
record is the caller's. Month names and unit names come from CLDR through Babel, so that a
date is read by other data than the text it was written with needs to be.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache
from unicodedata import decimal

from babel import Locale, UnknownLocaleError
from babel.dates import get_month_names
from babel.units import UnknownUnitError, format_unit

from labelkit.checks.streams import normal

_UNITS = {
    "mcg": "mass-microgram",
    "mg": "mass-milligram",
    "g": "mass-gram",
    "mL": "volume-milliliter",
}
"""Units of strengths, and CLDR's names of them."""

_EVERYWHERE = {"mcg": "mcg", "mg": "mg", "g": "g", "ml": "mL", "units": "units", "unit": "units"}
"""Spellings that are read whatever the language (ISMP, List of Error-Prone Abbreviations,
2021, asks for ``mcg``, ``mL`` and ``units``)."""

_NUMBER = r"(?:\d{1,3}(?: \d{3})+(?:[.,\u066b]\d+)?|[.,]?\d+(?:[.,'\u066b\u066c]\d+)*)"
"""Digits with marks. Spaces may part thousands, or part a number from another before it."""

_ISO = re.compile(r"(?<!\d)(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?![\d])")
_MARKED = re.compile(
    "".join(
        rf"(\d{{{length}}})\s?(?:{marks[0]}|{normal(marks[1])})\s?"
        for length, marks in (("4", "年년"), ("1,2", "月월"), ("1,2", "日일"))
    )
)
"""Year, month and day each with its mark: Chinese, Japanese, Korean."""

_GLUE = r"[\s.,\u060c/-]*(?:(?:de|del|di|of|ng|ngày|năm|ika|الموافق)\b)?[\s.,\u060c/-]*"
"""What may stand between day, month and year when the month is a name."""


@dataclass(frozen=True, slots=True)
class Found:
    """One value and where it stood in the text."""

    value: str
    begin: int
    end: int


def western(text: str) -> str:
    """The text with every script's decimal digits as 0 to 9, character for character."""
    if text.isascii():
        return text
    return "".join(c if c.isascii() or not c.isdecimal() else str(decimal(c)) for c in text)


@lru_cache(maxsize=4096)
def dates_in(text: str, languages: tuple[str, ...]) -> tuple[Found, ...]:
    """Every date written with its month's name or in ISO order, as ISO. No other is read:
    03/04/27 is two dates."""
    plain = western(text)
    found = [_found(m, m.group(1), m.group(2), m.group(3)) for m in _ISO.finditer(plain)]
    found += [_found(m, m.group(1), m.group(2), m.group(3)) for m in _MARKED.finditer(plain)]
    lowered = plain.lower()
    for language in languages:
        months, patterns = _month_patterns(language)
        for pattern in patterns:
            for match in pattern.finditer(lowered):
                month = months[match.group("m")]
                found.append(_found(match, match.group("y"), str(month), match.group("d")))
    return tuple(sorted({f for f in found if f}, key=lambda f: (f.begin, f.end)))


def _found(match: re.Match[str], year: str, month: str, day: str) -> Found | None:
    try:
        value = date(int(year), int(month), int(day))
    except ValueError:
        return None
    return Found(value.isoformat(), match.start(), match.end())


@lru_cache(maxsize=64)
def _month_patterns(language: str) -> tuple[dict[str, int], tuple[re.Pattern[str], ...]]:
    """A language's month names, and patterns for day-month-year, month-day-year, year-first."""
    locale = _locale(language)
    names: dict[str, int] = {}
    if locale is not None:
        for width in ("wide", "abbreviated"):
            for context in ("format", "stand-alone"):
                for number, name in get_month_names(width, context, locale).items():
                    names[normal(name).lower().rstrip(".")] = number
    if not names:
        return {}, ()
    month = "\u05d1?(?P<m>" + "|".join(sorted(map(re.escape, names), key=len, reverse=True)) + ")"
    # Hebrew puts its "in" (bet) before the month without a space.
    day, year = r"(?<!\d)(?P<d>\d{1,2})(?!\d)", r"(?<!\d)(?P<y>\d{4})(?!\d)"
    after = r"(?![^\W\d_])"
    orders = (
        day + _GLUE + month + after + _GLUE + year,
        month + after + _GLUE + day + _GLUE + year,
        year + _GLUE + month + after + _GLUE + day,
    )
    return names, tuple(re.compile(order) for order in orders)


@lru_cache(maxsize=4096)
def amounts_in(text: str, languages: tuple[str, ...]) -> tuple[Found, ...]:
    """Every number with a unit of a strength, as ``2.5 mg``.

    Where a mark may be a decimal or a thousands mark, both readings are given. Kept for
    texts seen before: the cells of a sheet say the same.
    """
    plain = western(text)
    spellings, pattern = _amount_pattern(languages)
    found: list[Found] = []
    for match in pattern.finditer(plain):
        unit = spellings[match.group(2).lower()]
        found.extend(
            Found(f"{number:f} {unit}", match.start(), match.end())
            for number in _readings(match.group(1))
        )
    return tuple(found)


def _readings(digits: str) -> Iterator[Decimal]:
    """The numbers that digits with marks may mean, without trailing noughts."""
    seen = set()
    for written in {digits.replace(" ", ""), digits.rpartition(" ")[2]}:
        for mark, thousands in ((".", ",'\u066c"), (",\u066b", ".'\u066c")):
            whole, *rest = re.split(f"[{mark}]", written)
            groups = re.split(f"[{re.escape(thousands)}]", whole)
            if len(rest) <= 1 and all(g.isdigit() for g in rest) and _are_thousands(groups):
                seen.add(Decimal("".join(groups) + "." + "".join(rest)))
    yield from sorted({number.normalize() for number in seen})


def _are_thousands(groups: list[str]) -> bool:
    """Whether groups of digits are a number with its thousands marked."""
    first, *others = groups
    if not others:
        return first == "" or first.isdigit()
    return 1 <= len(first) <= 3 and all(len(g) == 3 and g.isdigit() for g in others)


@lru_cache(maxsize=64)
def _amount_pattern(languages: tuple[str, ...]) -> tuple[dict[str, str], re.Pattern[str]]:
    """Spellings of units in some languages, and the pattern of a number with one of them."""
    spellings = _unit_spellings(languages)
    units = "|".join(sorted(map(re.escape, spellings), key=len, reverse=True))
    pattern = re.compile(rf"(?<![A-Za-z\d.,])({_NUMBER})\s?({units})(?![^\W\d_])", re.IGNORECASE)
    return spellings, pattern


def _unit_spellings(languages: tuple[str, ...]) -> dict[str, str]:
    """Lower-case spellings of the units in some languages, in the streams' normal form."""
    spellings = {normal(name).lower(): unit for name, unit in _EVERYWHERE.items()}
    for language in languages:
        locale = _locale(language)
        for unit, name in _UNITS.items() if locale is not None else ():
            for length in ("long", "short", "narrow"):
                for count in (0, 1, 2, 3, 5, 11, 100):
                    try:
                        said = format_unit(count, name, length=length, locale=locale)
                    except UnknownUnitError:
                        continue
                    word = re.sub(r"[\d\s]+", " ", western(normal(said))).strip().lower()
                    if word and name not in said:
                        spellings[word] = unit
    return spellings


def _locale(language: str) -> Locale | None:
    try:
        return Locale.parse(language, sep="-")
    except (UnknownLocaleError, ValueError):
        return None


@lru_cache(maxsize=256)
def shape_of(value: str) -> re.Pattern[str]:
    """The pattern of values that look like this one: a letter for a letter, a digit for a
    digit, other signs as they are; not inside a longer word."""
    parts = []
    for character in value:
        if character.isdigit():
            parts.append(r"\d")
        elif character.isalpha():
            parts.append(r"[^\W\d_]")
        else:
            parts.append(re.escape(character))
    return re.compile(rf"(?<!\w){''.join(parts)}(?!\w)")


def alike(text: str, value: str) -> tuple[Found, ...]:
    """Every word of the text that looks like the value: the value itself, or another one."""
    plain = western(text)
    return tuple(Found(m.group(), m.start(), m.end()) for m in shape_of(value).finditer(plain))


def words_in(text: str, words: str) -> tuple[Found, ...]:
    """Where these words stand, whatever their case, case-folded."""
    pattern = re.compile(rf"(?<!\w){re.escape(words.casefold())}(?!\w)")
    return tuple(Found(m.group(), m.start(), m.end()) for m in pattern.finditer(text.casefold()))


def numbers_in(text: str) -> tuple[Found, ...]:
    """Every whole number that isn't part of a longer one or of a word."""
    pattern = re.compile(r"(?<![\w.,])\d+(?![\w]|[.,]\d)")
    return tuple(Found(m.group(), m.start(), m.end()) for m in pattern.finditer(western(text)))
