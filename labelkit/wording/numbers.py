"""Numbers and amounts as they are printed. Refuses no number, rounds none.

Western digits in every language, because a person in an emergency compares the figure on
the leaflet with the one on the card and with the prescriber's, across languages, and a
digit that looks like another (Arabic-Indic five is a small circle) is a wrong dose.
Decimal signs and grouping follow CLDR for the language and country.

A strength is written one way on all faces of one pharmacy, as its own language writes it,
because the patient matches the leaflet with the card. Units keep their international
symbols for the same reason; micrograms are ``mcg`` (ISMP 2021: the micro sign is misread).
"""

from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache

from babel import Locale, UnknownLocaleError
from babel.numbers import format_decimal

from labelkit.records.model import Amount, Strength, Unit

NBSP = "\N{NO-BREAK SPACE}"
"""Between a number and its unit (ISMP 2021: a space; unbreakable so that no line parts them)."""

_TERRITORY = {"us": "US", "ca": "CA", "uk": "GB"}
"""Country profiles that are one country; the others leave the language's default."""


@lru_cache(maxsize=64)
def locale_of(language: str, country: str = "") -> Locale:
    """Babel's locale of a BCP 47 tag, with the country's habits where CLDR knows them.

    Spanish in the United States writes 2.5, in Spain 2,5. Raises ValueError or
    babel.UnknownLocaleError for a tag CLDR doesn't have.
    """
    locale = Locale.parse(language, sep="-")
    territory = _TERRITORY.get(country)
    if territory is None or locale.territory is not None:
        return locale
    try:
        return Locale(locale.language, territory=territory, script=locale.script)
    except UnknownLocaleError:
        return locale


def regional(language: str, country: str) -> str:
    """The tag whose words come first in a country: ``en`` in the profile ``uk`` is ``en-GB``.

    A tag that names a script or region already stays as it is.
    """
    territory = _TERRITORY.get(country)
    return language if territory is None or "-" in language else f"{language}-{territory}"


def number_text(value: Decimal | int, locale: Locale) -> str:
    """The number with the locale's signs and Western digits, no trailing zeros, exact."""
    exact = Decimal(value).normalize()
    exponent = exact.as_tuple().exponent
    places = max(0, -exponent) if isinstance(exponent, int) else 0
    pattern = "#,##0" + ("." + "#" * places if places else "")
    return format_decimal(
        exact, format=pattern, locale=locale, decimal_quantization=False, numbering_system="latn"
    )


def amount_text(amount: Amount, locale: Locale) -> str:
    """``2.5 mg``; under 1 mg in micrograms (``500 mcg``), with a space that doesn't break."""
    value, unit = amount.value, amount.unit
    if unit is Unit.MG and 0 < value < 1:
        value, unit = value * 1000, Unit.MCG
    return f"{number_text(value, locale)}{NBSP}{unit.value}"


def strength_text(strength: Strength, locale: Locale) -> str:
    """The amounts of all active ingredients, in their order, with a slash between."""
    return amounts_text(strength.amounts, locale)


def amounts_text(amounts: Iterable[Amount], locale: Locale) -> str:
    """Amounts of several ingredients in the order given, with a slash between."""
    return " / ".join(amount_text(amount, locale) for amount in amounts)
