"""Short directions: what is read, what is implied, and what is refused with the word marked."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rules_builders import UNDER, preparation_of, tadalafil

from labelkit.ground.errors import RuleRefused
from labelkit.records.model import Directions, Route
from labelkit.rules.directions import read_directions, shorthand


def made(
    tablets: str, when: str, hours: str, most: str, reason: str = "erection", route: Route = UNDER
) -> Directions:
    """Structured directions, written out."""
    return Directions(
        tablets_per_dose=Decimal(tablets), route=route, when=when, reason=reason,
        least_interval_h=Decimal(hours), most_in_24_h=Decimal(most),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        # The form that prescribers are used to: common practice, no source.
        ("1 tab SL PRN 30 min before activity, max 1/24 h",
         made("1", "before-activity-30-min", "24", "1")),
        ("Take 1 tablet under the tongue 30-60 minutes before sexual activity as needed; "
         "no more than 1 in 24 hours.", made("1", "before-activity-30-60-min", "24", "1")),
        ("1 tab SL 30 to 60 min before activity max 1 per day",
         made("1", "before-activity-30-60-min", "24", "1")),
        ("2 tabs sublingually q8h prn for nausea",
         made("2", "every-8-h-when-needed", "8", "6", "nausea")),
        ("1 tab SL every 8 hours, max 2/24 h, at least 10 h apart",
         made("1", "every-8-h", "10", "2")),
        ("one tab on the tongue every 12 h for pain",
         made("1", "every-12-h", "12", "2", "pain", Route.ON_TONGUE)),
        ("1 tab SL b.i.d., at least 8 h apart", made("1", "twice-daily", "8", "2")),
        ("1 tab SL t.i.d. at least 6 h apart", made("1", "three-times-daily", "6", "3")),
        ("½ tab SL daily", made("0.5", "once-daily", "24", "0.5")),
        ("1 TAB SL ONCE DAILY AT BEDTIME FOR SLEEP", made("1", "at-bedtime", "24", "1", "sleep")),
        ("1 tab SL 30 min before bed, max 1/day", made("1", "before-bed-30-min", "24", "1")),
        ("1 tab SL every morning", made("1", "every-morning", "24", "1")),
    ],
)  # fmt: skip
def test_what_prescribers_write_is_read(written: str, expected: Directions) -> None:
    """Each becomes the structured directions a pharmacist would write out."""
    assert read_directions(written, tadalafil()).directions == expected


def test_what_was_not_written_is_named() -> None:
    """The interval and the reason that follow are listed for confirmation."""
    reading = read_directions("1 tab SL PRN 30 min before activity, max 1/24 h", tadalafil())
    assert reading.implied == (
        "at least 24 hours apart, since one dose is all of a day's",
        "for erection, the only use of tadalafil",
    )
    full = "1 tab SL q8h for nausea, max 3/24 h, at least 8 h apart"
    assert read_directions(full, tadalafil()).implied == ()


@pytest.mark.parametrize(
    ("written", "marked"),
    [
        ("1 tab SL daily flurb now", "1 tab SL daily [flurb] now"),
        ("1 tab PO daily", "1 tab [PO] daily"),
        ("1-2 tab SL daily", "[1]-2 tab SL daily"),
        ("1/2 tab SL daily", "[1]/2 tab SL daily"),
        ("1 tab SL QD", "1 tab SL [QD]"),
        ("1 tab SL q.d.", "1 tab SL [q.d]."),
        ("1 tab SL qhs", "1 tab SL [qhs]"),
        ("1 tab SL QOD", "1 tab SL [QOD]"),
        ("1 tab SC daily", "1 tab [SC] daily"),
        ("1 tab SL OD", "1 tab SL [OD]"),
        ("1 tab SL daily, 2 tabs at bedtime", "1 tab SL daily, [2] tabs at bedtime"),
        ("1 tab SL not daily", "1 tab SL [not] daily"),
        ("1 tab SL daily, max 1/12 h", "1 tab SL daily, [max] 1/12 h"),
        ("5 mg SL daily", "[5] mg SL daily"),
    ],
)
def test_the_first_word_not_understood_is_marked(written: str, marked: str) -> None:
    """Nothing is skipped or guessed: the text is given back with that word in brackets."""
    with pytest.raises(RuleRefused) as refusal:
        read_directions(written, tadalafil())
    (fault,) = refusal.value.faults
    assert fault.rule == "directions.word"
    assert marked in fault.wrong


@pytest.mark.parametrize(
    ("written", "write"), [("QD", "daily"), ("QHS", "at bedtime"), ("QOD", "every other day")]
)
def test_error_prone_abbreviations_say_what_to_write(written: str, write: str) -> None:
    """ISMP List of Error-Prone Abbreviations (2021): QD, HS, QOD."""
    with pytest.raises(RuleRefused, match="ISMP") as refusal:
        read_directions(f"1 tab SL {written}", tadalafil())
    assert write in refusal.value.faults[0].mend


@pytest.mark.parametrize(
    ("written", "missing"),
    [
        ("SL daily", ["the number of tablets", "the most in 24 hours", "the least hours"]),
        ("1 tab daily", ["the route"]),
        ("1 tab SL, max 1/24 h", ["when to take it"]),
        ("1 tab SL PRN", ["the most in 24 hours", "the least hours"]),
        ("1 tab SL b.i.d.", ["the least hours"]),
        ("", ["the number", "the route", "when", "the most", "the least"]),
        ("1 tab SL daily twice daily", ["when to take it"]),
    ],
)
def test_everything_missing_is_named_at_once(written: str, missing: list[str]) -> None:
    """Directions that leave something open are refused with all of it."""
    with pytest.raises(RuleRefused) as refusal:
        read_directions(written, tadalafil())
    assert len(refusal.value.faults) == len(missing)
    for fault, what in zip(refusal.value.faults, missing, strict=True):
        assert f"doesn't say {what}" in fault.wrong


def test_the_reason_is_asked_for_where_there_are_two_uses() -> None:
    """A preparation with two uses implies neither."""
    preparation = preparation_of("ondansetron", "4 mg", uses=("nausea", "sleep"))
    with pytest.raises(RuleRefused, match="what it is for"):
        read_directions("1 tab SL q8h", preparation)
    assert read_directions("1 tab SL q8h for nausea", preparation).directions.reason == "nausea"


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(
    sorted({w for p in shorthand().phrases for pattern in p.patterns for w in pattern.split()}
           | {"1", "2", "30", "24", ",", "not", "except", "QD"})
), max_size=12))  # fmt: skip
def test_any_row_of_words_is_read_whole_or_refused(words: list[str]) -> None:
    """Known words in any order never crash, and never give directions with a gap."""
    written = " ".join(words).replace("{n}", "1").replace("{m}", "2")
    try:
        reading = read_directions(written, tadalafil())
    except RuleRefused as refused:
        assert refused.faults
    else:
        assert "not" not in words or "than" in words
        assert "except" not in words and "QD" not in words
        assert reading.directions.tablets_per_dose > 0
        assert reading.directions.most_in_24_h > 0


@pytest.mark.parametrize("number", ["1234", "9999.9999"])
def test_numbers_of_thousands_are_numbers(number: str) -> None:
    """Four digits are read as they stand; whether a limit is passed is another rule's to say."""
    reading = read_directions(
        f"1 tab SL PRN 30 min before activity, at least 6 h apart, max {number}/24 h", tadalafil()
    )
    assert reading.directions.most_in_24_h == Decimal(number)


@pytest.mark.parametrize("number", ["12345", "12345678901", "9" * 5000, "1e9", "1.00000"])
def test_endless_numbers_are_not_understood(number: str) -> None:
    """A slip of the finger is refused with its word, not read."""
    with pytest.raises(RuleRefused, match="understood"):
        read_directions(f"1 tab SL PRN 30 min before activity, max {number}/24 h", tadalafil())
