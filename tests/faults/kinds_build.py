"""Harms to how a file is built: content, boxes, what a printer is asked, remains."""

import pikepdf
from injecting import Work, each_page, kind, once
from marks import MM
from pikepdf import Array, Name
from sheets import Sheet


def _box(name: str, says: str, shrink: dict[str, float]) -> None:
    def harm(work: Work, page: int) -> None:
        wanted = work.manifest.pages[page]
        w, h = wanted.width_mm * MM, wanted.height_mm * MM
        for key, mm in shrink.items():
            edge = round(mm * MM, 2)
            work.pdf.pages[page][f"/{key}"] = Array(
                [edge, edge, round(w - edge, 2), round(h - edge, 2)]
            )

    kind(name, says, each_page)(harm)


_box("trim-box", "a page's trim box is 5 mm smaller on each side", {"TrimBox": 5})
_box("bleed-box", "a page's bleed box is 5 mm smaller on each side", {"BleedBox": 5})
_box("art-box", "a page's art box is 30 mm smaller on each side", {"ArtBox": 30})
_box("crop-box-2", "a page's crop box is 2 mm smaller on each side", {"CropBox": 2})


@kind("boxes-moved", "a page's boxes begin 3 mm beside its print", each_page)
def boxes_moved(work: Work, page: int) -> None:
    """Media, crop, bleed and trim box alike: the size stays, the print moves."""
    wanted = work.manifest.pages[page]
    left = 3 * MM
    sheet = [round(v, 2) for v in (left, 0, left + wanted.width_mm * MM, wanted.height_mm * MM)]
    for name in ("MediaBox", "CropBox", "BleedBox", "TrimBox"):
        work.pdf.pages[page][f"/{name}"] = Array(sheet)


@kind("page-rotated-270", "a page has a Rotate of 270 degrees", each_page)
def page_rotated_270(work: Work, page: int) -> None:
    """ISO 32000-1, 7.7.3.3."""
    work.pdf.pages[page].Rotate = 270


@kind("pages-turned", "all pages inherit a Rotate of 180 degrees", once)
def pages_turned(work: Work, place: None) -> None:
    """Set at the root of the page tree."""
    work.pdf.Root.Pages.Rotate = 180


@kind("user-unit-small", "a page's unit is 0.98 points", each_page)
def user_unit_small(work: Work, page: int) -> None:
    """Everything prints 2 % smaller (ISO 32000-1, 14.11.1)."""
    work.pdf.pages[page].UserUnit = 0.98


def _sheets(work: Work) -> list[Sheet]:
    return work.sheets


def _with_texts(work: Work) -> list[Sheet]:
    return [s for s in work.sheets if any(s is sheet for sheet, _, _ in work.required)]


@kind("stream-appended", "a second stream of content follows a page's own", _with_texts)
def stream_appended(work: Work, sheet: Sheet) -> None:
    """A white box over the page's last text, as an editor's redaction adds it."""
    block = [b for s, b, _ in work.required if s is sheet][-1]
    sheet.write()
    added = work.pdf.make_stream(f"q 1 g {block.box.grown(0.5).said} re f Q".encode())
    sheet.page.Contents = Array([sheet.page.Contents, added])
    sheet.write = lambda: None  # type: ignore[method-assign]


@kind("stream-lost", "a page's content breaks off in the middle", _sheets)
def stream_lost(work: Work, sheet: Sheet) -> None:
    """The second half of its text objects is gone."""
    middle = sheet.blocks[len(sheet.blocks) // 2].first
    sheet.remove(middle, len(sheet.steps) - 1)
    depth = sum({"q": 1, "Q": -1}.get(str(s.operator), 0) for s in sheet.steps if s is not None)
    opened = sum(
        {"BMC": 1, "BDC": 1, "EMC": -1}.get(str(s.operator), 0)
        for s in sheet.steps
        if s is not None
    )
    for _ in range(opened):
        sheet.on_top.extend(_parsed("EMC"))
    for _ in range(depth):
        sheet.on_top.extend(_parsed("Q"))


def _parsed(operators: str) -> list[pikepdf.ContentStreamInstruction]:
    holder = pikepdf.new()
    return list(pikepdf.parse_content_stream(holder.make_stream(operators.encode())))


# What a printer and a viewer are asked


def _preferences(name: str, says: str, **entries: object) -> None:
    def harm(work: Work, place: None) -> None:
        for key, value in entries.items():
            work.pdf.Root.ViewerPreferences[f"/{key}"] = value

    kind(name, says, once)(harm)


_preferences("scaling-to-fit", "viewers are asked for their own scaling",
             PrintScaling=Name.AppDefault)  # fmt: skip
_preferences("copies-asked", "the file asks for five copies", NumCopies=5)
_preferences("range-asked", "the file asks to print its first page only",
             PrintPageRange=Array([1, 1]))  # fmt: skip


def _two_sided(work: Work) -> list[None]:
    return [None] if "/Duplex" in work.pdf.Root.ViewerPreferences else []


@kind("duplex-other-edge", "the file asks to be turned over another edge", _two_sided)
def duplex_other_edge(work: Work, place: None) -> None:
    """The back would stand on its head."""
    asked = work.pdf.Root.ViewerPreferences
    short = asked.Duplex == Name.DuplexFlipShortEdge
    asked.Duplex = Name.DuplexFlipLongEdge if short else Name.DuplexFlipShortEdge


@kind("duplex-lost", "the file no longer asks for two-sided print", _two_sided)
def duplex_lost(work: Work, place: None) -> None:
    """The entry is gone."""
    del work.pdf.Root.ViewerPreferences["/Duplex"]


def _one_sided(work: Work) -> list[None]:
    return [] if _two_sided(work) else [None]


@kind("duplex-added", "a one-sided file asks for two-sided print", _one_sided)
def duplex_added(work: Work, place: None) -> None:
    """The second sheet of labels would be printed on the back of the first."""
    work.pdf.Root.ViewerPreferences.Duplex = Name.DuplexFlipLongEdge
