"""An artwork to the bytes of a PDF.

Gives the same bytes for the same artwork: no date, no random id. Its metadata hold the
title and the language, and nothing of a patient. Decides nothing about what is drawn.
"""

from labelkit.artwork.page import Artwork, Item, Page
from labelkit.ground.units import mm_to_pt
from labelkit.output.bookmarks import bookmarks
from labelkit.output.content import Drawer, Fonts
from labelkit.output.metadata import PRODUCER, xmp
from labelkit.output.tags import Structure
from labelkit.output.writer import File, Name, Ref, Text, number
from labelkit.typeset.paragraph import tag


def write(artwork: Artwork) -> bytes:
    """The whole file.

    Page boxes are the sheet (media, crop, bleed and trim); viewers are told not to scale
    when printing. Text common to pages is one form, painted under each page's own items; a
    tagged file has no forms, since marked content may be painted only once (ISO 32000-1,
    14.7.4.2).
    """
    file = File()
    fonts = Fonts()
    drawer = Drawer(fonts)
    pages_ref = file.reserve()
    fonts_ref = file.reserve()
    sheets = _Sheets(file, drawer, pages_ref, fonts_ref)
    structure = Structure(artwork) if artwork.tagged else None
    pages = [
        sheets.tagged(page, structure, index) if structure else sheets.plain(page)
        for index, page in enumerate(artwork.pages)
    ]
    file.fill(pages_ref, {"Type": Name("Pages"), "Kids": pages, "Count": len(pages)})
    file.fill(fonts_ref, _write_fonts(file, fonts))
    language = tag(artwork.language)
    catalog: dict[str, object] = {
        "Type": Name("Catalog"),
        "Pages": pages_ref,
        "Lang": Text(language),
        "ViewerPreferences": _preferences(artwork),
        "Metadata": file.raw_stream(
            {"Type": Name("Metadata"), "Subtype": Name("XML")}, xmp(artwork.title, language)
        ),
    }
    if structure:
        catalog |= structure.write(file, pages, artwork.pages)
        catalog |= bookmarks(structure, file, pages, artwork.pages)
    return file.finish(catalog, {"Title": Text(artwork.title), "Producer": Text(PRODUCER)})


def _preferences(artwork: Artwork) -> dict[str, object]:
    """How viewers show and print the file (ISO 32000-1, table 150)."""
    said: dict[str, object] = {"DisplayDocTitle": True, "PrintScaling": Name("None")}
    if artwork.duplex:
        short = artwork.flip == "short-edge"
        said["Duplex"] = Name("DuplexFlipShortEdge" if short else "DuplexFlipLongEdge")
    return said


def _write_fonts(file: File, fonts: Fonts) -> dict[str, object]:
    refs: dict[str, object] = {}
    for font in fonts.by_key.values():
        ref = file.reserve()
        font.write(file, ref)
        refs[font.name] = ref
    return refs


class _Sheets:
    """Pages of one file, and the forms they share."""

    def __init__(self, file: File, drawer: Drawer, pages_ref: Ref, fonts_ref: Ref) -> None:
        self._file, self._drawer = file, drawer
        self._pages_ref, self._fonts_ref = pages_ref, fonts_ref
        self._forms: dict[tuple[tuple[Item, ...], float, float], tuple[str, Ref]] = {}
        self._last: tuple[Page, tuple[str, Ref]] | None = None

    def plain(self, page: Page) -> Ref:
        """An untagged page."""
        content = self._drawer.items(page.items, page.height_mm)
        if not page.shared:
            return self._add(page, content, {}, {})
        name, ref = self._form(page)
        return self._add(page, f"/{name} Do\n{content}", {"XObject": {name: ref}}, {})

    def tagged(self, page: Page, structure: Structure, index: int) -> Ref:
        """A page whose content is marked for the structure tree."""
        said: list[str] = []
        for span in structure.spans(page):
            if span.element is None:
                said.append("/Artifact BMC")
            else:
                said.append(f"/{span.element.role} <</MCID {span.mcid}>> BDC")
            said += [self._drawer.items(span.items, page.height_mm), "EMC"]
        return self._add(page, "\n".join(said), {}, {"StructParents": index, "Tabs": Name("S")})

    def _form(self, page: Page) -> tuple[str, Ref]:
        """Name and reference of the form for a page's common items; mostly the last page's."""
        if self._last is not None and _same_form(self._last[0], page):
            return self._last[1]
        key = (page.shared, page.width_mm, page.height_mm)
        if key not in self._forms:
            content = self._drawer.items(page.shared, page.height_mm)
            ref = self._file.stream(
                {
                    "Type": Name("XObject"),
                    "Subtype": Name("Form"),
                    "BBox": _sheet(page),
                    "Resources": {"Font": self._fonts_ref},
                },
                content.encode("ascii"),
            )
            self._forms[key] = (f"S{len(self._forms)}", ref)
        self._last = (page, self._forms[key])
        return self._forms[key]

    def _add(
        self, page: Page, content: str, resources: dict[str, object], more: dict[str, object]
    ) -> Ref:
        boxes = ("MediaBox", "CropBox", "BleedBox", "TrimBox")
        return self._file.add(
            {
                "Type": Name("Page"),
                "Parent": self._pages_ref,
                "Resources": {"Font": self._fonts_ref, **resources},
                "Contents": self._file.stream({}, content.encode("ascii")),
                **{box: _sheet(page) for box in boxes},
                **more,
            }
        )


def _same_form(one: Page, other: Page) -> bool:
    """Whether two pages share the very same items on sheets of one size: quicker to tell than
    by comparing the items."""
    size = (one.width_mm, one.height_mm)
    return one.shared is other.shared and size == (other.width_mm, other.height_mm)


def _sheet(page: Page) -> list[object]:
    return [0, 0, number(mm_to_pt(page.width_mm)), number(mm_to_pt(page.height_mm))]
