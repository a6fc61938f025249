"""Pads: lines long and high enough to write on, boxes to tick, nothing ticked."""

import artwork_loads as loads
import pytest
from artwork_layouts import field, layout, panel
from artwork_reading import inked, inside, said, texts_of

from labelkit.artwork.composing import compose
from labelkit.artwork.page import Artwork, StrokeItem
from labelkit.geometry.model import Kind, What
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused
from labelkit.manifest.loads import SheetLoad

LABEL = {"label.x": "Registration"}


def writing(box: Box, rtl: bool = False) -> tuple[Artwork, StrokeItem]:
    """A writing line in a box, and its stroke."""
    shape = layout(panel(field(What.WRITING, "label.x", box, language="patient")), kind=Kind.PAD)
    voice = loads.FakeVoice("ar" if rtl else "en", rtl=rtl, texts=LABEL)
    artwork = compose(shape, (loads.sheet(shape, patient=voice),), "made")
    (line,) = [i for i in artwork.pages[0].items if isinstance(i, StrokeItem)]
    return artwork, line


@pytest.mark.parametrize("rtl", [False, True])
def test_label_above_in_a_high_box(rtl: bool) -> None:
    """A high box has its label on top and a line of the whole width at its lower edge."""
    box = Box(20, 20, 60, 10)
    artwork, line = writing(box, rtl)
    (label,) = texts_of(artwork)
    assert line.box.w_mm == pytest.approx(60)
    assert line.box.y_mm - inked(label).bottom_mm > 5
    assert line.box.y_mm <= box.bottom_mm


@pytest.mark.parametrize("rtl", [False, True])
def test_label_beside_in_a_low_box(rtl: bool) -> None:
    """A low box has its label at the start and the rest of the width to write on."""
    box = Box(20, 20, 60, 7)
    artwork, line = writing(box, rtl)
    (label,) = texts_of(artwork)
    assert line.box.w_mm >= 15
    assert inside(inked(label), box)
    ink = inked(label)
    if rtl:
        assert line.box.right_mm <= ink.x_mm
    else:
        assert ink.right_mm <= line.box.x_mm


def test_no_room_for_a_pen() -> None:
    """A box that leaves no room to write is refused; the size the refusal names is enough."""
    with pytest.raises(ArtworkRefused) as refused:
        writing(Box(20, 20, 22, 6))
    words = refused.value.faults[0].mend.split()
    assert writing(Box(20, 20, float(words[3]), 6))
    assert writing(Box(20, 20, 22, float(words[8])))


def ticks(box: Box, *rows: tuple[str, ...], rtl: bool = False) -> Artwork:
    """A list to tick in a box: heads, then rows."""
    shape = layout(panel(field(What.TICKS, "strengths", box, wanted_pt=12, least_pt=10)))
    voice = loads.FakeVoice("ar" if rtl else "en", rtl=rtl)
    load = loads.piece(shape, "A", 1, patient=voice)
    lists = {"strengths": loads.tick_list(*rows)}
    return compose(shape, (SheetLoad((loads.with_lists(load, lists),)),), "made")


def test_each_row_has_an_empty_box_and_its_own_cells() -> None:
    """One empty box of 4 mm before each row, none before the heads; the texts row by row."""
    box = Box(20, 20, 120, 40)
    artwork = ticks(box, *loads.STRENGTHS)
    texts = texts_of(artwork)
    boxes = [i for i in artwork.pages[0].items if isinstance(i, StrokeItem)]
    assert [said([text]) for text in texts] == [cell for row in loads.STRENGTHS for cell in row]
    assert len(boxes) == len(loads.STRENGTHS) - 1
    for number, tick in enumerate(boxes, start=1):
        row = texts[3 * number : 3 * number + 3]
        assert not tick.fill
        assert tick.box.w_mm == pytest.approx(4, abs=0.3)
        assert tick.box.right_mm < inked(row[0]).x_mm
        assert [text.box.x_mm for text in row] == sorted(text.box.x_mm for text in row)
        for text in row:
            middle_mm = tick.box.y_mm + tick.box.h_mm / 2
            assert inked(text).y_mm < middle_mm < inked(text).bottom_mm
            assert inside(inked(text), box)


def test_columns_stand_under_their_heads() -> None:
    """Every cell begins where its head does, so that no limit is read as another's."""
    texts = texts_of(ticks(Box(20, 20, 120, 40), *loads.STRENGTHS))
    for column in range(3):
        assert len({round(text.box.x_mm, 3) for text in texts[column::3]}) == 1


def test_a_narrow_list_is_smaller_then_broken_into_lines() -> None:
    """All rows have one size, the largest that fits; a cell too wide for its column is broken."""
    wide, narrow = (
        texts_of(ticks(Box(20, 20, width, 60), *loads.STRENGTHS)) for width in (120, 75)
    )
    assert max(len(text.lines) for text in wide) == 1
    assert max(len(text.lines) for text in narrow) > 1
    sizes = {line.runs[0].size_pt for text in narrow for line in text.lines}
    assert len(sizes) == 1


def test_too_many_rows_are_refused() -> None:
    """A list higher than its box is refused with what it lacks."""
    with pytest.raises(ArtworkRefused, match="mm too high"):
        ticks(Box(20, 20, 120, 20), *loads.STRENGTHS)


def test_rule_along_the_longer_side() -> None:
    """A rule runs along the middle of its box, whichever way that is longer."""
    shape = layout(
        panel(
            field(What.RULE, "", Box(20, 20, 60, 2)),
            field(What.RULE, "", Box(20, 30, 2, 60)),
        )
    )
    level, upright = compose(shape, (loads.sheet(shape),), "made").pages[0].items
    assert (level.box.x_mm, level.box.y_mm, level.box.w_mm, level.box.h_mm) == (20, 21, 60, 0)
    assert (upright.box.x_mm, upright.box.y_mm, upright.box.h_mm) == (21, 30, 60)
