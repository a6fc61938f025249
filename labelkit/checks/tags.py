"""The tags of a leaflet: what a screen reader reads out, in which order and language.

Follows the structure tree to the marked content of the pages, and compares that with the
documents that the manifest states. A file without tags is silent for who can't see it.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium

from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.streams import bones, normal
from labelkit.manifest.model import Manifest

HEADINGS = frozenset(("/H", "/H1", "/H2", "/H3", "/H4", "/H5", "/H6"))
"""Standard structure types of headings: ISO 32000-1, 14.8.4.3.2."""

HEADED = "leaflet.heading."
"""Statements that begin a part of a leaflet."""

MOST_DEEP = 40


@dataclass(frozen=True)
class _Leaf:
    """A stretch of marked content, with the element that holds it."""

    role: str
    language: str
    told: str
    """Letters and signs of its text, without spaces."""


def check_tags(
    document: pypdfium2.PdfDocument, structure: pikepdf.Pdf, manifest: Manifest
) -> list[Finding]:
    """Everything wrong with the tags of a leaflet; nothing for other artwork, which has none."""
    if manifest.artwork != "leaflet":
        return []
    root = structure.Root.get("/StructTreeRoot")
    marked = structure.Root.get("/MarkInfo", pikepdf.Dictionary()).get("/Marked", False)
    if root is None or not marked:
        return [_wrong("has no tags, or doesn't say so", "a tagged file", "none")]
    preferences = structure.Root.get("/ViewerPreferences", pikepdf.Dictionary())
    found = []
    if not preferences.get("/DisplayDocTitle", False):
        found.append(
            _wrong("shows its file name in place of its title", "DisplayDocTitle", "nothing")
        )
    texts = [_marked_texts(document, number) for number in range(len(document))]
    pages = {page.obj.objgen: number for number, page in enumerate(structure.pages)}
    tree = _Tree(pages, texts)
    tree.walk(root.get("/K"), "", str(structure.Root.get("/Lang", "")), None, MOST_DEEP)
    found += tree.findings
    found += _read_out(tree.leaves, manifest)
    return found


def _wrong(what: str, expected: str, told: str) -> Finding:
    return sentence(FindingKind.TAGS_WRONG, 0, what, expected=expected, found=told)


class _Tree:
    """Walks the elements in the order in which they are read out."""

    def __init__(self, pages: dict[tuple[int, int], int], texts: list[dict[int, str]]) -> None:
        self.pages, self.texts = pages, texts
        self.leaves: list[_Leaf] = []
        self.findings: list[Finding] = []

    def walk(self, node: object, role: str, language: str, page: object, deep: int) -> None:
        """Add what is under a node."""
        if not deep or node is None:
            return
        if isinstance(node, pikepdf.Array):
            for kid in node:
                self.walk(kid, role, language, page, deep - 1)
        elif isinstance(node, pikepdf.Dictionary):
            page = node.get("/Pg", page)
            if "/MCID" in node:
                self._leaf(int(node["/MCID"]), role, language, page)
                return
            role = str(node.get("/S", role))
            language = str(node.get("/Lang", language))
            if role == "/TR" and not _in_content_order(node):
                self.findings.append(
                    _wrong(
                        "reads the cells of a row in another order", "as printed", "turned round"
                    )
                )
            if "/ActualText" in node:
                # Read out in place of what it holds: broken words, right-to-left lines.
                told = bones(normal(str(node["/ActualText"])))[0]
                self.leaves.append(_Leaf(role, language, told))
                return
            if role == "/Figure" and not str(node.get("/Alt", "")).strip():
                self.findings.append(
                    _wrong("has a picture without words that stand for it", "/Alt", "nothing")
                )
            self.walk(node.get("/K"), role, language, page, deep - 1)
        elif isinstance(node, int):
            self._leaf(node, role, language, page)

    def _leaf(self, mcid: int, role: str, language: str, page: object) -> None:
        number = self.pages.get(page.objgen) if isinstance(page, pikepdf.Object) else None
        told = self.texts[number].get(mcid, "") if number is not None else ""
        if told:
            self.leaves.append(_Leaf(role, language, told))


def _in_content_order(row: pikepdf.Dictionary) -> bool:
    """Whether a row's cells are read in the order in which they are drawn: numbers of marked
    content rise through a page (the cells of the two columns may hold equal words)."""
    kids = row.get("/K")
    cells = list(kids) if isinstance(kids, pikepdf.Array) else []
    first = [number for cell in cells for number in _contents(cell, MOST_DEEP)[:1]]
    return first == sorted(first)


def _contents(node: object, deep: int) -> list[int]:
    """Numbers of the marked content under a node."""
    if not deep:
        return []
    if isinstance(node, int):
        return [node]
    if isinstance(node, pikepdf.Array):
        return [number for kid in node for number in _contents(kid, deep - 1)]
    if isinstance(node, pikepdf.Dictionary):
        return [int(node["/MCID"])] if "/MCID" in node else _contents(node.get("/K"), deep - 1)
    return []


def _read_out(leaves: list[_Leaf], manifest: Manifest) -> Iterator[Finding]:
    """The documents' texts, each after the one before it, in their language; headings as such."""
    letters = [Counter(leaf.told) for leaf in leaves]
    for flow in manifest.flows:
        at = 0
        for text in flow.texts:
            wanted = bones(normal(text.text))[0]
            counted = Counter(wanted)
            hit = next(
                (
                    number
                    for number in range(at, len(leaves))
                    if wanted in leaves[number].told or letters[number] == counted
                ),
                None,
            )
            if hit is None:
                yield _wrong(
                    f"isn't read out as it is printed: {text.id} is missing, or comes too early",
                    text.text,
                    "another order",
                )
                return
            at = hit
            leaf = leaves[hit]
            if leaf.language.split("-")[0] != text.language.split("-")[0]:
                yield _wrong(
                    f"reads {text.id} out as {leaf.language or 'no language'}",
                    text.language,
                    leaf.language,
                )
                return
            if text.id.startswith(HEADED) and leaf.role not in HEADINGS:
                yield _wrong(f"doesn't tag {text.id} as a heading", "a heading", leaf.role)
                return


def _marked_texts(document: pypdfium2.PdfDocument, number: int) -> dict[int, str]:
    """What each marked-content sequence of a page says, without spaces and hyphens."""
    page = document[number]
    textpage = page.get_textpage()
    try:
        count = textpage.count_chars()
        told: dict[int, list[str]] = {}
        objects = ((pdfium.FPDFText_GetTextObject(textpage.raw, i), i) for i in range(count))
        for mcid, some in groupby(objects, key=lambda one: _mcid(one[0])):
            if mcid >= 0:
                told.setdefault(mcid, []).extend(
                    chr(pdfium.FPDFText_GetUnicode(textpage.raw, i)) for _, i in some
                )
        return {mcid: bones(normal("".join(said)))[0] for mcid, said in told.items()}
    finally:
        textpage.close()
        page.close()


def _mcid(one: object) -> int:
    return pdfium.FPDFPageObj_GetMarkedContentID(one) if one else -1
