"""Fitting: sizes, breaks and measures, judged on rendered pixels and on the text itself."""

import pytest
from drawn_text import DOT_MM, ink_mm, pdf_of, pixels
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused
from labelkit.typeset.fitting import STEP_PT, fit
from labelkit.typeset.model import Fitted, TooBig

ROOMY = {"wanted_pt": 12.0, "least_pt": 6.0}


def fitted(
    text: str, language: str = "en", width: float = 60, height: float = 40, **more
) -> Fitted:
    found = fit(text, language, width, height, **{**ROOMY, **more})
    assert isinstance(found, Fitted), found
    return found


@pytest.mark.parametrize("size", [6.0, 9.0, 12.25, 24.0])
@pytest.mark.parametrize("weight", ["regular", "bold"])
@pytest.mark.parametrize("family", ["sans", "mono"])
def test_the_x_height_claimed_is_the_one_drawn(size: float, weight: str, family: str) -> None:
    """The height of a drawn x, measured in dots, equals the millimetres claimed within 2 %."""
    found = fitted("x", wanted_pt=size, least_pt=size, weight=weight, family=family)
    dpi = 2400
    dark = pixels(pdf_of(found, Box(10, 10, 60, 40)), dpi)
    _, top, _, bottom = ink_mm(dark, dpi)
    assert bottom - top == pytest.approx(found.x_height_mm, rel=0.02)


def test_the_x_height_of_a_known_face() -> None:
    """IBM Plex Sans states 516/1000 em in its OS/2 table (sxHeight): 12 pt gives 2.18 mm."""
    assert fitted("x").x_height_mm == pytest.approx(0.516 * 12 * 25.4 / 72, rel=0.001)


def test_the_largest_step_that_fits_is_taken() -> None:
    """One step more no longer fits, and the size lies on a step from the wanted one."""
    text = "Place 1 tablet under the tongue. Peel, do not push."
    found = fitted(text, width=30, height=12)
    assert (12 - found.size_pt) % STEP_PT == 0
    more = found.size_pt + STEP_PT
    assert isinstance(fit(text, "en", 30, 12, wanted_pt=more, least_pt=more), TooBig)


def test_a_text_with_room_keeps_the_wanted_size() -> None:
    """Nothing shrinks without need."""
    assert fitted("Peel", width=60, height=30).size_pt == 12


def test_what_does_not_fit_says_by_how_much() -> None:
    """A box of the size that TooBig names holds the text; a millimetre less doesn't."""
    text = "Take 1 tablet by placing it under the tongue until it is gone"
    missed = fit(text, "en", 9, 6, **ROOMY)
    assert isinstance(missed, TooBig)
    assert missed.over_w_mm == pytest.approx(missed.needed_w_mm - 9)
    assert missed.over_h_mm == pytest.approx(missed.needed_h_mm - 6)
    width, height = missed.needed_w_mm, missed.needed_h_mm
    assert isinstance(fit(text, "en", width, height, **ROOMY), Fitted)
    assert isinstance(fit(text, "en", width, height - 0.1, **ROOMY), TooBig)


def test_a_word_wider_than_its_box_is_named_by_its_width() -> None:
    """A name that can't be broken misses by its own width, not by a cut."""
    missed = fit("Wolfeschlegelsteinhausen" * 8, "en", 40, 40, **ROOMY)
    assert isinstance(missed, TooBig)
    assert missed.needed_w_mm > 190
    assert missed.over_h_mm == 0


@pytest.mark.parametrize(
    "text",
    [
        "Lot TV2611-0001 use by 2026-11-25",
        "Sildenafil 25 mg tablets",
        "Call 555-0142 at any hour",
        "Do not take more than 2 tablets in 24 hours",
        "2.5 mg",
        "10:30",
    ],
)
def test_a_number_keeps_its_unit_and_its_other_half(text: str) -> None:
    """No line of a narrow box ends between a number and what it counts, or inside a number,
    a lot, a date or a telephone number."""
    found = fit(text, "en", 24, 60, wanted_pt=9, least_pt=6)
    assert isinstance(found, Fitted)
    for line in found.lines[:-1]:
        assert not line.text[-1].isdigit() or not line.text.split()[-1][0].isdigit(), line.text
    for piece in ("TV2611-0001", "2026-11-25", "25 mg", "555-0142", "2 tablets", "24 hours"):
        if piece in text:
            assert any(piece in line.text for line in found.lines)


def test_verbatim_parts_are_never_broken() -> None:
    """A part named verbatim stands on one line, or the text is too big."""
    text, part = "Take sildenafil citrate 25 mg now", "sildenafil citrate 25 mg"
    found = fit(text, "en", 45, 40, **ROOMY, verbatim=(part,))
    assert isinstance(found, Fitted)
    assert any(part in line.text for line in found.lines)
    assert isinstance(fit(text, "en", 20, 40, **ROOMY, verbatim=(part,)), TooBig)


def test_hyphens_come_only_where_nothing_else_fits() -> None:
    """A German compound is hyphenated between its words (Arzneimittel-information) in a box that
    doesn't hold it whole, and nowhere else; never inside a verbatim part."""
    text = "Arzneimittelinformation"
    assert not any(line.hyphen for line in fitted(text, "de").lines)
    found = fitted(text, "de", width=28, height=20, least_pt=10)
    assert found.lines[0].hyphen
    assert found.lines[0].text == "Arzneimittel"
    assert "".join(line.text for line in found.lines) == text
    kept = fit(text, "de", 28, 20, wanted_pt=12, least_pt=10, verbatim=(text,))
    assert isinstance(kept, TooBig)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Mar\u202etha", "U+202E RIGHT-TO-LEFT OVERRIDE"),
        ("two\ttabs", "U+0009"),
        ("smile \U0001f600", "U+1F600 GRINNING FACE"),
        ("clay \U00012000", "U+12000 CUNEIFORM SIGN A"),
    ],
)
def test_what_cannot_be_printed_is_named(text: str, name: str) -> None:
    """A control, an override and a character without a glyph refuse the artwork by name."""
    with pytest.raises(ArtworkRefused, match=name.replace("+", r"\+")):
        fit(text, "en", 60, 40, **ROOMY)


def test_an_empty_text_is_refused() -> None:
    """A field with nothing to set isn't set silently."""
    with pytest.raises(ArtworkRefused, match="no text to set"):
        fit("  ", "en", 60, 40, **ROOMY)


def test_lines_of_one_size_share_baselines_beside_each_other() -> None:
    """Where there is room, the first baseline doesn't depend on a text's own letters."""
    for valign in ("top", "middle", "bottom"):
        first = {
            round(fitted(text, valign=valign).lines[0].baseline_mm, 6)
            for text in ("Lot", "name", "apply", "25 mg")
        }
        assert len(first) == 1, (valign, first)


@pytest.mark.parametrize("language", ["en", "ar"])
def test_alignment_is_of_the_reading_direction(language: str) -> None:
    """Start is the left side in English and the right side in Arabic."""
    text = {"en": "Peel", "ar": "انزع"}[language]
    sides = {}
    for align in ("start", "end"):
        found = fitted(text, language, width=60, height=20, align=align)
        left, _, right, _ = ink_mm(pixels(pdf_of(found, Box(10, 10, 60, 20), language)))
        sides[align] = "left" if left - 10 < 70 - right else "right"
    expected = ("left", "right") if language == "en" else ("right", "left")
    assert (sides["start"], sides["end"]) == expected


WORDS = st.text(
    alphabet=st.sampled_from("abcdefgjpqyfiÅẤựАяжΩ0123456789()-.,%½“”’ÀÇñß"),
    min_size=1,
    max_size=14,
)


@settings(max_examples=60, deadline=None)
@given(
    words=st.lists(WORDS, min_size=1, max_size=12),
    width=st.floats(15, 80),
    height=st.floats(5, 60),
    valign=st.sampled_from(["top", "middle", "bottom"]),
    align=st.sampled_from(["start", "centre", "end"]),
    weight=st.sampled_from(["regular", "bold"]),
)
def test_what_is_fitted_lies_in_its_box_and_nothing_is_lost(
    words: list[str], width: float, height: float, valign: str, align: str, weight: str
) -> None:
    """Every dot of a fitted text is inside its box, and its lines hold all its characters in
    their order; or it is TooBig in at least one direction."""
    text = " ".join(words)
    found = fit(text, "en", width, height, **ROOMY, valign=valign, align=align, weight=weight)
    if isinstance(found, TooBig):
        assert found.over_w_mm > 0 or found.over_h_mm > 0
        return
    said = "".join(line.text for line in found.lines)
    assert said.replace(" ", "") == text.replace(" ", "")
    box = Box(20, 20, width, height)
    left, top, right, bottom = ink_mm(pixels(pdf_of(found, box), 300), 300)
    slack = 2 * DOT_MM  # one dot of 300 dpi: the edge of an outline may touch the next dot
    assert left >= box.x_mm - slack
    assert right <= box.right_mm + slack
    assert top >= box.y_mm - slack
    assert bottom <= box.bottom_mm + slack
