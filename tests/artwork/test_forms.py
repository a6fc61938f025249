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


def ticks(box: Box, *entries: str) -> Artwork:
    """A list of entries to tick in a box."""
    shape = layout(panel(field(What.TICKS, "strengths", box, wanted_pt=12, least_pt=10)))
    load = loads.piece(shape, "A", 1)
    lists = {"strengths": tuple(loads.said(text) for text in entries)}
    return compose(shape, (SheetLoad((loads.with_lists(load, lists),)),), "made")


def test_ticks_in_order_and_empty() -> None:
    """Each entry has one empty box of 4 mm beside it, in the list's order, row by row."""
    entries = [f"{n} mg" for n in (2.5, 5, 10, 20, 40, 80)]
    box = Box(20, 20, 70, 30)
    artwork = ticks(box, *entries)
    texts = texts_of(artwork)
    boxes = [i for i in artwork.pages[0].items if isinstance(i, StrokeItem)]
    assert [said([text]) for text in texts] == entries
    assert len(boxes) == len(entries)
    for tick, text in zip(boxes, texts, strict=True):
        assert not tick.fill
        assert tick.box.w_mm == pytest.approx(4, abs=0.3)
        assert tick.box.right_mm < text.box.x_mm
        assert inside(inked(text), box)
    rows = [(round(t.box.y_mm), t.box.x_mm) for t in texts]
    assert rows == sorted(rows)


def test_too_many_ticks_are_refused() -> None:
    """A list higher than its box is refused with the height it needs."""
    with pytest.raises(ArtworkRefused, match="mm too high"):
        ticks(Box(20, 20, 30, 10), *(f"{n} mg" for n in range(1, 12)))


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
