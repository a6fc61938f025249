"""The structure of tagged files, read back with PDFium and pikepdf."""

import io
from pathlib import Path

import pikepdf
from drawn_pages import LETTER, ORIGIN, plain, text_item
from needed import told_by
from structure_reading import Seen, structure_of

from labelkit.artwork.page import Artwork, CodeItem, Item, Origin, Page, StrokeItem, Tag
from labelkit.barcodes.data import leaflet_data
from labelkit.barcodes.symbols import symbol
from labelkit.ground.box import Box
from labelkit.output.pdf import write

LONG = "Do not push the tablet through the lid. It is made to be peeled and it breaks."


def at(place: int, height: float = 10, x: float = 20, width: float = 80) -> Box:
    return Box(x, 20 + 12 * place, width, height)


def stroke(place: int, tag: Tag | None = None, source: str = "picture:peel") -> StrokeItem:
    box = at(place)
    path = (("M", (box.x_mm, box.y_mm)), ("L", (box.right_mm, box.bottom_mm)))
    return StrokeItem(box, path, 0.5, Origin(source), tag=tag)


def leaflet(*pages: tuple[Item, ...], language: str = "en") -> bytes:
    sheets = tuple(Page(*LETTER, items) for items in pages)
    return write(Artwork("leaflet", "Your tablets", language, sheets, tagged=True))


FIRST: tuple[Item, ...] = (
    stroke(0, source="layout"),
    text_item("Your tablets", at(0), tag=Tag("H1", "b0.0")),
    text_item("How to take them", at(1), tag=Tag("H2", "b1.0")),
    text_item(LONG, at(2, 12), tag=Tag("P", "b2.0")),
    stroke(4, source="layout"),
    text_item("With dry hands", at(4), tag=Tag("LI", "l1/i3")),
    stroke(5, source="layout"),
    text_item("At once", at(5), tag=Tag("LI", "l1/i4")),
    text_item("Strength", at(6, width=30), tag=Tag("TH", "t5/r0")),
    text_item("Most in a day", at(6, x=60, width=40), tag=Tag("TH", "t5/r0")),
    text_item("25 mg", at(7, width=30), tag=Tag("TD", "t5/r1")),
    text_item("1 tablet", at(7, x=60, width=40), tag=Tag("TD", "t5/r1")),
    stroke(8, Tag("Figure", alt="A hand peels the lid from a tablet")),
    stroke(8),
    stroke(8),
    text_item("Peel from the corner", at(9), tag=Tag("P", "b6.0")),
    text_item("Despegue desde la esquina", at(10), "es", tag=Tag("P", "b7.0")),
    text_item("Who to call", at(11), tag=Tag("H2", "b8.0")),
)


def document(data: bytes, page: int = 0) -> Seen:
    tops = structure_of(data, page)
    assert len(tops) == 1
    return tops[0]


def test_roles_stand_in_reading_order() -> None:
    """Headings, paragraphs, a list, a table and a figure are what they are, in item order."""
    assert document(leaflet(FIRST)).outline() == (
        "Document(H1 H2 P L(LI(LBody) LI(LBody)) Table(TR(TH TH) TR(TD TD)) Figure P P H2)"
    )


def test_each_element_holds_its_text() -> None:
    """The text of each element's marked content is the item's text."""
    texts = [plain(one.content) for one in document(leaflet(FIRST)).walk() if one.content]
    assert texts == [
        "Your tablets",
        "How to take them",
        LONG,
        "With dry hands",
        "At once",
        "Strength",
        "Most in a day",
        "25 mg",
        "1 tablet",
        "Peel from the corner",
        "Despegue desde la esquina",
        "Who to call",
    ]


def test_lines_are_parted_by_spaces_for_poppler(tmp_path: Path) -> None:
    """A reader that joins content without looking at places still finds the words parted."""
    path = tmp_path / "tagged.pdf"
    path.write_bytes(leaflet((text_item(LONG, at(0, 12, width=40), tag=Tag("P", "b2.0")),)))
    assert f'"{LONG}"' in told_by("pdfinfo", "-struct-text", path).decode()


def test_languages_and_alternative_texts() -> None:
    """The document has its language, a paragraph in another has its own, a figure has its
    alternative text, its strokes are one figure, and a code is one with what it says."""
    code = symbol(leaflet_data("https://pharmacy.example/l/25"), 300, 30, 30)
    found = document(leaflet((*FIRST, CodeItem(at(13, 30, width=30), code, ORIGIN))))
    assert found.language == "en"
    assert [one.language for one in found.walk() if one.language] == ["en", "es"]
    figures = [one.alt for one in found.walk() if one.role == "Figure"]
    assert figures == ["A hand peels the lid from a tablet", "https://pharmacy.example/l/25"]


def test_a_text_that_goes_on_is_one_element() -> None:
    """A paragraph that flows on to the next page is one element with content on both; the
    same place in another document is another element."""
    start = text_item("Store it dry and", at(0), tag=Tag("P", "b2.0"))
    end = text_item("below 25 °C.", at(0), tag=Tag("P", "b2.0"))
    title = text_item("A title", at(1), tag=Tag("H1", "b0.0"))
    data = leaflet((title, start), (end, title))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        kids = pdf.Root.StructTreeRoot.K[0].K
        assert [str(kid.S) for kid in kids] == ["/H1", "/P", "/H1"]
        assert [len(kid.K) for kid in kids] == [1, 2, 1]
        pages = [mark.Pg.objgen for mark in kids[1].K]
        assert pages == [page.obj.objgen for page in pdf.pages]


def test_everything_drawn_is_tagged_or_an_artifact() -> None:
    """Every operator that paints is inside marked content; what has no tag is an artifact;
    marked-content ids and the parent tree name each other; there are no forms."""
    data = leaflet(FIRST)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[0]
        depth, artifacts, mcids = 0, 0, []
        for operands, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name == "BDC":
                mcids.append(int(operands[1].MCID))
            if name == "BMC":
                assert str(operands[0]) == "/Artifact"
                artifacts += 1
            depth += {"BDC": 1, "BMC": 1, "EMC": -1}.get(name, 0)
            if name in ("TJ", "S", "f", "B", "Do", "BI", "INLINE IMAGE"):
                assert depth == 1, name
        assert depth == 0
        assert artifacts == 3
        assert mcids == list(range(len(mcids)))
        tree = pdf.Root.StructTreeRoot.ParentTree.Nums
        assert int(tree[0]) == int(page.obj.StructParents) == 0
        for mcid, parent in enumerate(tree[1]):
            assert any(int(mark.MCID) == mcid for mark in parent.K)
        assert bool(pdf.Root.MarkInfo.Marked)
        assert "/XObject" not in page.Resources


def test_headings_are_bookmarks() -> None:
    """Bookmarks nest by heading level and lead to the heading's page and height."""
    data = leaflet(FIRST, (text_item("Storage", at(3), tag=Tag("H2", "b9.0")),))
    with pikepdf.open(io.BytesIO(data)) as pdf, pdf.open_outline() as outline:
        (title,) = outline.root
        assert title.title == "Your tablets"
        assert [kid.title for kid in title.children] == [
            "How to take them",
            "Who to call",
            "Storage",
        ]
        last = title.children[-1].destination
        assert last[0].objgen == pdf.pages[1].obj.objgen
        assert abs(float(last[3]) - (792 - (20 + 36) * 72 / 25.4)) < 0.01


def test_mixed_directions_have_their_actual_text() -> None:
    """Where content order isn't logical order, the element says its text itself."""
    text = "الجرعة 25 mg مرة واحدة"
    item = text_item(text, at(0), "ar", tag=Tag("P", "b0.0"), verbatim=("25 mg",))
    found = document(leaflet((item,), language="ar"))
    assert found.language == "ar"
    assert found.kids[0].actual == text


def test_title_and_language_in_the_metadata() -> None:
    """The XMP packet says title and language; there is no date in the whole file."""
    data = leaflet(FIRST)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        with pdf.open_metadata() as meta:
            assert meta["dc:title"] == "Your tablets"
            assert "en" in meta["dc:language"]
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
    assert b"CreationDate" not in data
    assert b"ModDate" not in data


def test_shared_items_of_a_tagged_file_are_tagged() -> None:
    """Common items come first in a tagged file's reading order, on every page."""
    common = text_item("Sildenafil 25 mg", at(0), tag=Tag("P"))
    page = Page(*LETTER, (text_item("Peel", at(1), tag=Tag("P")),), (common,))
    data = write(Artwork("leaflet", "Your tablets", "en", (page, page), tagged=True))
    for number in (0, 1):
        said = [one.content for one in document(data, number).kids if one.content]
        assert said == ["Sildenafil 25 mg", "Peel"]
