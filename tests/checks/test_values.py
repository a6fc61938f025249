"""Values out of printed text: dates as Babel writes them in many languages, amounts, lots."""

from datetime import date
from decimal import Decimal

import pytest
from babel.dates import format_date
from babel.numbers import format_decimal
from hypothesis import given
from hypothesis import strategies as st

from labelkit.checks.streams import normal
from labelkit.checks.values import alike, amounts_in, dates_in, numbers_in, words_in

LANGUAGES = (
    "en",
    "es",
    "fr",
    "de",
    "pt",
    "it",
    "ru",
    "pl",
    "vi",
    "zh",
    "ko",
    "ar",
    "hi",
    "he",
    "uk",
    "fil",
)
days = st.dates(date(2020, 1, 1), date(2049, 12, 31))


@given(day=days, language=st.sampled_from(LANGUAGES), form=st.sampled_from(("long", "d MMM y")))
def test_dates_with_month_names_are_read(day: date, language: str, form: str) -> None:
    """A date as CLDR writes it with its month's name reads back to that date and no other."""
    said = format_date(day, form, locale=language)
    read = {found.value for found in dates_in(normal(f"x {said} y"), (language,))}
    assert read == {day.isoformat()}


@given(day=days, sign=st.sampled_from("-/."))
def test_iso_order_is_read(day: date, sign: str) -> None:
    """Year, month, day in digits are read whatever the language."""
    said = day.strftime(f"%Y{sign}%m{sign}%d")
    assert [found.value for found in dates_in(f"Use by {said}.", ())] == [day.isoformat()]


@pytest.mark.parametrize("text", ["03/04/27", "03/04/2027", "2027-13-01", "2027-02-30", "May 2027"])
def test_what_is_no_certain_date_is_not_read(text: str) -> None:
    """Ambiguous, impossible and incomplete dates give nothing."""
    assert dates_in(text, ("en",)) == ()


def test_languages_matter() -> None:
    """A month's name is read in its own language only."""
    assert dates_in("24 mayo 2027", ("en",)) == ()
    assert [f.value for f in dates_in("24 mayo 2027", ("en", "es"))] == ["2027-05-24"]


@given(
    amount=st.decimals("0.001", "99999", places=3, allow_nan=False),
    language=st.sampled_from(("en", "es", "fr", "de", "ru", "ar", "hi")),
)
def test_amounts_are_read_in_each_language(amount: Decimal, language: str) -> None:
    """A number as CLDR writes it, with mg behind it, gives that amount among its readings."""
    said = format_decimal(amount, "#,##0.###", locale=language)
    read = {f.value for f in amounts_in(normal(f"x {said}\u00a0mg y"), (language,))}
    assert f"{amount.normalize():f} mg" in read
    assert len(read) <= (2 if amount < 1000 else 4)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("50 mg", ["50 mg"]),
        ("50mg", ["50 mg"]),
        ("50\u00a0mg tablet", ["50 mg"]),
        ("2.5 mg", ["2.5 mg"]),
        ("2,5 mg", ["2.5 mg"]),
        (".5 mg", ["0.5 mg"]),
        ("5.0 mg", ["5 mg"]),
        ("1,000 mcg", ["1 mcg", "1000 mcg"]),
        ("250 µg", ["250 mcg"]),
        ("100 units", ["100 units"]),
        ("5 mgs", []),
        ("mg 50", []),
        ("TV2611 mg", []),
    ],
)
def test_amounts(text: str, expected: list[str]) -> None:
    """Amounts with their units; a comma that may be either mark gives both numbers."""
    assert [f.value for f in amounts_in(normal(text), ("en", "es"))] == expected


def test_lots_alike() -> None:
    """Words of the lot's own shape are lots; longer words that hold one are not."""
    text = "Lot TV2611 (10)TV2612(21)TV2613-0001 XTV2614 TV26155 tv2616"
    assert [f.value for f in alike(text, "TV2611")] == ["TV2611", "TV2612", "TV2613", "tv2616"]


def test_numbers_and_words() -> None:
    """Whole numbers and words stand by themselves."""
    assert [f.value for f in numbers_in("pack 1 of 3, 10 tablets, 2.5 mg, B12")] == ["1", "3", "10"]
    assert [f.value for f in words_in("Sildenafil 50 mg, sildenafilX", "sildenafil")] == [
        "sildenafil"
    ]
