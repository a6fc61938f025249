"""Shipped layouts on facts they weren't tuned to: whole and inside, or refused in millimetres."""

import artwork_loads as loads
import pytest
from artwork_reading import inked, inside, items_of, said
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.artwork.composing import compose
from labelkit.artwork.page import CodeItem, TextItem
from labelkit.geometry.reading import load
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused

LAYOUTS = ("lidding-10-letter", "sleeve-10-letter", "leaflet-folded-letter", "pad-letter")
WORD = st.text("abcdefghijklmnopqrstuvwxyzáéíñöüßłšžøæ", min_size=1, max_size=18)
NAME = st.lists(WORD.map(str.title), min_size=1, max_size=6).map(" ".join)
SHORT = {
    "label.lot": "Lot",
    "label.rx": "Rx",
    "peel.do-not-push": "Peel. Do not push.",
    "draft.mark": "Draft – not for use",
    "draft.short": "Draft",
}
FACTS = st.fixed_dictionaries(
    {
        "patient": NAME,
        "drug": WORD,
        "pharmacy": NAME,
        "pharmacy_short": WORD,
        "pharmacy_address": NAME,
        "prescriber": NAME,
    }
)


@pytest.mark.parametrize("name", LAYOUTS)
@settings(max_examples=12, deadline=None)
@given(facts=FACTS)
def test_any_length(name: str, facts: dict[str, str]) -> None:
    """Whatever the names, each text that a field prints is whole and in its box, each item on
    the printable part of the sheet, and what doesn't fit is refused with its measure."""
    shape = load(name)
    try:
        artwork = compose(shape, (loads.sheet(shape, texts=SHORT, facts_=facts),), "draft")
    except ArtworkRefused as refused:
        assert all(fault.field and " mm" in fault.wrong for fault in refused.faults)
        return
    stock = shape.stock
    printable = Box(0, 0, stock.width_mm, stock.height_mm).inset(stock.margin_mm)
    for page in artwork.pages:
        for item in items_of(page):
            assert inside(item.box, printable)
            if isinstance(item, TextItem):
                assert inside(inked(item), item.box)
        for fact in ("patient", "drug", "pharmacy", "prescriber"):
            whole = [i for i in items_of(page) if i.origin.source == f"fact:{fact}"]
            assert all("".join(said([i]).split()) == "".join(facts[fact].split()) for i in whole)


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_two_things_on_one_spot(name: str) -> None:
    """No text's letters lie on another's, nor on a code with its quiet zone."""
    shape = load(name)
    artwork = compose(shape, (loads.sheet(shape, texts=SHORT),), "draft")
    for page in artwork.pages:
        texts = [inked(i) for i in items_of(page) if isinstance(i, TextItem)]
        codes = [i.box for i in items_of(page) if isinstance(i, CodeItem)]
        for index, one in enumerate(texts):
            assert not any(one.overlaps(other) for other in texts[index + 1 :])
            assert not any(one.inset(0.05).overlaps(code) for code in codes)
