"""Caliper readings: a layout that passes the judge, or a refusal with its millimetres."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.geometry.judging import judge
from labelkit.geometry.measuring import Readings, layout_text, readings
from labelkit.geometry.reading import loads
from labelkit.ground.errors import LayoutRefused

TRAY = Readings(
    title="Bench tray of 20",
    card_w_mm=104.0,
    card_h_mm=152.0,
    columns=4,
    rows=5,
    first_x_mm=14.5,
    first_y_mm=42.0,
    pitch_x_mm=25.0,
    pitch_y_mm=24.0,
    cavity_mm=13.0,
    paper="letter",
)
"""An invented tray: 2 mm of rim at the left and right, 30 mm above, 2 mm below."""


def test_a_measured_tray_becomes_its_layout() -> None:
    """Cavities of the layout lie where the caliper found them."""
    layout = loads(layout_text(TRAY), "bench-tray.toml")
    assert judge(layout) == ()
    assert layout.cavities == 20
    card = [p for p in layout.faces[0].pieces if p.card == 1]
    left, top = card[0].outline.x_mm, card[0].outline.y_mm
    centres = sorted(
        (
            round(cell.cavity.y_mm + cell.cavity.h_mm / 2 - top, 2),
            round(cell.cavity.x_mm + cell.cavity.w_mm / 2 - left, 2),
        )
        for piece in card
        for cell in piece.cells
        if cell.cavity
    )
    wanted = [(42.0 + 24.0 * row, 14.5 + 25.0 * column) for row in range(5) for column in range(4)]
    assert centres == wanted
    assert sum(piece.outline.w_mm for piece in card) == pytest.approx(104.0)
    assert card[0].outline.h_mm == pytest.approx(152.0)


REFUSED = {
    # field: (readings that are wrong, part of the sentence)
    "pitch_x_mm": ({"pitch_x_mm": 18.0}, "18.00 mm is 2.00 mm less than the smallest cell"),
    "first_y_mm": (
        {"first_y_mm": 36.1, "card_h_mm": 146.1},
        "24.10 mm lie above the first row of cells, 5.00 mm less than a header band needs",
    ),
    "first_x_mm": ({"first_x_mm": 11.5}, "the cells reach 1.00 mm over the card's left edge"),
    "card_w_mm": ({"card_w_mm": 101.0}, "the cells reach 1.00 mm over the card's right edge"),
    "card_h_mm": ({"card_h_mm": 149.0}, "the cells reach 1.00 mm over the card's lower edge"),
    "columns": (
        {"columns": 3, "card_w_mm": 79.0},
        "1 column of 25.00 mm is left over; a piece is 50.00 mm wide",
    ),
    "cavity": ({"cavity_mm": 23.0}, "the sealed rim between cavity and cell edge is 1.00 mm less"),
    "cavity_mm": ({"cavity_mm": float("nan")}, "nan mm is no length of a tray"),
    "rows": ({"rows": 0}, "0 can't be counted on a tray"),
    "paper": ({"paper": "legal"}, "'legal' isn't a paper"),
    "title": ({"title": " "}, "the tray has no name"),
}


@pytest.mark.parametrize("field", REFUSED)
def test_a_reading_that_makes_no_card_is_refused(field: str) -> None:
    """Each reading that can't be right is named, with what is over or missing."""
    changes, said = REFUSED[field]
    with pytest.raises(LayoutRefused) as refused:
        layout_text(TRAY.model_copy(update=changes))
    assert any(f.field == field and said in f.wrong for f in refused.value.faults)


def test_a_card_larger_than_the_sheet_is_refused() -> None:
    """A card that overflows the sheet upright and sideways is told with both sizes."""
    wide = TRAY.model_copy(update={"columns": 12, "card_w_mm": 304.0})
    with pytest.raises(LayoutRefused, match=r"304\.00 × 152\.00 mm overflows the printable"):
        layout_text(wide)


def test_a_wide_card_is_laid_sideways() -> None:
    """A card that fits only on the sheet laid sideways is laid so."""
    layout = loads(
        layout_text(TRAY.model_copy(update={"columns": 10, "card_w_mm": 254.0})), "wide.toml"
    )
    assert layout.stock.width_mm == pytest.approx(279.4)
    assert judge(layout) == ()


def test_a_title_may_hold_any_sign() -> None:
    """Quotes, backslashes, accents and line ends in a title stay what they are."""
    title = 'Tray "blue" \\ Nº 2\nä\x7f'
    assert loads(layout_text(TRAY.model_copy(update={"title": title})), "t.toml").title == title


lengths = st.floats(0.1, 60.0).map(lambda value: round(value, 2))


@settings(max_examples=80, deadline=None)
@given(
    pitch_x=st.floats(15, 45).map(lambda v: round(v, 2)),
    pitch_y=st.floats(15, 45).map(lambda v: round(v, 2)),
    columns=st.integers(1, 6),
    rows=st.integers(1, 8),
    rims=st.tuples(st.floats(-1, 8), st.floats(-1, 8), st.floats(16, 40), st.floats(-1, 8)),
    cavity=st.floats(4, 30).map(lambda v: round(v, 2)),
    paper=st.sampled_from(["letter", "a4"]),
)
def test_any_readings_give_a_good_layout_or_millimetres(
    pitch_x: float,
    pitch_y: float,
    columns: int,
    rows: int,
    rims: tuple[float, float, float, float],
    cavity: float,
    paper: str,
) -> None:
    """Near-plausible trays end in a layout without fault, or in faults that say how far off."""
    left, right, top, foot = (round(rim, 2) for rim in rims)
    measured = Readings(
        title="tray",
        card_w_mm=left + columns * pitch_x + right,
        card_h_mm=top + rows * pitch_y + foot,
        columns=columns,
        rows=rows,
        first_x_mm=left + pitch_x / 2,
        first_y_mm=top + pitch_y / 2,
        pitch_x_mm=pitch_x,
        pitch_y_mm=pitch_y,
        cavity_mm=cavity,
        paper=paper,
    )
    try:
        text = layout_text(measured)
    except LayoutRefused as refused:
        assert all(re.search(r"\d mm", fault.wrong) for fault in refused.faults)
    else:
        assert judge(loads(text, "tray.toml")) == ()


@settings(max_examples=60, deadline=None)
@given(
    st.builds(
        Readings,
        title=st.text(max_size=20),
        card_w_mm=st.floats(),
        card_h_mm=st.floats(),
        columns=st.integers(),
        rows=st.integers(),
        first_x_mm=lengths,
        first_y_mm=lengths,
        pitch_x_mm=st.floats(),
        pitch_y_mm=lengths,
        cavity_mm=lengths,
        paper=st.text(max_size=8),
    )
)
def test_wild_readings_are_refused(wild: Readings) -> None:
    """Numbers that measure nothing are refused as such."""
    with pytest.raises(LayoutRefused):
        layout_text(wild)


WRITTEN = """
title = "Bench tray of 20"
card_w_mm = 104
card_h_mm = 152.0
columns = 4
rows = 5
first_x_mm = 14.5
first_y_mm = 42
pitch_x_mm = 25
pitch_y_mm = 24
cavity_mm = 13
"""


def test_readings_are_written_in_toml() -> None:
    """What is written down under the readings' names is read; the paper is Letter unless said."""
    assert readings(WRITTEN, "tray.toml") == TRAY


def test_all_slips_of_written_readings_are_told() -> None:
    """A missing, a misspelt and an unreadable reading are three faults, each with its name."""
    text = WRITTEN.replace("rows = 5", 'rows = "five"').replace("cavity_mm", "cavety_mm")
    with pytest.raises(LayoutRefused) as refused:
        readings(text, "tray.toml")
    assert {f.field for f in refused.value.faults} == {"rows", "cavity_mm", "cavety_mm"}
