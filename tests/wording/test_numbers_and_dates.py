"""Numbers, amounts and dates: CLDR's signs and order, Western digits, nothing to misread."""

from datetime import date
from decimal import Decimal

import pytest
from babel import UnknownLocaleError
from babel.numbers import parse_decimal
from hypothesis import given
from hypothesis import strategies as st

from labelkit.records.model import Amount, Appearance, Strength, Unit
from labelkit.wording.coverage import languages
from labelkit.wording.dates import date_text, short_date_text
from labelkit.wording.numbers import amount_text, locale_of, number_text, strength_text

LANGUAGES = languages()
AMOUNTS = st.decimals(min_value=0, max_value=99999, places=3, allow_nan=False)
DAYS = st.dates(min_value=date(1900, 1, 1), max_value=date(2099, 12, 31))


@pytest.mark.parametrize(
    ("language", "country", "said"),
    [
        ("en", "us", "1,234.5"),
        ("es", "us", "1,234.5"),
        ("es", "eu", "1.234,5"),
        ("de", "eu", "1.234,5"),
        ("fr", "ca", "1\N{NO-BREAK SPACE}234,5"),
        ("ar", "us", "1,234.5"),
        ("hi", "us", "1,234.5"),
    ],
)
def test_signs_are_those_of_language_and_country(language: str, country: str, said: str) -> None:
    """Decimal sign and grouping as CLDR has them (Unicode CLDR, numbers, latn digits)."""
    assert number_text(Decimal("1234.5"), locale_of(language, country)) == said


@given(AMOUNTS, st.sampled_from(LANGUAGES))
def test_a_number_reads_back_as_itself(value: Decimal, language: str) -> None:
    """Exact, in Western digits: Babel's own parser gets the value back in every locale."""
    locale = locale_of(language, "us")
    said = number_text(value, locale)
    assert parse_decimal(said, locale=locale) == value
    assert all(c in "0123456789" for c in said if c.isdigit())


@given(AMOUNTS)
def test_no_trailing_zero_and_always_a_leading_one(value: Decimal) -> None:
    """ISMP List of Error-Prone Abbreviations 2021: 5, never 5.0; 0.5, never .5."""
    said = number_text(value, locale_of("en"))
    assert said[0].isdigit()
    assert "." not in said or not said.endswith(("0", "."))


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        ("2.50", Unit.MG, "2.5 mg"),
        ("0.5", Unit.MG, "500 mcg"),
        ("0.025", Unit.MG, "25 mcg"),
        ("1", Unit.MG, "1 mg"),
        ("500", Unit.MCG, "500 mcg"),
        ("10000", Unit.MCG, "10,000 mcg"),
    ],
)
def test_amounts_are_written_the_safe_way(value: str, unit: Unit, said: str) -> None:
    """ISMP 2021: a space before the unit, mcg and not the micro sign; under 1 mg in mcg."""
    shown = amount_text(Amount(value=Decimal(value), unit=unit), locale_of("en", "us"))
    assert shown == said.replace(" ", "\N{NO-BREAK SPACE}")


def test_two_ingredients_stand_in_their_order() -> None:
    """A strength of two amounts has a slash between, each with its own unit."""
    both = Strength(
        amounts=(
            Amount(value=Decimal(5), unit=Unit.MG),
            Amount(value=Decimal("0.25"), unit=Unit.MG),
        ),
        appearance=Appearance(colour="white", shape="round"),
    )
    assert strength_text(both, locale_of("en")).replace("\N{NO-BREAK SPACE}", " ") == (
        "5 mg / 250 mcg"
    )


@pytest.mark.parametrize(
    ("language", "country", "said"),
    [
        ("en", "us", "Jul 4, 2026"),
        ("en", "uk", "4 Jul 2026"),
        ("es", "us", "4 jul 2026"),
        ("pt-BR", "us", "4 de jul. de 2026"),
        ("de", "eu", "4. Juli 2026"),
        ("ar", "us", "4 يوليو 2026"),
        ("zh-Hans", "us", "2026年7月4日"),
        ("ko", "us", "2026년 7월 4일"),
    ],
)
def test_dates_have_the_month_in_letters(language: str, country: str, said: str) -> None:
    """CLDR's yMMMd: the month is a word, or marked as the month by one."""
    assert date_text(date(2026, 7, 4), locale_of(language, country)) == said


@given(DAYS, st.sampled_from(LANGUAGES))
def test_no_date_can_be_taken_for_another(day: date, language: str) -> None:
    """Whole year, Western digits, and another text when day and month change places."""
    locale = locale_of(language, "us")
    said = date_text(day, locale)
    assert str(day.year) in said
    assert all(c in "0123456789" for c in said if c.isdigit())
    if day.day <= 12 and day.day != day.month:
        assert said != date_text(day.replace(month=day.day, day=day.month), locale)


def test_a_tag_that_cldr_does_not_know_is_refused() -> None:
    """No locale is guessed."""
    with pytest.raises(UnknownLocaleError, match="unknown locale"):
        locale_of("xx-YY")


@given(DAYS, st.sampled_from(LANGUAGES))
def test_a_short_date_reads_back_as_itself(day: date, language: str) -> None:
    """In little room a date is in words or in ISO 8601's order, which `date` itself reads."""
    locale = locale_of(language, "us")
    said = short_date_text(day, locale)
    assert said == date_text(day, locale) or date.fromisoformat(said) == day
    if language in ("ko", "pt-BR", "ru", "zh-Hans"):
        assert said == f"{day.year}-{day.month:02}-{day.day:02}"
