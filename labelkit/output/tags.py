"""The structure of a tagged file: what each mark on its pages is, in reading order.

A structure tree over marked content (ISO 32000-1, 14.7 and 14.8; as ISO 14289-1 asks of a
universally accessible file): headings, paragraphs, lists, tables, figures with alternative
text, languages where they change; everything without a tag is an artifact. Reading order
is that of the tags' order, then of the items. Claims no conformance: no validator has said so.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import zip_longest

from labelkit.artwork.page import Artwork, CodeItem, Item, Page, StrokeItem, Tag, TextItem
from labelkit.ground.box import Box
from labelkit.ground.units import mm_to_pt
from labelkit.output.reading import UNSPACED
from labelkit.output.writer import File, Name, Ref, Text, number
from labelkit.typeset.model import TextLine
from labelkit.typeset.paragraph import tag as bcp47

_CONTAINERS = {"LI": ("L",), "TH": ("Table", "TR"), "TD": ("Table", "TR")}
"""What a role's group path names, from the outside: a list's item, a table's cell."""

_ATTRIBUTES: dict[str, dict[str, object]] = {
    "L": {"O": Name("List"), "ListNumbering": Name("Disc")},
    "TH": {"O": Name("Table"), "Scope": Name("Column")},
}


@dataclass
class Element:
    """One structure element: its children and the marked content it stands for."""

    role: str
    key: tuple[str, ...] = ()
    """What its next part must name to go on with it; empty for one that has no parts."""
    language: str = ""
    alt: str = ""
    kids: list["Element"] = field(default_factory=list)
    content: list[tuple[int, int]] = field(default_factory=list)
    """Page index and marked-content id."""
    lines: list[TextLine] = field(default_factory=list)
    box: tuple[int, Box] | None = None
    """Page index and place of its first item."""
    order: int = 0
    """Place in the reading order among the document's own, as its first item's tag has it."""

    def text(self) -> str:
        """What it says, in logical order."""
        said = ""
        for line, after in zip_longest(self.lines, self.lines[1:]):
            said += line.text
            if after is not None and not line.hyphen and not _unspaced(line):
                said += " "
        return said

    def needs_actual_text(self) -> bool:
        """Whether the content alone would read otherwise: broken words, and lines
        written as they are seen, from left to right."""
        return any(line.hyphen or len({run.rtl for run in line.runs}) > 1 for line in self.lines)


@dataclass(frozen=True, slots=True)
class Span:
    """Items in a row that are one marked-content sequence; no element means an artifact."""

    items: tuple[Item, ...]
    element: Element | None
    mcid: int


@dataclass(frozen=True, slots=True)
class _Target:
    """The file that the tree is written to, and the references it names."""

    file: File
    pages: list[Ref]
    sheets: tuple[Page, ...]
    refs: dict[int, Ref]


class Structure:
    """The structure of one artwork, built page by page."""

    def __init__(self, artwork: Artwork) -> None:
        self.root = Element("Document", language=bcp47(artwork.language))
        self._language = bcp47(artwork.language)
        self._pages: list[list[Element]] = []

    def spans(self, page: Page) -> list[Span]:
        """The items of the next page, common ones first, as marked content."""
        index = len(self._pages)
        owners: list[Element] = []
        self._pages.append(owners)
        found: list[Span] = []
        for items, tag in _grouped((*page.shared, *page.items)):
            if tag is None:
                found.append(Span(items, None, -1))
                continue
            element = self._element(tag, items[0], index)
            element.content.append((index, len(owners)))
            found.append(Span(items, element, len(owners)))
            owners.append(element)
        return found

    def _element(self, tag: Tag, item: Item, page: int) -> Element:
        """The element of a tag, made where it is new, inside the containers its group names."""
        path = (item.origin.language, *tag.group.split("/")) if tag.group else ()
        roles = _CONTAINERS.get(tag.role, ())
        parent, known = self.root, len(self.root.kids)
        for depth, role in enumerate(roles[: len(path) - 1], start=2):
            parent = _named(role, path[:depth], parent)
        if tag.role in ("TH", "TD", "Figure") or not path:
            element = Element(tag.role)
            parent.kids.append(element)
        else:
            element = _named(tag.role, path, parent)
            if tag.role == "LI":
                element = _named("LBody", path, element)
        for new in self.root.kids[known:]:
            new.order = tag.order
        element.alt = tag.alt
        if element.box is None:
            element.box = (page, item.box)
        if isinstance(item, TextItem):
            language = bcp47(item.origin.language)
            element.language = language if language != self._language else element.language
            element.lines += item.lines
        return element

    def write(self, file: File, pages: list[Ref], sheets: tuple[Page, ...]) -> dict[str, object]:
        """Add the tree to the file; the catalog's entries for it."""
        root = file.reserve()
        refs: dict[int, Ref] = {}
        # A folded sheet's panels are read in another order than its pages have them.
        self.root.kids.sort(key=lambda kid: kid.order)
        top = self._write(self.root, root, _Target(file, pages, sheets, refs))
        nums: list[object] = []
        for index, owners in enumerate(self._pages):
            nums += [index, file.add([refs[id(owner)] for owner in owners])]
        tree = {
            "Type": Name("StructTreeRoot"),
            "K": [top],
            "ParentTree": file.add({"Nums": nums}),
            "ParentTreeNextKey": len(self._pages),
        }
        file.fill(root, tree)
        return {"StructTreeRoot": root, "MarkInfo": {"Marked": True}}

    def _write(self, element: Element, parent: Ref, target: _Target) -> Ref:
        ref = target.refs[id(element)] = target.file.reserve()
        kids: list[object] = [self._write(kid, ref, target) for kid in element.kids]
        kids += [
            {"Type": Name("MCR"), "Pg": target.pages[page], "MCID": mcid}
            for page, mcid in element.content
        ]
        said: dict[str, object] = {
            "Type": Name("StructElem"),
            "S": Name(element.role),
            "P": parent,
            "K": kids,
        }
        if element.language:
            said["Lang"] = Text(element.language)
        if element.alt:
            said["Alt"] = Text(element.alt)
        if element.needs_actual_text():
            said["ActualText"] = Text(element.text())
        if element.role in _ATTRIBUTES:
            said["A"] = _ATTRIBUTES[element.role]
        if element.role == "Figure" and element.box:
            page, box = element.box
            corners = _corners(box, target.sheets[page].height_mm)
            said["A"] = {"O": Name("Layout"), "BBox": corners}
        target.file.fill(ref, said)
        return ref

    def headings(self) -> Iterator[tuple[int, Element]]:
        """Level and element of every heading, in order."""
        for kid in self.root.kids:
            if kid.role[0] == "H" and kid.role[1:].isdigit():
                yield int(kid.role[1:]), kid


def _unspaced(line: TextLine) -> bool:
    return bool(line.runs) and line.runs[-1].language.startswith(UNSPACED)


def _named(role: str, key: tuple[str, ...], parent: Element) -> Element:
    """The parent's last child where it is this one, gone on with; else a new one."""
    if not parent.kids or (parent.kids[-1].role, parent.kids[-1].key) != (role, key):
        parent.kids.append(Element(role, key))
    return parent.kids[-1]


def _corners(box: Box, height_mm: float) -> list[object]:
    edges = (box.x_mm, height_mm - box.bottom_mm, box.right_mm, height_mm - box.y_mm)
    return [number(mm_to_pt(edge)) for edge in edges]


def _grouped(items: tuple[Item, ...]) -> Iterator[tuple[tuple[Item, ...], Tag | None]]:
    """Items with their tag; a drawing's strokes are together, a code is a figure of its own."""
    i = 0
    while i < len(items):
        item = items[i]
        if isinstance(item, CodeItem):
            tag: Tag | None = Tag("Figure", alt=item.symbol.data.human or item.symbol.data.payload)
        else:
            tag = item.tag
        j = i + 1
        if isinstance(item, StrokeItem) and tag is not None:
            while j < len(items) and _continues(item, items[j]):
                j += 1
        yield items[i:j], tag
        i = j


def _continues(first: StrokeItem, item: Item) -> bool:
    return isinstance(item, StrokeItem) and item.tag is None and item.origin == first.origin
