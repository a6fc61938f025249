"""Parsing payloads: against biip (a reader of GS1 element strings by others) and the standards."""

from datetime import date

import pytest
from biip.gs1_messages import GS1Message
from hypothesis import given
from hypothesis import strategies as st

from labelkit.checks.payloads import (
    PayloadError,
    check_digit,
    element_strings,
    envelope_fields,
    gs1_fields,
)

SET_82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
texts = st.text(SET_82, min_size=1, max_size=20)
days = st.dates(date(2000, 1, 1), date(2049, 12, 31))
gtins = st.from_regex(r"[0-9]{13}", fullmatch=True).map(lambda d: d + str(check_digit(d)))


@pytest.mark.parametrize(
    ("digits", "expected"),
    [("629104150021", 3), ("730001100001", 7), ("890400021003", 7), ("0952123454321", 3)],
)
def test_check_digits(digits: str, expected: int) -> None:
    """Check digits of published numbers: the first is gs1.org's own worked example (sum 57)."""
    assert check_digit(digits) == expected


@given(gtin=gtins, day=days, lot=texts, serial=texts)
def test_element_strings_read_as_biip_reads_them(
    gtin: str, day: date, lot: str, serial: str
) -> None:
    """Every element string has the AI and data that biip finds."""
    payload = f"01{gtin}17{day:%y%m%d}10{lot}\x1d21{serial}"
    read = GS1Message.parse(payload)
    assert element_strings(payload) == tuple(
        (element.ai.ai, element.value) for element in read.element_strings
    )


@given(gtin=gtins, day=days, lot=texts, serial=texts)
def test_fields_are_the_record_again(gtin: str, day: date, lot: str, serial: str) -> None:
    """Fields come back as they went in, the day with its century."""
    payload = f"01{gtin}17{day:%y%m%d}10{lot}\x1d21{serial}"
    assert gs1_fields(payload, 2026) == {
        "gtin": gtin,
        "beyond_use": day.isoformat(),
        "lot": lot,
        "serial": serial,
    }


@given(day=days, lot=st.from_regex(r"[A-Z0-9-]{1,20}", fullmatch=True), serial=texts)
def test_an_envelope_is_the_record_again(day: date, lot: str, serial: str) -> None:
    """ISO/IEC 15434 format 06 comes back as it went in; built here by its text, section 5."""
    payload = f"[)>\x1e06\x1d1T{lot}\x1d14D{day:%Y%m%d}\x1dS{serial}\x1e\x04"
    assert envelope_fields(payload, 2026) == {
        "lot": lot,
        "beyond_use": day.isoformat(),
        "serial": serial,
    }


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(payload: str) -> None:
    """No payload brings anything but fields or a PayloadError."""
    for parse in (gs1_fields, envelope_fields):
        try:
            assert parse(payload, 2026)
        except PayloadError as error:
            assert str(error)


@given(st.text(SET_82 + "\x1d", max_size=40), gtins)
def test_what_is_accepted_biip_accepts_too(rest: str, gtin: str) -> None:
    """The parser here is never laxer than biip in what it splits."""
    payload = f"01{gtin}{rest}"
    try:
        ours = element_strings(payload)
    except PayloadError:
        return
    if all(ai in ("01", "10", "21", "22", "240", "241", "250", "90") for ai, _ in ours):
        theirs = GS1Message.parse(payload)
        assert ours == tuple((e.ai.ai, e.value) for e in theirs.element_strings)


@pytest.mark.parametrize(
    ("payload", "why"),
    [
        ("", "is empty"),
        ("17270524", "has no GTIN: AI 10 and 17 mean nothing without AI 01"),
        ("0109521234543214", "GTIN 09521234543214 has a wrong check digit"),
        ("010952123454321317270500", "date '270500' names no day"),
        ("010952123454321317271324", "date '271324' names no day"),
        ("010952123454321317270230", "date '270230' names no day"),
        ("0109521234543213" * 2, "AI 01 stands twice"),
        ("010952123454321310", "AI 10 has 0 characters, not 1 to 20"),
        ("0109521234543213" + "10" + "A" * 21, "AI 10 has 21 characters, not 1 to 20"),
        ("010952123454321310TV 2611", "AI 10 has characters outside GS1's set 82"),
        ("010952123454321310TV2611\x1d", "ends with a separator"),
        ("0109521234543", "AI 01 wants 14 digits"),
        ("5509521234543213", "has no known application identifier at '5509'"),
    ],
)
def test_wrong_element_strings_are_refused(payload: str, why: str) -> None:
    """Each fault is named. Day 00 is no longer valid for regulated healthcare (since 2025)."""
    with pytest.raises(PayloadError, match=f"^{why.replace('(', '[(]')}"):
        gs1_fields(payload, 2026)


@pytest.mark.parametrize(
    "payload",
    [
        "",
        "1TTV2611",
        "[)>\x1e05\x1d1TTV2611\x1e\x04",
        "[)>\x1e06\x1d1TTV2611\x1e",
        "[)>\x1e06\x1d1TTV2611\x1d1TTV2612\x1e\x04",
        "[)>\x1e06\x1d14D20270230\x1e\x04",
        "[)>\x1e06\x1dTV2611\x1d\x1e\x04",
    ],
)
def test_wrong_envelopes_are_refused(payload: str) -> None:
    """A missing header or trailer, a doubled identifier, a day that isn't: refused."""
    with pytest.raises(PayloadError):
        envelope_fields(payload, 2026)


@pytest.mark.parametrize(
    ("short", "read_in", "year"),
    [("00", 2026, 2000), ("76", 2026, 2076), ("77", 2026, 1977), ("01", 2099, 2101)],
)
def test_the_century_is_the_readers(short: str, read_in: int, year: int) -> None:
    """From 49 years back to 50 ahead (GS1 General Specifications, 7.12)."""
    fields = gs1_fields(f"010952123454321317{short}0101", read_in)
    assert fields["beyond_use"] == f"{year}-01-01"
