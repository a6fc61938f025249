"""Quoted stretches: marked while texts are joined, told apart again without a loss."""

from hypothesis import given
from hypothesis import strategies as st

from labelkit.ground.quoting import FSI, PDI, has_rtl, marked, parted, whole

PIECES = st.lists(st.tuples(st.text("ab علي12 ", max_size=6), st.booleans()), max_size=6)


@given(PIECES)
def test_marks_are_taken_off_as_they_were_put_on(pieces: list[tuple[str, bool]]) -> None:
    """Texts that quote are joined like any others, and each stretch is where it was."""
    said = "".join(marked(text, whole(text)) if quoted else text for text, quoted in pieces)
    text, spans = parted(said)
    assert text == "".join(piece for piece, _ in pieces)
    assert [text[a:b] for a, b in spans] == [p for p, quoted in pieces if quoted and p]
    assert parted(marked(text, spans)) == (text, spans)


def test_one_stretch_inside_another_is_part_of_it() -> None:
    """A quotation in a quotation is one; a mark that isn't closed or opened does no harm."""
    assert parted(f"a{FSI}b{FSI}c{PDI}d{PDI}e") == ("abcde", ((1, 4),))
    assert parted(f"a{PDI}b{FSI}c") == ("abc", ((2, 3),))


def test_scripts_from_the_right() -> None:
    """Arabic and Hebrew letters and Arabic-Indic digits (UAX #9, classes AL, R, AN)."""
    assert has_rtl("Dr. علي")
    assert has_rtl("דנה")
    assert has_rtl("٣")
    assert not has_rtl("Núñez, 王小明 सीता 12")
