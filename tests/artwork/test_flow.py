"""Documents through a chain of areas: everything, in order, inside, or refused."""

import re
from itertools import pairwise

import artwork_loads as loads
import pytest
from artwork_layouts import chain
from artwork_reading import inked, inside, said, texts_of
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.artwork.composing import compose
from labelkit.artwork.page import StrokeItem, TextItem
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused
from labelkit.manifest.loads import SheetLoad
from labelkit.wording.model import Block, BlockKind, Document

SENTENCE = st.lists(
    st.text("abcdefghijklmnop", min_size=1, max_size=11), min_size=1, max_size=30
).map(" ".join)
PICTURES = ("step-dry-hands", "step-peel", "step-take-out")


@st.composite
def blocks(draw: st.DrawFn) -> Block:
    """Any block a document may hold."""
    kind = draw(st.sampled_from(list(BlockKind)))
    count = {BlockKind.STEPS: 3, BlockKind.TABLE: 4}.get(kind, 1)
    texts = tuple(loads.said(draw(SENTENCE)) for _ in range(count))
    pictures = PICTURES if kind is BlockKind.STEPS else ()
    return Block(kind, texts, pictures, 2 if kind is BlockKind.TABLE else 1)


DOCUMENTS = st.lists(blocks(), min_size=1, max_size=12).map(
    lambda found: Document("leaflet", "en", "Title", tuple(found))
)
HEIGHTS = st.lists(st.floats(60, 250), min_size=1, max_size=4)


def composed(document: Document, heights: list[float], width_mm: float = 46, **more: object):
    """The document through boxes of these heights, side by side."""
    step = 50 if width_mm <= 46 else width_mm + 4
    boxes = [Box(8 + step * n, 10, width_mm, height) for n, height in enumerate(heights)]
    shape = chain(*boxes, **{"wanted_pt": 12, "least_pt": 9, **more})
    piece = loads.piece(shape, "A", 1)
    load = loads.with_document(piece, document)
    return boxes, compose(shape, (SheetLoad((load,)),), "made")


@settings(max_examples=60, deadline=None)
@given(document=DOCUMENTS, heights=HEIGHTS)
def test_everything_in_order_and_inside(document: Document, heights: list[float]) -> None:
    """Each text comes out whole, in the document's order, in boxes of the chain's order."""
    try:
        boxes, artwork = composed(document, heights)
    except ArtworkRefused:
        return
    items = texts_of(artwork)
    wanted = " ".join(text.text for block in document.blocks for text in block.said)
    lines = [(line.text, line.hyphen) for item in items for line in item.lines]
    found = "".join(text if hyphen else text + " " for text, hyphen in lines)
    assert found.split() == wanted.split()
    placed = [next(n for n, box in enumerate(boxes) if inside(inked(i), box)) for i in items]
    assert placed == sorted(placed)
    strokes = [i for page in artwork.pages for i in page.items if isinstance(i, StrokeItem)]
    assert all(any(inside(i.box, box) for box in boxes) for i in strokes)


@settings(max_examples=40, deadline=None)
@given(document=DOCUMENTS, heights=HEIGHTS)
def test_no_heading_alone_and_no_single_line(document: Document, heights: list[float]) -> None:
    """No area ends with a heading while text follows, and no paragraph leaves a line alone."""
    try:
        boxes, artwork = composed(document, heights)
    except ArtworkRefused:
        return
    in_areas = [[i for i in texts_of(artwork) if inside(i.box, box)] for box in boxes]
    filled = [items for items in in_areas if items]
    for items, following in pairwise(filled):
        roles = [item.tag.role for item in items if item.tag is not None]
        last, first = items[-1].tag, following[0].tag
        # Only a run of headings that no area holds is divided, between two of them.
        run = set(roles) <= {"H1", "H2"} or (first and first.role in ("H1", "H2"))
        assert run or roles[-1] not in ("H1", "H2")
        if last and first and (last.role, last.group) == (first.role, first.group):
            assert len(items[-1].lines) >= 2
            assert len(following[0].lines) >= 2


@settings(max_examples=40, deadline=None)
@given(document=DOCUMENTS)
def test_measure_of_an_overflow(document: Document) -> None:
    """A box of the height a refusal asks for, and a little for what stays together, is enough."""
    try:
        composed(document, [25.0], width_mm=150)
    except ArtworkRefused as refused:
        wrong = refused.faults[0].wrong
        needed = float(re.findall(r"needs ([\d.]+) mm", wrong)[0])
        over = float(re.findall(r"([\d.]+) mm too high", wrong)[0])
        assert needed == pytest.approx(25.0 + over, abs=0.11)
        _, artwork = composed(document, [needed + 25.0], width_mm=150)
        assert texts_of(artwork)


def test_as_large_as_fits() -> None:
    """With room to spare the wanted size is used; with less, a smaller one; never under least."""
    document = loads.document()
    sizes = []
    for height in (260.0, 120.0):
        _, artwork = composed(document, [height], width_mm=90)
        body = [i for i in texts_of(artwork) if i.tag is not None and i.tag.role == "LI"]
        sizes.append(body[0].lines[0].runs[0].size_pt)
    assert sizes[0] == 12
    assert 9 <= sizes[1] < 12


def test_a_divided_paragraph_is_one_element() -> None:
    """A paragraph that goes on in the next area keeps its group, two lines at least on each
    side, and is read there in the chain's order."""
    text = " ".join(["Put the tablet under your tongue and let it dissolve."] * 12)
    block = Block(BlockKind.PARAGRAPH, (loads.said(text),))
    _, artwork = composed(Document("leaflet", "en", "Title", (block,)), [60.0, 60.0, 60.0])
    parts = texts_of(artwork)
    assert len(parts) > 1
    assert len({item.tag.group for item in parts if item.tag}) == 1
    assert [item.tag.order for item in parts if item.tag] == list(range(1, len(parts) + 1))
    assert min(len(item.lines) for item in parts) >= 2
    assert said(parts) == text


def test_no_line_of_a_paragraph_alone() -> None:
    """However high the first area, a paragraph of seven lines has two on each side, or none."""
    block = Block(BlockKind.PARAGRAPH, (loads.said("Let the tablet dissolve there. " * 6),))
    document = Document("leaflet", "en", "Title", (block,))
    divisions = set()
    for height in range(4, 60, 2):
        _, artwork = composed(document, [float(height), 100.0], least_pt=12)
        divisions.add(tuple(len(item.lines) for item in texts_of(artwork)))
    count = sum(max(divisions))
    assert divisions == {(count,), *((n, count - n) for n in range(2, count - 1))}


def test_a_table_higher_than_any_area_is_divided() -> None:
    """A table that no area holds goes on in the next one instead of being refused."""
    texts = tuple(loads.said(f"{n} mg") for n in range(60))
    block = Block(BlockKind.TABLE, texts, columns=2)
    _, artwork = composed(Document("leaflet", "en", "Title", (block,)), [100.0, 100.0])
    columns = [item.box.x_mm for item in texts_of(artwork)]
    assert len(columns) == 60
    assert sum(x > 55 for x in columns) > 20


def test_no_list_entry_alone() -> None:
    """Of a list that goes on in the next area, two entries at least stand on each side."""
    entries = [Block(BlockKind.ITEM, (loads.said(f"Entry {n} of the list"),)) for n in range(8)]
    title = Block(BlockKind.PARAGRAPH, (loads.said("Filler. " * 40),))
    document = Document("leaflet", "en", "Title", (title, *entries))
    divided = set()
    for height in range(40, 140, 2):
        _, artwork = composed(document, [float(height), 140.0], least_pt=12)
        areas = [i.box.x_mm // 50 for i in texts_of(artwork) if said([i]).startswith("Entry")]
        divided.add(areas.count(0))
    assert divided == {0, 2, 3, 4, 5, 6, 8}


def test_a_heading_stays_with_a_table_that_is_divided() -> None:
    """Even where the table is higher than an area, its heading goes with its first rows."""
    texts = tuple(loads.said(f"{n} mg") for n in range(80))
    filler = Block(BlockKind.PARAGRAPH, (loads.said("Filler. " * 30),))
    heading = Block(BlockKind.HEADING, (loads.said("Comparison"),))
    table = Block(BlockKind.TABLE, texts, columns=2)
    document = Document("leaflet", "en", "Title", (filler, heading, table))
    for height in range(60, 110, 3):
        heights = [float(height), 100.0, 100.0, 100.0]
        _, artwork = composed(document, heights, least_pt=12)
        areas = {said([i]): i.box.x_mm // 50 for i in texts_of(artwork)}
        assert areas["Comparison"] == areas["0 mg"] == areas["1 mg"]


def test_a_list_stays_with_the_line_that_opens_it() -> None:
    """A paragraph before a list doesn't end an area when the list begins the next."""
    filler = Block(BlockKind.PARAGRAPH, (loads.said("Filler. " * 60),))
    opening = Block(BlockKind.PARAGRAPH, (loads.said("It is used for:"),))
    entry = Block(BlockKind.ITEM, (loads.said("Trouble falling asleep, now and then. " * 4),))
    document = Document("leaflet", "en", "Title", (filler, opening, entry))
    together = set()
    for height in range(80, 200, 6):
        _, artwork = composed(document, [float(height), 100.0])
        areas = {said([item]): item.box.x_mm // 50 for item in texts_of(artwork)}
        together.add(areas["It is used for:"])
        assert areas["It is used for:"] == areas[entry.said[0].text.strip()]
    assert together == {0, 1}


def test_tags() -> None:
    """Headings, entries, cells and figures say what they are; figures have words."""
    _, artwork = composed(loads.document(), [260.0], width_mm=90)
    tags = [(i.tag.role, i.tag.group) for i in texts_of(artwork) if i.tag is not None]
    roles = [role for role, _ in tags]
    assert roles == ["H1", "P", "H2", "P", "LI", "LI", "P", "P", "P", "TH", "TH", "TD", "TD"]
    lists = [group for role, group in tags if role == "LI"]
    assert len(set(lists)) == 2
    assert {group.partition("/")[0] for group in lists} == {"l1"}
    rows = [group for role, group in tags if role in ("TH", "TD")]
    assert rows[0] == rows[1] != rows[2] == rows[3]
    figures = [
        i.tag for i in artwork.pages[0].items if isinstance(i, StrokeItem) and i.tag is not None
    ]
    assert [tag.role for tag in figures] == ["Figure"] * 3
    assert all(tag.alt for tag in figures)
    assert artwork.tagged


def test_right_to_left_steps() -> None:
    """In a right-to-left language the first step stands on the right, its picture turned."""
    arabic = loads.FakeVoice("ar", rtl=True)
    shape = chain(Box(10, 10, 180, 240), language="patient", wanted_pt=12, least_pt=9)
    artwork = compose(shape, (loads.sheet(shape, patient=arabic),), "made")
    steps = [
        i for i in texts_of(artwork) if said([i]) in ("Dry your hands.", "Take the tablet out.")
    ]
    assert steps[0].box.x_mm > steps[1].box.x_mm


def test_other_kinds_of_text_item() -> None:
    """Every text of a flow lies whole in its own box."""
    _, artwork = composed(loads.document(repeat=3), [200.0, 200.0, 200.0], width_mm=60)
    for item in texts_of(artwork):
        assert isinstance(item, TextItem)
        assert inside(inked(item), item.box)
