"""Whole artwork from shipped layouts: what must be there, what must not, what is shared."""

from collections import Counter

import artwork_loads as loads
import pytest
from artwork_layouts import field, layout, panel
from artwork_reading import inked, inside, items_of, said

from labelkit.artwork.composing import compose
from labelkit.artwork.page import CodeItem, Origin, TextItem
from labelkit.geometry.model import Area, Layout, What
from labelkit.geometry.reading import load
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused, Fault, WordingRefused
from labelkit.manifest.loads import SheetLoad
from labelkit.wording.model import Said

LIDDING = ("lidding-10-letter", "lidding-20-letter", "lidding-30-letter", "lidding-10-a4")
SHORT = {
    "label.lot": "Lot",
    "peel.do-not-push": "Peel. Do not push.",
    "draft.mark": "Draft – not for use",
    "draft.short": "Draft",
}


def lidding(name: str = "lidding-20-letter", state: str = "made", sheets: int = 1, **options):
    """A lidding layout with `sheets` sheets composed."""
    shape = load(name)
    runs = tuple(
        loads.sheet(shape, texts=SHORT, first_serial=n * 1000, **options) for n in range(sheets)
    )
    return shape, compose(shape, runs, state)


def cells(shape: Layout) -> list[Area]:
    """All cells of the front face."""
    return [area for piece in shape.faces[0].pieces for area in piece.cells]


@pytest.mark.parametrize("name", LIDDING)
def test_every_filled_cell_says_everything(name: str) -> None:
    """In every filled cell stand drug, strength, form, lot, date, pharmacy, peel and a code."""
    shape, artwork = lidding(name, used=7)
    (page,) = artwork.pages
    for area in cells(shape):
        here = [i for i in items_of(page) if inside(i.box, area.box)]
        facts = {i.origin.source for i in here}
        if area.number > 7:
            continue
        for fact in ("drug", "strength", "form", "lot", "beyond_use", "pharmacy"):
            assert any(fact in source for source in facts), (area.id, fact)
        assert "statement:peel.do-not-push" in facts
        assert "picture:peel-arrow" in facts
        assert sum(isinstance(i, CodeItem) for i in here) == 1


@pytest.mark.parametrize("name", LIDDING)
def test_empty_cells_hold_no_fact(name: str) -> None:
    """An empty cell is crossed out and says so, and holds no fact and no code; nor does a cell
    that the load doesn't mention."""
    shape, artwork = lidding(name, used=7)
    (page,) = artwork.pages
    for area in cells(shape):
        if area.number <= 7:
            continue
        here = [i for i in items_of(page) if i.box.overlaps(area.box)]
        assert {i.origin.source for i in here} == {"layout", "statement:cell.empty"}
        assert said(here) == "empty"


def test_unused_pieces_hold_no_fact() -> None:
    """A piece that no load uses has every cell crossed out, and an empty band."""
    shape = load("lidding-20-letter")
    first = shape.faces[0].pieces[0]
    sheet = SheetLoad((loads.piece(shape, first.id, first.card, texts=SHORT),))
    items = items_of(compose(shape, (sheet,), "draft").pages[0])
    for piece in shape.faces[0].pieces[1:]:
        here = [i for i in items if i.box.overlaps(piece.outline) and i.origin.piece]
        assert {i.origin.source for i in here} == {"layout", "statement:cell.empty"}
        for area in piece.cells:
            assert said(i for i in here if inside(i.box, area.box)) == "empty"
        assert all(any(inside(i.box, area.box) for area in piece.cells) for i in here)


@pytest.mark.parametrize("name", LIDDING)
def test_text_in_its_box_and_area(name: str) -> None:
    """Every letter of a label lies in its field's box, and every box in the printable area."""
    shape, artwork = lidding(name, state="draft")
    stock = shape.stock
    printable = Box(0, 0, stock.width_mm, stock.height_mm).inset(stock.margin_mm)
    for item in items_of(artwork.pages[0]):
        assert inside(item.box, printable)
        if isinstance(item, TextItem):
            assert inside(inked(item), item.box)


def test_peel_arrows_run_from_their_tabs() -> None:
    """Cells peeled from the right edge have the drawing of those peeled from the left, turned."""
    shape, artwork = lidding()
    left, right = cells(shape)[0], cells(shape)[1]
    assert (left.tab and left.tab.edge, right.tab and right.tab.edge) == ("left", "right")
    boxes = {}
    for area in (left, right):
        arrows = [
            i
            for i in items_of(artwork.pages[0])
            if i.origin.source == "picture:peel-arrow" and inside(i.box, area.box)
        ]
        first = arrows[0].path[0][1]
        boxes[area.id] = (first[0] - arrows[0].box.x_mm, arrows[0].box.right_mm - first[0])
    assert boxes[left.id] == pytest.approx(tuple(reversed(boxes[right.id])))


def test_shared_items() -> None:
    """What all sheets of a lot have in common is shared, nothing is lost by it, and what
    differs (serials, codes) stays with its page."""
    shape, alone = lidding(sheets=1)
    _, artwork = lidding(sheets=3)
    assert len(artwork.pages) == 3
    assert alone.pages[0].shared == ()
    assert Counter(items_of(artwork.pages[0])) == Counter(items_of(alone.pages[0]))
    for page in artwork.pages:
        assert page.shared == artwork.pages[0].shared
        assert all(isinstance(i, CodeItem) for i in page.items)
    assert not any(isinstance(i, CodeItem) for i in artwork.pages[0].shared)
    assert len({code.symbol.data.payload for p in artwork.pages for code in p.items}) == 3 * len(
        cells(shape)
    )


def test_a_partial_last_sheet_is_not_shared() -> None:
    """Where one sheet's cell is empty, no sheet shares that cell's text."""
    shape = load("lidding-10-letter")
    full = loads.sheet(shape, texts=SHORT)
    partial = loads.sheet(shape, texts=SHORT, used=4)
    first, second = compose(shape, (full, partial), "made").pages
    empty = [area for area in cells(shape) if area.number > 4]
    assert not any(i.box.overlaps(a.box) for i in first.shared for a in empty)
    assert "empty" not in said(items_of(first))
    assert "empty" in said(second.items)


def test_patients_are_not_shared() -> None:
    """Two patients' names on two sheets stay on their own pages."""
    shape = layout(panel(field(What.VALUE, "{{ patient }}", Box(20, 20, 80, 10))))
    sheets = tuple(loads.sheet(shape, patient_name=name) for name in ("Ana Núñez", "Bo Li"))
    artwork = compose(shape, sheets, "made")
    assert [said(page.items) for page in artwork.pages] == ["Ana Núñez", "Bo Li"]
    assert all(page.shared == () for page in artwork.pages)


def test_all_refusals_together() -> None:
    """Every field that can't be set is named, one fault for a field refused in many cells."""
    long = "pentaerythrityltetranitrate-hydrochloride"
    with pytest.raises(ArtworkRefused) as refused:
        lidding(
            drug=long, pharmacy_short="The Very Long Named Compounding Pharmacy of Upper Ashford"
        )
    fields = Counter((fault.field, fault.where.split()[3]) for fault in refused.value.faults)
    assert ("drug", "cell") in fields
    assert ("pharmacy", "cell") in fields
    assert max(fields.values()) == 1
    places = f"and {len(cells(load('lidding-20-letter'))) - 1} more places"
    assert any(places in fault.where for fault in refused.value.faults)
    assert all(fault.file and "mm" in fault.wrong for fault in refused.value.faults)


def test_code_without_room() -> None:
    """A code that doesn't fit its box is refused as that field's, with its millimetres."""
    shape = layout(panel(field(What.CODE, "rx", Box(20, 20, 12, 13))))
    with pytest.raises(ArtworkRefused, match="mm") as refused:
        compose(shape, (loads.sheet(shape),), "made")
    assert refused.value.faults[0].field == "code"
    assert refused.value.faults[0].where == "front, piece A, panel panel"


def test_a_statement_without_words() -> None:
    """A statement that the language can't say is refused as its field's, and named."""

    class Mute(loads.FakeVoice):
        def say(self, statement: str, values: object = None) -> Said:
            raise WordingRefused([Fault("catalog es", "", statement, "no words", "translate it")])

    shape = layout(
        panel(field(What.STATEMENT, "label.lot", Box(20, 20, 30, 5), language="patient"))
    )
    with pytest.raises(ArtworkRefused) as refused:
        compose(shape, (loads.sheet(shape, patient=Mute("es")),), "made")
    (fault,) = refused.value.faults
    assert fault.field == "statement"
    assert fault.wrong == "catalog es, label.lot: no words"


@pytest.mark.parametrize("name", ["pack", "rx", "leaflet"])
def test_code_in_its_box(name: str) -> None:
    """A code with its quiet zone lies in the field's box."""
    box = Box(20, 20, 60, 25)
    shape = layout(panel(field(What.CODE, name, box, align="end", valign="bottom")))
    (item,) = compose(shape, (loads.sheet(shape),), "made").pages[0].items
    assert isinstance(item, CodeItem)
    assert inside(item.box, box)
    assert item.box.right_mm == pytest.approx(box.right_mm)
    assert item.box.bottom_mm == pytest.approx(box.bottom_mm)
    quiet = 2 * item.symbol.quiet_modules * item.symbol.x_mm
    assert item.box.w_mm == pytest.approx(item.symbol.width_mm + quiet)


def test_a_missing_code_is_left_out() -> None:
    """A pharmacy without a leaflet address has no QR code, and no gap that refuses."""
    shape = layout(panel(field(What.CODE, "leaflet", Box(20, 20, 30, 30))))
    assert compose(shape, (loads.sheet(shape, fill=False),), "made").pages[0].items == ()


def test_orientation_keys_are_printed() -> None:
    """Each orientation key of the face is a filled shape; no other line of the die is printed."""
    shape, artwork = lidding()
    keys = [i for i in items_of(artwork.pages[0]) if i.origin.field == "orientation-key"]
    assert len(keys) == len(shape.faces[0].keys) > 0
    assert all(i.fill == "#000000" for i in keys)
    assert keys[0].origin == Origin("layout", field="orientation-key")
