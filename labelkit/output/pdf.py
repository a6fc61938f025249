"""An artwork to the bytes of a PDF.

Gives the same bytes for the same artwork: no date, no random id. Its metadata hold the
title and the language, and nothing of a patient. Decides nothing about what is drawn.
"""

from labelkit.artwork.page import Artwork, Item, Page
from labelkit.ground.units import mm_to_pt
from labelkit.output.content import Drawer, Fonts
from labelkit.output.writer import File, Name, Ref, Text, number
from labelkit.typeset.paragraph import tag

_PRODUCER = "labelkit"


def write(artwork: Artwork) -> bytes:
    """The whole file.

    Page boxes are the sheet (media, crop, bleed and trim); viewers are told not to scale
    when printing. Text common to pages is one form, painted under each page's own items.
    """
    file = File()
    fonts = Fonts()
    drawer = Drawer(fonts)
    pages_ref = file.reserve()
    fonts_ref = file.reserve()
    forms = _Forms(file, drawer, fonts_ref)
    pages = [_page(page, file, drawer, forms, pages_ref, fonts_ref) for page in artwork.pages]
    file.fill(pages_ref, {"Type": Name("Pages"), "Kids": pages, "Count": len(pages)})
    file.fill(fonts_ref, _write_fonts(file, fonts))
    return file.finish(
        {
            "Type": Name("Catalog"),
            "Pages": pages_ref,
            "Lang": Text(tag(artwork.language)),
            "ViewerPreferences": _preferences(artwork),
        },
        {"Title": Text(artwork.title), "Producer": Text(_PRODUCER)},
    )


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


class _Forms:
    """Form XObjects for the items that pages share, one per different tuple."""

    def __init__(self, file: File, drawer: Drawer, fonts_ref: Ref) -> None:
        self._file, self._drawer, self._fonts_ref = file, drawer, fonts_ref
        self._made: dict[tuple[tuple[Item, ...], float, float], tuple[str, Ref]] = {}

    def of(self, page: Page) -> tuple[str, Ref] | None:
        """Name and reference of the page's form; None where it shares nothing."""
        if not page.shared:
            return None
        key = (page.shared, page.width_mm, page.height_mm)
        if key not in self._made:
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
            self._made[key] = (f"S{len(self._made)}", ref)
        return self._made[key]


def _sheet(page: Page) -> list[object]:
    return [0, 0, number(mm_to_pt(page.width_mm)), number(mm_to_pt(page.height_mm))]


def _page(
    page: Page, file: File, drawer: Drawer, forms: _Forms, pages_ref: Ref, fonts_ref: Ref
) -> Ref:
    content = drawer.items(page.items, page.height_mm)
    resources: dict[str, object] = {"Font": fonts_ref}
    form = forms.of(page)
    if form:
        name, ref = form
        content = f"/{name} Do\n{content}"
        resources["XObject"] = {name: ref}
    boxes = ("MediaBox", "CropBox", "BleedBox", "TrimBox")
    return file.add(
        {
            "Type": Name("Page"),
            "Parent": pages_ref,
            "Resources": resources,
            "Contents": file.stream({}, content.encode("ascii")),
            **{box: _sheet(page) for box in boxes},
        }
    )
