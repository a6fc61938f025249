"""Reads a tagged file's structure with PDFium: role, language, texts, in its own order."""

import ctypes
from dataclasses import dataclass, field

import pypdfium2 as pdfium
import pypdfium2.raw as raw


@dataclass
class Seen:
    """An element as PDFium tells it."""

    role: str
    language: str = ""
    alt: str = ""
    actual: str = ""
    content: str = ""
    """Text of its own marked content, as PDFium takes it from the page."""
    kids: list["Seen"] = field(default_factory=list)

    def outline(self) -> str:
        """Roles as nested words: ``Document(H1 P L(LI(LBody)))``."""
        inner = " ".join(kid.outline() for kid in self.kids)
        return f"{self.role}({inner})" if inner else self.role

    def walk(self) -> list["Seen"]:
        """Itself and all below, in reading order."""
        return [self, *(one for kid in self.kids for one in kid.walk())]


def _text(ask, *subject) -> str:
    size = ask(*subject, None, 0)
    if size <= 2:
        return ""
    buffer = ctypes.create_string_buffer(size)
    ask(*subject, buffer, size)
    return buffer.raw[: size - 2].decode("utf-16-le")


def _contents(page: pdfium.PdfPage) -> dict[int, str]:
    """Text of each marked-content id of the page, objects in content order."""
    textpage = page.get_textpage()
    found: dict[int, str] = {}
    for i in range(raw.FPDFPage_CountObjects(page.raw)):
        item = raw.FPDFPage_GetObject(page.raw, i)
        mcid = raw.FPDFPageObj_GetMarkedContentID(item)
        if mcid >= 0 and raw.FPDFPageObj_GetType(item) == raw.FPDF_PAGEOBJ_TEXT:
            said = _text(lambda *a: raw.FPDFTextObj_GetText(*_wide(a)), item, textpage.raw)
            found[mcid] = (found.get(mcid, "") + " " + said).strip()
    return found


def _wide(arguments):
    """FPDFTextObj_GetText takes an array of 16-bit units and a length in bytes."""
    item, textpage, buffer, size = arguments
    if buffer is not None:
        buffer = ctypes.cast(buffer, ctypes.POINTER(raw.FPDF_WCHAR))
    return item, textpage, buffer, size


def structure_of(data: bytes, number: int = 0) -> list[Seen]:
    """The top elements of a page's structure."""
    document = pdfium.PdfDocument(data)
    page = document[number]
    contents = _contents(page)
    tree = raw.FPDF_StructTree_GetForPage(page.raw)
    try:
        count = raw.FPDF_StructTree_CountChildren(tree)
        return [_seen(raw.FPDF_StructTree_GetChildAtIndex(tree, i), contents) for i in range(count)]
    finally:
        raw.FPDF_StructTree_Close(tree)


def _seen(element, contents: dict[int, str]) -> Seen:
    found = Seen(
        _text(raw.FPDF_StructElement_GetType, element),
        _text(raw.FPDF_StructElement_GetLang, element),
        _text(raw.FPDF_StructElement_GetAltText, element),
        _text(raw.FPDF_StructElement_GetActualText, element),
    )
    for i in range(raw.FPDF_StructElement_CountChildren(element)):
        child = raw.FPDF_StructElement_GetChildAtIndex(element, i)
        if child:
            found.kids.append(_seen(child, contents))
            continue
        mcid = raw.FPDF_StructElement_GetChildMarkedContentID(element, i)
        if mcid >= 0:
            found.content = (found.content + " " + contents.get(mcid, "")).strip()
    return found
