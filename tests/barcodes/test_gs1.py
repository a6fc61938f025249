"""GS1's arithmetic, against GS1's own examples."""

import pytest

from labelkit.barcodes import gs1
from labelkit.records.identifiers import GS1_AI_82, check_digit


@pytest.mark.parametrize(
    ("digits", "expected"),
    [
        ("629104150021", "3"),  # gs1.org, "How to calculate a check digit manually": sum 57
        ("0952123454321", "3"),  # prefix 952, GS1's range for examples
        ("730001100001", "7"),
        ("890400021003", "7"),
    ],
)
def test_check_digit_is_gs1s(digits: str, expected: str) -> None:
    """The check digit equals that of GS1's worked example and of known numbers."""
    assert check_digit(digits) == int(expected)


@pytest.mark.parametrize("digits", ["", "12a", "١٢٣", "1.5"])
def test_check_digit_needs_digits(digits: str) -> None:
    """Anything but ASCII digits is an error, never a number."""
    with pytest.raises(ValueError, match="not all digits"):
        check_digit(digits)


def test_a_wrong_check_digit_is_told() -> None:
    """The clause names the digit found and the one expected; a right GTIN has no clause."""
    wrong = gs1.gtin_wrong("09521234543214")
    assert wrong == "the check digit of GTIN 09521234543214 is 4, expected 3"
    assert gs1.gtin_wrong("09521234543213") == ""


@pytest.mark.parametrize("gtin", ["", "9521234543213", "0952123454321X", "095212345432130"])
def test_a_gtin_has_fourteen_digits(gtin: str) -> None:
    """Other lengths and letters are refused, even where GS1 knows a shorter GTIN."""
    assert "has 14 digits" in gs1.gtin_wrong(gtin)


def test_character_set_82_is_whole() -> None:
    """The set has 82 characters; space, # $ @ [ ] ^ and all beyond ASCII are outside it."""
    assert len(GS1_AI_82) == 82
    assert not GS1_AI_82 & set(" #$@[]\\^`{|}~é\x1d")


@pytest.mark.parametrize(
    ("two_digits", "read_in", "year"),
    [
        # GS1 General Specifications 7.12: a difference of 51 to 99 is the century before,
        # of -99 to -50 the century after, else the current one.
        (76, 2026, 2076),
        (77, 2026, 1977),
        (26, 2026, 2026),
        (0, 2049, 2000),
        (0, 2050, 2100),
        (99, 2048, 1999),
        (99, 2049, 2099),
        (25, 2075, 2125),
    ],
)
def test_century_window(two_digits: int, read_in: int, year: int) -> None:
    """A two-digit year is read from 49 years back to 50 years ahead."""
    assert gs1.year_read(two_digits, read_in) == year
