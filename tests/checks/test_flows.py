"""Documents that flow through panels and pages: whole, in order, each text in one place."""

import io
from dataclasses import replace

import pikepdf
import pytest
from checked_sheets import Place, Sheet, Words, good_page, manifest, text

from labelkit.checks.model import Finding
from labelkit.checks.model import FindingKind as K
from labelkit.checks.reading_back import check
from labelkit.manifest.model import Link, Manifest, RequiredFlow

LEFT = Place(x_mm=21.8, y_mm=26.0, w_mm=80.0, h_mm=60.0)
RIGHT = Place(x_mm=111.8, y_mm=27.0, w_mm=80.0, h_mm=60.0)
NOWHERE = Place(x_mm=0, y_mm=0, w_mm=0, h_mm=0)
SAID = ("What this is", "Never with nitrates", "Peel it open", "Yes", "Store it dry", "Yes")


def leaflet() -> Sheet:
    """Six texts in two panels; two of them are the same word."""
    return Sheet(
        words=[
            Words("What this is", 22, 30, 12),
            Words("Never with", 22, 40, 10),
            Words("nitrates", 22, 44, 10),
            Words("Peel it open", 22, 54, 10),
            Words("Yes", 22, 60, 10),
            Words("Store it dry", 112, 30, 10),
            Words("Yes", 112, 36, 10),
        ]
    )


def wanted(*, pages: int = 1) -> Manifest:
    """The leaflet's manifest; with two pages, the right panel is on the second."""
    page = good_page().model_copy(
        update={"texts": (), "values": (), "codes": (), "empty": (), "draft_marks": ()}
    )
    flow = RequiredFlow(
        document="leaflet",
        language="en",
        texts=tuple(text(f"t{n}", said, NOWHERE, "leaflet") for n, said in enumerate(SAID)),
        chain=(Link(page=0, within=LEFT), Link(page=pages - 1, within=RIGHT)),
    )
    return manifest(page, pages, flows=(flow,))


def found(sheet: Sheet) -> tuple[Finding, ...]:
    """Findings on a sheet."""
    return check(sheet.pdf(), wanted(), read_in=2026).findings


def test_a_document_in_order_is_right() -> None:
    """Texts that follow one another through the panels have no findings, and are counted."""
    report = check(leaflet().pdf(), wanted(), read_in=2026)
    assert report.ok, report.findings
    assert report.counts.texts == 6


def test_a_text_left_out_is_told_by_name() -> None:
    """A missing text is one finding, and the texts after it are still found."""
    sheet = leaflet()
    del sheet.words[3]
    assert [(f.kind, f.expected) for f in found(sheet)] == [(K.TEXT_MISSING, "Peel it open")]


def test_one_of_two_equal_texts_left_out_is_told() -> None:
    """The same word later in the document doesn't stand for the first."""
    sheet = leaflet()
    del sheet.words[6]
    assert [f.kind for f in found(sheet)] == [K.TEXT_ORDER]


def test_texts_that_changed_places_are_told() -> None:
    """A warning that comes after what it must precede is out of order."""
    first, *middle, last, yes = leaflet().words
    swapped = Sheet(
        words=[
            replace(last, x=first.x, y=first.y),
            *middle,
            replace(first, x=last.x, y=last.y),
            yes,
        ]
    )
    assert K.TEXT_ORDER in {f.kind for f in found(swapped)}


def test_a_text_split_between_panels_is_told() -> None:
    """A sentence that begins in one panel and ends in the next stands whole in none."""
    sheet = leaflet()
    sheet.words[2] = replace(sheet.words[2], x=112, y=25)
    assert {f.kind for f in found(sheet)} == {K.TEXT_MISSING}


def test_what_is_wrong_with_a_text_in_a_document_is_told() -> None:
    """Size, ink and contrast are asked of each text of a document as of any other."""
    small, white, grey = leaflet(), leaflet(), leaflet()
    small.words[3] = replace(small.words[3], size=6)
    white.words[3] = replace(white.words[3], colour="#ffffff")
    grey.words[3] = replace(grey.words[3], colour="#999999")
    assert {f.kind for f in found(small)} == {K.TEXT_SMALL}
    assert {f.kind for f in found(white)} == {K.TEXT_HIDDEN}
    assert {f.kind for f in found(grey)} == {K.TEXT_FAINT}


ROWS = ("5 mg", "2 tablets (10 mg)", "2 tablets (10 mg)", "10 mg", "1 tablet (10 mg)")


def rows(*words: Words) -> tuple[Finding, ...]:
    """Findings on two rows of a table, as `ROWS` wants them."""
    page = good_page().model_copy(
        update={"texts": (), "values": (), "codes": (), "empty": (), "draft_marks": ()}
    )
    texts = tuple(text(f"t{n}", said, NOWHERE, "strengths") for n, said in enumerate(ROWS))
    flow = RequiredFlow(
        document="strengths", language="en", texts=texts, chain=(Link(page=0, within=LEFT),)
    )
    return check(Sheet(words=list(words)).pdf(), manifest(page, 1, flows=(flow,))).findings


def test_a_row_is_read_from_its_start_though_a_cell_stands_a_hair_higher() -> None:
    """Of two equal cells of one row the first is the one that is read first."""
    for lift in (-0.02, 0.0, 0.02):
        assert not rows(
            Words("5 mg", 22, 29.3, 9),
            Words("2 tablets (10 mg)", 38, 29.3, 9),
            Words("2 tablets (10 mg)", 70, 29.3 + lift, 9),
            Words("10 mg", 22, 35, 9),
            Words("1 tablet (10 mg)", 38, 35, 9),
        )


def test_a_text_inside_another_is_not_the_one_that_is_wanted() -> None:
    """The strength of a row that is gone isn't found in the amount of the row before it."""
    findings = rows(
        Words("5 mg", 22, 30, 9),
        Words("2 tablets (10 mg)", 38, 30, 9),
        Words("2 tablets (10 mg)", 70, 30, 9),
        Words("1 tablet (10 mg)", 38, 36, 9),
    )
    assert {f.kind for f in findings} & {K.TEXT_ORDER, K.TEXT_MISSING}


def test_rows_that_traded_their_cells_are_told() -> None:
    """Every text stands there, beside another row's."""
    findings = rows(
        Words("5 mg", 22, 30, 9),
        Words("1 tablet (10 mg)", 38, 30, 9),
        Words("10 mg", 22, 36, 9),
        Words("2 tablets (10 mg)", 38, 36, 9),
        Words("2 tablets (10 mg)", 70, 36, 9),
    )
    assert K.TEXT_ORDER in {f.kind for f in findings}


def test_a_chain_may_cross_pages() -> None:
    """The document goes on on the next page, and a finding there names that page."""
    first, second = leaflet(), leaflet()
    first.words, second.words = first.words[:5], second.words[5:]
    assert check(two_pages(first, second), wanted(pages=2), read_in=2026).ok
    second.words[1] = replace(second.words[1], size=5)
    findings = check(two_pages(first, second), wanted(pages=2), read_in=2026).findings
    assert [(f.kind, f.page) for f in findings] == [(K.TEXT_SMALL, 2)]


def two_pages(first: Sheet, second: Sheet) -> bytes:
    """Two sheets in one file."""
    out = io.BytesIO()
    with (
        pikepdf.open(io.BytesIO(first.pdf())) as one,
        pikepdf.open(io.BytesIO(second.pdf())) as two,
    ):
        one.pages.extend(two.pages)
        one.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    "moved",
    [
        (0.97, 0, 0, 0.97, 9.2, 11.9),
        (1, 0, 0, 1, 4.3, 0),
        (1, 0, 0, 1, 0, -4.3),
        (1, 0, 0, 1, -4.3, 0),
    ],
)
def test_print_that_is_moved_or_smaller_is_told(
    moved: tuple[float, float, float, float, float, float],
) -> None:
    """97 % about the middle, and 1.5 mm to either side or down, without any code to measure."""
    sheet = replace(leaflet(), transform=moved)
    kinds = {f.kind for f in found(sheet)}
    assert kinds & {K.PRINT_SHIFTED, K.TEXT_OUTSIDE, K.TEXT_MISSING}
