"""Finding a text: white space and line-end hyphens are forgiven, and nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.checks.matching import occurrences
from labelkit.checks.streams import SOFT, Stream, normal

WORDS = st.lists(
    st.from_regex(r"[a-z]{1,8}|[1-9][0-9]{0,3}", fullmatch=True), min_size=1, max_size=6
)


def found(page: str, wanted: str) -> bool:
    """Whether the text stands on the page; ``|`` is a line-end hyphen in the page."""
    plain = page.replace("|", SOFT)
    return any(occurrences(Stream(plain, tuple(range(len(plain)))), normal(wanted)))


@pytest.mark.parametrize(
    ("page", "wanted"),
    [
        ("take 50 mg once", "50 mg"),
        ("take 50 mg once", "50\u00a0mg"),
        ("(50 mg)", "50 mg"),
        ("50 mg.", "50 mg"),
        ("50 mg; 100 mg", "50 mg"),
        ("Lot: TV2611, made", "TV2611"),
        ("peel| not-push", "peel-not-push"),
        ("medi| cine", "medicine"),
        ("medi- cine", "medicine"),
        ("https://www.example.org/ leaflet", "https://www.example.org/leaflet"),
        ("sildenafil", "sildena\u00adfil"),
        ("请撕开, 不 要推压", "不要推压"),
        ("批号TV2611", "TV2611"),
        ("ﬁve", "five"),
        ("cafe\u0301", "café"),
    ],
)
def test_what_stands_there_is_found(page: str, wanted: str) -> None:
    """The whole text, as words of its own, however its line was broken."""
    assert found("|".join(map(spelt, page.split("|"))), wanted)


def spelt(part: str) -> str:
    """A part of a page in the streams' spelling, its outer spaces kept."""
    inner = normal(part)
    return part[: len(part) - len(part.lstrip())] + inner + part[len(part.rstrip()) :]


@pytest.mark.parametrize(
    ("page", "wanted"),
    [
        ("2.50 mg", "50 mg"),
        ("1,050 mg", "50 mg"),
        ("150 mg", "50 mg"),
        ("50 mgs", "50 mg"),
        ("5 0 mg", "50 mg"),
        ("50mg", "50 mg"),
        ("TV2611-0001", "TV2611"),
        ("XTV2611", "TV2611"),
        ("TV 2611", "TV2611"),
        ("1/2 tablet", "2 tablet"),
        ("do push", "do not push"),
        ("sildénafil", "sildenafil"),
        ("Sildenafil", "sildenafil"),
        ("notes | cut", "notescut"),
        ("peelnot", "peel-not"),
        ("co op", "co-op"),
        ("", "x"),
    ],
)
def test_what_only_looks_like_it_is_not_found(page: str, wanted: str) -> None:
    """Longer numbers and words, parted digits, other letters: another text."""
    assert not found(page, wanted)


@given(words=WORDS)
def test_a_text_stands_in_itself(words: list[str]) -> None:
    """A text is found between other words."""
    said = " ".join(words)
    assert found(f"before {said} behind", said)


@given(words=WORDS, at=st.integers(0, 40), letter=st.sampled_from("abcxyz0123456789"))
def test_one_changed_character_is_another_text(words: list[str], at: int, letter: str) -> None:
    """A text with one character changed isn't found as the text."""
    said = " ".join(words)
    at %= len(said)
    changed = said[:at] + letter + said[at + 1 :]
    if changed != said:
        assert not found(changed, said)


@given(words=WORDS, at=st.integers(0, 5))
def test_one_word_less_is_another_text(words: list[str], at: int) -> None:
    """A text with a word left out isn't found as the whole."""
    fewer = [w for n, w in enumerate(words) if n != at % len(words)]
    if fewer:
        assert not found(" ".join(fewer), " ".join(words))
