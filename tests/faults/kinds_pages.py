"""Harms to pages: lost, twice, turned, scaled, shifted, of another size."""

import pikepdf
from injecting import Work, each_page, kind, once
from marks import MM
from sheets import Sheet


def _several(work: Work) -> list[int]:
    return each_page(work) if len(work.manifest.pages) > 1 else []


@kind("page-dropped", "a page is gone", _several)
def page_dropped(work: Work, page: int) -> None:
    """One of several."""
    del work.pdf.pages[page]


@kind("page-duplicated", "a page is there twice", each_page)
def page_duplicated(work: Work, page: int) -> None:
    """A copy right behind it."""
    work.pdf.pages.insert(page + 1, work.pdf.pages[page])


@kind("blank-page", "a blank page follows the last", once)
def blank_page(work: Work, place: None) -> None:
    """Of the last page's size."""
    last = work.manifest.pages[-1]
    work.pdf.add_blank_page(page_size=(last.width_mm * MM, last.height_mm * MM))


@kind("pages-swapped", "two pages have changed places", lambda w: _several(w)[1:])
def pages_swapped(work: Work, page: int) -> None:
    """A page and the one before it."""
    held = work.pdf.pages[page]
    work.pdf.pages.insert(page - 1, held)
    del work.pdf.pages[page + 1]


@kind("page-rotated", "a page has a Rotate of 90 degrees", each_page)
def page_rotated(work: Work, page: int) -> None:
    """ISO 32000-1, 7.7.3.3."""
    work.pdf.pages[page].Rotate = 90


@kind("page-rotated-180", "a page has a Rotate of 180 degrees", each_page)
def page_rotated_180(work: Work, page: int) -> None:
    """The page keeps its size and stands on its head."""
    work.pdf.pages[page].Rotate = 180


@kind("crop-box", "a page's crop box is 10 mm smaller on each side", each_page)
def crop_box(work: Work, page: int) -> None:
    """What viewers show and print."""
    wanted = work.manifest.pages[page]
    edge = 10 * MM
    work.pdf.pages[page].CropBox = pikepdf.Array(
        [edge, edge, round(wanted.width_mm * MM - edge, 2), round(wanted.height_mm * MM - edge, 2)]
    )


@kind("media-box", "a page's sheet is 10 mm wider than the stock", each_page)
def media_box(work: Work, page: int) -> None:
    """Media, crop, bleed and trim box alike."""
    wanted = work.manifest.pages[page]
    sheet = [0, 0, round((wanted.width_mm + 10) * MM, 2), round(wanted.height_mm * MM, 2)]
    for name in ("MediaBox", "CropBox", "BleedBox", "TrimBox"):
        work.pdf.pages[page][f"/{name}"] = pikepdf.Array(sheet)


@kind("user-unit", "a page's unit is 1.1 points", each_page)
def user_unit(work: Work, page: int) -> None:
    """Everything prints 10 % larger (ISO 32000-1, 14.11.1)."""
    work.pdf.pages[page].UserUnit = 1.1


def _whole(name: str, says: str, find: object, matrix: object) -> None:
    def harm(work: Work, sheet: Sheet) -> None:
        w, h = sheet.wanted.width_mm * MM, sheet.wanted.height_mm * MM
        numbers = " ".join(f"{value:.5f}" for value in matrix(w, h))  # type: ignore[operator]
        sheet.around(0, len(sheet.steps) - 1, f"q {numbers} cm", "Q")

    kind(name, says, find)(harm)  # type: ignore[arg-type]


def _sheets(work: Work) -> list[Sheet]:
    return work.sheets


def _coded(work: Work) -> list[Sheet]:
    """Pages with codes: lidding and sleeves, whose print must meet a die; a leaflet a little
    smaller or beside its place harms nobody."""
    return [sheet for sheet in work.sheets if sheet.wanted.codes]


def _scaled(factor: float) -> object:
    """About the page's middle, as a printer's “fit to page” does."""
    return lambda w, h: (factor, 0, 0, factor, (1 - factor) * w / 2, (1 - factor) * h / 2)


_whole("page-97", "a page is scaled to 97 %", _coded, _scaled(0.97))
_whole("page-103", "a page is scaled to 103 %", _coded, _scaled(1.03))
_whole("page-wider", "a page is 1 % wider", _coded,
       lambda w, h: (1.01, 0, 0, 1, -0.005 * w, 0))  # fmt: skip
_whole("page-shifted", "a page's print is 1.5 mm to the right", _coded,
       lambda w, h: (1, 0, 0, 1, 1.5 * MM, 0))  # fmt: skip
_whole("page-raised", "a page's print is 1.5 mm higher", _coded,
       lambda w, h: (1, 0, 0, 1, 0, 1.5 * MM))  # fmt: skip
_whole("page-skewed", "a page's print is turned by 0.7 degrees", _coded,
       lambda w, h: (0.99993, 0.01222, -0.01222, 0.99993, 0.00611 * h, -0.00611 * w))  # fmt: skip
_whole("page-turned", "a page's print stands on its head", _sheets,
       lambda w, h: (-1, 0, 0, -1, w, h))  # fmt: skip


@kind("page-emptied", "a page's print is gone", _sheets)
def page_emptied(work: Work, sheet: Sheet) -> None:
    """Nothing is drawn."""
    sheet.remove(0, len(sheet.steps) - 1)


@kind("page-of-another", "a page shows what another page shows", lambda w: _several(w)[1:])
def page_of_another(work: Work, page: int) -> None:
    """The content of the page before it."""
    work.pdf.pages[page].Contents = work.pdf.pages[page - 1].Contents
    work.pdf.pages[page].Resources = work.pdf.pages[page - 1].Resources
