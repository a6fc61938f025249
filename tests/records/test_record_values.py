"""Dates, amounts and identifiers are read exactly, checked with figures from outside."""

import calendar
import re
import unicodedata
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from biip.checksums import gs1_standard_check_digit
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from hypothesis import given
from hypothesis import strategies as st

from labelkit.records import amounts, dates, identifiers
from labelkit.records.faultbook import Unreadable
from labelkit.records.model import Amount, Unit
from labelkit.records.text import clean

MCG = {"mcg": 1, "mg": 1000, "g": 1_000_000}
"""Micrograms in each unit (SI Brochure, 9th edition, table 7: prefixes)."""


@pytest.mark.parametrize(
    ("digits", "check"), [("629104150021", 3), ("730001100001", 7), ("890400021003", 7)]
)
def test_check_digits_of_worked_examples(digits: str, check: int) -> None:
    """629104150021 gives 3 (worked example of gs1.org, sum 57); the others by hand."""
    assert identifiers.check_digit(digits) == check


@given(st.text("0123456789", min_size=13, max_size=13))
def test_gtins_agree_with_another_library(digits: str) -> None:
    """biip works out the same digit, and no other digit is taken."""
    right = gs1_standard_check_digit(digits)
    for last in range(10):
        if last == right:
            assert identifiers.gtin(f"{digits}{last}") == f"{digits}{last}"
        else:
            with pytest.raises(Unreadable, match=f"give {right}"):
                identifiers.gtin(f"{digits}{last}")


@pytest.mark.parametrize("wrong", ["9521234543213", "0952123454321A", "٠٩٥٢١٢٣٤٥٤٣٢١٣", ""])
def test_gtins_are_14_digits(wrong: str) -> None:
    """Fewer digits, letters and digits of other scripts are refused."""
    with pytest.raises(Unreadable):
        identifiers.gtin(wrong)


@given(st.text(st.characters(max_codepoint=0x17F), min_size=1, max_size=24))
def test_lot_numbers_are_what_gs1_allows(text: str) -> None:
    """A lot number is taken exactly where the GS1 pattern of AI (10), as biip has it, matches."""
    pattern = GS1ApplicationIdentifier.extract("10").pattern
    allowed = re.fullmatch(pattern, f"10{text}") is not None and "\n" not in text
    if allowed:
        assert identifiers.lot_number(text) == text
    else:
        with pytest.raises(Unreadable):
            identifiers.lot_number(text)


def test_the_set_of_lot_characters_has_82() -> None:
    """GS1 AI encodable character set 82 (GS1 General Specifications, figure 7.11-1)."""
    assert len(identifiers.GS1_AI_82) == 82


@pytest.mark.parametrize("wrong", ["1 2", "é1", "1\x7f", "x" * 65])
def test_prescription_numbers_are_printable_ascii(wrong: str) -> None:
    """Spaces, letters beyond ASCII, control characters and more than 64 are refused."""
    with pytest.raises(Unreadable):
        identifiers.prescription_number(wrong)


@pytest.mark.parametrize(
    ("text", "thousands", "decimal"),
    [("1.000", "1000", "1"), ("2.500", "2500", "2.5"), ("12.125", "12125", "12.1250")],
)
def test_a_point_before_three_digits_has_two_readings(
    text: str, thousands: str, decimal: str
) -> None:
    """1.000 is one in one country and a thousand in another: refused with both ways to write it,
    which are read as they stand."""
    with pytest.raises(Unreadable) as refusal:
        amounts.amount(f"{text} mg")
    assert f"'{thousands}'" in refusal.value.mend and f"'{decimal}'" in refusal.value.mend
    mg = amounts.in_mcg(amounts.amount(f"{decimal} mg")) / 1000
    assert mg == Decimal(text)
    assert amounts.in_mcg(amounts.amount(f"{thousands} mg")) / 1000 == Decimal(text) * 1000


@pytest.mark.parametrize("text", ["0.125", "1.0", "1.00", "1.0000", "1000.000", "2.5"])
def test_other_points_have_one_reading(text: str) -> None:
    """A nought before the point, or another number of digits behind it, sets no thousands apart."""
    assert amounts.unambiguous(text) == text


@given(st.dates(date(1900, 1, 1), date(2199, 12, 31)))
def test_days_come_back(day: date) -> None:
    """Each day, written as ISO 8601 has it, is that day."""
    assert dates.day(day.isoformat()) == day
    assert dates.day_or_month_end(day.isoformat()) == day


@pytest.mark.parametrize(
    ("month", "last"), [("2013-02", date(2013, 2, 28)), ("2016-02", date(2016, 2, 29))]
)
def test_a_month_is_its_last_day(month: str, last: date) -> None:
    """130200 is 2013-02-28 and 160200 is 2016-02-29 (GS1, AI 17 while day 00 was allowed)."""
    assert dates.day_or_month_end(month) == last


@given(st.integers(1900, 2199), st.integers(1, 12))
def test_month_ends_agree_with_the_calendar(year: int, month: int) -> None:
    """The day after a month's end is the first of a month."""
    end = dates.day_or_month_end(f"{year}-{month:02d}")
    assert (end.year, end.month) == (year, month)
    assert end.day == max(day for day in calendar.Calendar().itermonthdays(year, month))


@pytest.mark.parametrize(
    "text", ["03/04/27", "3/4/2027", "03.04.2027", "03-04-27", "2027/04/03", "27 04 03"]
)
def test_ambiguous_dates_are_said_to_be(text: str) -> None:
    """Numbers in another order or with other separators are refused as ambiguous."""
    with pytest.raises(Unreadable, match="ambiguous"):
        dates.day(text)


@pytest.mark.parametrize(
    "text",
    ["2026-02-29", "2026-13-01", "2026-00-10", "2026-1-1", "20261101", "1899-12-31", "2200-01-01",
     "Nov 3 2026", "٢٠٢٦-١١-٠٣", "2026-11-03T00:00", "2027-05", ""],
)  # fmt: skip
def test_what_is_no_day_is_refused(text: str) -> None:
    """Days no calendar has, other forms, other digits, a month where a day is needed."""
    with pytest.raises(Unreadable):
        dates.day(text)


@given(st.text(max_size=12))
def test_dates_are_read_or_refused(text: str) -> None:
    """Any text is a date or Unreadable."""
    try:
        assert dates.day_or_month_end(text) >= date(1900, 1, 1)
    except Unreadable as reason:
        assert reason.wrong and reason.mend


decimals = st.decimals(min_value=Decimal("0.000001"), max_value=Decimal("999"), places=6).filter(
    lambda d: d > 0
)


@given(decimals, st.sampled_from(sorted(MCG)))
def test_amounts_are_exact(value: Decimal, unit: str) -> None:
    """Written in any unit, an amount is the same number of micrograms, to the last digit."""
    read = amounts.amount(f"{value:f} {unit}")
    assert Fraction(read.value) * MCG[read.unit.value] == Fraction(value) * MCG[unit]


@given(decimals, st.sampled_from(sorted(MCG)))
def test_equal_amounts_have_one_label(value: Decimal, unit: str) -> None:
    """The same amount in another unit has the same label, with no trailing nought, no naked
    point, and mcg below 1 mg (ISMP 2021; shown in mcg below 1 mg)."""
    labels = {
        amounts.label(amounts.amounts(f"{value * MCG[unit] / MCG[other]:f} {other}"))
        for other in MCG
        if len(f"{value * MCG[unit] / MCG[other]:f}".partition(".")[2]) <= 9
    }
    assert len(labels) == 1
    (label,) = labels
    digits, shown_unit = label.split(" ")
    assert not digits.startswith(".") and not re.search(r"\.\d*0$|\.$", digits)
    assert (shown_unit == "mcg") == (value * MCG[unit] < 1000)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("2.5 mg", "2.5", Unit.MG),
        ("2.50mg", "2.5", Unit.MG),
        ("0.5 mg", "500", Unit.MCG),
        ("500 mcg", "500", Unit.MCG),
        ("1000 mcg", "1", Unit.MG),
        ("0.25 g", "250", Unit.MG),
        ("2.5\u00a0mg", "2.5", Unit.MG),
    ],
)
def test_amounts_by_hand(text: str, value: str, unit: Unit) -> None:
    """Amounts worked out by hand."""
    assert amounts.amount(text) == Amount(value=Decimal(value), unit=unit)


@pytest.mark.parametrize(
    "text",
    ["500 µg", "500 μg", "500 ug", "5 U", "5 IU", "5 [iU]", ".5 mg", "5. mg", "2,5 mg", "1,000 mg",
     "-5 mg", "5e3 mg", "mg", "5", "5 mL", "5 mg.", "٥ mg", "0 mg", "5 mg/mL", "5 MG", ""],
)  # fmt: skip
def test_misleading_amounts_are_refused(text: str) -> None:
    """Error-prone units and numbers (ISMP 2021) are refused."""
    with pytest.raises(Unreadable):
        amounts.amounts(text)


@given(st.text(max_size=16))
def test_amounts_are_read_or_refused(text: str) -> None:
    """Any text is an amount above nought or Unreadable."""
    try:
        assert all(amount.value > 0 for amount in amounts.amounts(text))
    except Unreadable as reason:
        assert reason.wrong and reason.mend


@given(st.text(max_size=60))
def test_clean_text_is_normal_visible_and_settled(text: str) -> None:
    """What is let through is NFC, of one line, without invisible marks, and cleans to itself."""
    try:
        kept = clean(text)
    except Unreadable as reason:
        assert "U+" in reason.wrong
        return
    assert unicodedata.is_normalized("NFC", kept)
    assert clean(kept) == kept
    kinds = {unicodedata.category(char) for char in kept if char not in "\u200c\u200d"}
    assert not kinds & {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
