"""Text fields: in their boxes, or refused with the right measure."""

import re

import artwork_loads as loads
import pytest
from artwork_layouts import field, layout, panel
from artwork_reading import inked, inside, said, texts_of
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.artwork.composing import compose
from labelkit.geometry.model import What
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused

WORDS = st.lists(
    st.text("abcdefghijklmnopqrstuvwxyzäéñßøčł", min_size=1, max_size=14), min_size=1, max_size=12
).map(" ".join)
SIDES = st.floats(8, 80)


def composed(text: str, box: Box, **more: object):
    """The text items of a field that says `text` in `box`."""
    shape = layout(panel(field(What.VALUE, "{{ drug }}", box, **more)))
    return texts_of(compose(shape, (loads.sheet(shape, drug=text),), "made"))


@settings(max_examples=60, deadline=None)
@given(text=WORDS, w_mm=SIDES, h_mm=SIDES, turn=st.sampled_from([0, 90, 270]))
def test_whole_and_inside(text: str, w_mm: float, h_mm: float, turn: int) -> None:
    """A text is set whole inside its box, however it is turned; or it is refused."""
    box = Box(20, 20, w_mm, h_mm)
    try:
        (item,) = composed(text, box, turn=turn)
    except ArtworkRefused:
        return
    assert said([item]).replace(" ", "") == text.replace(" ", "")
    assert inside(inked(item), box)


@settings(max_examples=40, deadline=None)
@given(text=WORDS, w_mm=st.floats(4, 30), h_mm=st.floats(2, 6))
def test_measure_of_a_refusal(text: str, w_mm: float, h_mm: float) -> None:
    """A box of the size a refusal asks for holds the text; the refusal's excess is the rest."""
    try:
        composed(text, Box(20, 20, w_mm, h_mm), wanted_pt=9, least_pt=7)
    except ArtworkRefused as refused:
        wrong = refused.faults[0].wrong
        need_w, need_h = map(float, re.findall(r"needs ([\d.]+) × ([\d.]+) mm", wrong)[0])
        over = {way: float(mm) for mm, way in re.findall(r"([\d.]+) mm too (wide|high)", wrong)}
        assert over.get("wide", 0.0) == pytest.approx(max(0, need_w - w_mm), abs=0.11)
        assert over.get("high", 0.0) == pytest.approx(max(0, need_h - h_mm), abs=0.11)
        assert max(over.values()) > 0
        assert composed(text, Box(20, 20, need_w, need_h), wanted_pt=9, least_pt=7)


def test_refusal_names_its_place() -> None:
    """A refusal names the layout's file, the place on it, the field and the box."""
    with pytest.raises(ArtworkRefused) as refused:
        composed("Wolfeschlegelsteinhausenbergerdorff", Box(20, 20, 9, 5), least_pt=6)
    (fault,) = refused.value.faults
    assert (fault.file, fault.field) == ("test.toml", "value")
    assert fault.where == "front, piece A, panel panel"
    assert "its box is 9.0 × 5.0 mm" in fault.wrong


def test_alternative_statement() -> None:
    """Where a statement doesn't fit, the field's shorter one is said instead, and only then."""
    texts = {"long.one": "Peel the label back from the tab, and do not push.", "short.one": "Peel"}
    shape = field(What.STATEMENT, "long.one", Box(20, 20, 12, 3), alternative="short.one")
    wide = field(What.STATEMENT, "long.one", Box(20, 20, 90, 5), alternative="short.one")
    for chosen, expected in ((shape, "short.one"), (wide, "long.one")):
        page = layout(panel(chosen))
        (item,) = texts_of(compose(page, (loads.sheet(page, texts=texts),), "made"))
        assert item.origin.source == f"statement:{expected}"
        assert said([item]) == texts[expected]


@pytest.mark.parametrize("turn", [0, 90, 270])
def test_both_languages(turn: int) -> None:
    """A field for both says the patient's language first, at one size, one below the other."""
    box = Box(20, 20, 60, 20) if turn == 0 else Box(20, 20, 20, 60)
    shape = layout(panel(field(What.STATEMENT, "a.b", box, language="both", turn=turn)))
    spanish = loads.FakeVoice("es", texts={"a.b": "Despegue, no empuje"})
    sheet = loads.sheet(shape, patient=spanish, texts={"a.b": "Peel, do not push"})
    first, second = texts_of(compose(shape, (sheet,), "made"))
    assert [first.origin.language, second.origin.language] == ["es", "en"]
    assert first.lines[0].runs[0].size_pt == second.lines[0].runs[0].size_pt
    above, below = inked(first), inked(second)
    assert not above.overlaps(below)
    assert inside(above, box)
    assert inside(below, box)
    along = {0: below.y_mm - above.y_mm, 90: above.x_mm - below.x_mm, 270: below.x_mm - above.x_mm}
    assert along[turn] > 0


def test_equal_texts_once() -> None:
    """A drug's name that is the same in both languages is printed once."""
    shape = layout(panel(field(What.VALUE, "{{ drug }}", Box(20, 20, 60, 20), language="both")))
    sheet = loads.sheet(shape, patient=loads.FakeVoice("es"))
    assert len(texts_of(compose(shape, (sheet,), "made"))) == 1


def test_absent_facts() -> None:
    """A field whose facts are all absent is left out; an unknown or half-known one is refused."""

    def stock(expression: str):
        shape = layout(panel(field(What.VALUE, expression, Box(20, 20, 60, 20))))
        return texts_of(compose(shape, (loads.sheet(shape, fill=False),), "made"))

    assert stock("{{ patient }}") == []
    assert stock("{{ lot }}")
    with pytest.raises(ArtworkRefused, match="patient"):
        stock("{{ drug }} for {{ patient }}")
    with pytest.raises(ArtworkRefused, match="isn't allowed"):
        stock("{{ drug.__class__ }}")


def test_the_pharmacys_words_stand_smaller_under_the_patients() -> None:
    """A field in both languages: the patient's words first, at their own size; the pharmacy's
    below them at the size that the layout gives, both inside the box."""
    box = Box(20, 20, 46, 30)
    shape = layout(
        panel(field(What.STATEMENT, "x.lot", box, language="both", wanted_pt=13, beside_pt=8))
    )
    spanish = loads.FakeVoice("es", texts={"x.lot": "Lote"})
    first, second = texts_of(compose(shape, (loads.sheet(shape, patient=spanish),), "made"))
    assert [i.origin.language for i in (first, second)] == ["es", "en"]
    sizes = [i.lines[0].runs[0].size_pt for i in (first, second)]
    assert sizes == [13, 8]
    top, below = inked(first), inked(second)
    assert inside(top, box)
    assert inside(below, box)
    assert top.bottom_mm <= below.y_mm
