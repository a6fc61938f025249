"""The whole check: an undamaged sheet passes, and each damage is told as what it is."""

import io
from collections.abc import Callable
from dataclasses import replace

import pikepdf
import pytest
from checked_sheets import (
    CELL_1,
    DRAFT,
    DRAFT_WORDS,
    GTIN,
    Bars,
    Patch,
    Sheet,
    Words,
    code_128,
    data_matrix,
    good_page,
    good_sheet,
    gs1,
    manifest,
    text,
)

from labelkit.checks.model import FindingKind as K
from labelkit.checks.reading_back import check

READ_IN = 2026


def kinds(pdf: bytes, **change: object) -> set[K]:
    """The kinds of findings of a file against the good page's manifest."""
    return {f.kind for f in check(pdf, manifest(**change), read_in=READ_IN).findings}


def word(sheet: Sheet, index: int, **change: object) -> Sheet:
    """The sheet with one line of text changed."""
    sheet.words[index] = replace(sheet.words[index], **change)
    return sheet


def symbol(sheet: Sheet, index: int, **change: object) -> Sheet:
    """The sheet with one symbol changed."""
    sheet.bars[index] = replace(sheet.bars[index], **change)
    return sheet


def without(sheet: Sheet, index: int) -> Sheet:
    """The sheet with one line of text left out."""
    del sheet.words[index]
    return sheet


def with_words(sheet: Sheet, *words: Words) -> Sheet:
    """The sheet with more text."""
    sheet.words.extend(words)
    return sheet


def with_patch(sheet: Sheet, *patches: Patch) -> Sheet:
    """The sheet with rectangles over or under its text."""
    sheet.patches.extend(patches)
    return sheet


def flipped(share: int) -> tuple[tuple[bool, ...], ...]:
    """The cell's symbol with every `share`-th module of its middle turned over."""
    modules = data_matrix(gs1())
    return tuple(
        tuple(
            not dark if 3 <= r < 19 and 3 <= c < 19 and (r * 22 + c) % share == 0 else dark
            for c, dark in enumerate(row)
        )
        for r, row in enumerate(modules)
    )


def page_scaled(sheet: Sheet, by: float) -> Sheet:
    """The sheet as "fit to page" prints it: smaller, about the middle of the page."""
    dx, dy = ((1 - by) * v / 25.4 * 72 / 2 for v in sheet.size_mm)
    return replace(sheet, transform=(by, 0, 0, by, dx, dy))


def test_a_right_sheet_has_no_findings() -> None:
    """Nothing is found on an undamaged sheet, and everything was looked at."""
    report = check(good_sheet().pdf(), manifest(), read_in=READ_IN)
    assert report.findings == ()
    assert report.ok
    assert (report.counts.pages, report.counts.texts, report.counts.codes) == (1, 14, 3)
    assert [code.identifier for code in report.codes] == ["]d2", "]C0", "]Q1"]
    assert [code.x_dots for code in report.codes] == [4.0, 4.0, 4.0]


DAMAGES: dict[str, tuple[Callable[[Sheet], Sheet], K]] = {
    "a digit of the lot": (lambda s: word(s, 5, text="TV2612"), K.TEXT_MISSING),
    "a digit of the lot, as a value": (lambda s: word(s, 5, text="TV2612"), K.VALUE_MISSING),
    "a second lot": (
        lambda s: with_words(s, Words("TV2612", 30, 54, 7)),
        K.VALUE_WRONG,
    ),
    "another strength": (lambda s: word(s, 4, text="500 mg"), K.VALUE_MISSING),
    "a second strength": (lambda s: with_words(s, Words("100 mg", 21.5, 62, 7)), K.VALUE_WRONG),
    "strength inside a number": (lambda s: word(s, 4, text="2.50 mg"), K.TEXT_MISSING),
    "another month": (lambda s: word(s, 6, text="2027-06-24"), K.VALUE_MISSING),
    "another month by name": (
        lambda s: word(s, 1, text="Lot TV2611  Use by 24 June 2027"),
        K.VALUE_MISSING,
    ),
    "a text left out": (lambda s: without(s, 2), K.TEXT_MISSING),
    "a word left out": (lambda s: word(s, 2, text="Peel, do push. Keep dry."), K.TEXT_MISSING),
    "an accent": (lambda s: word(s, 3, text="sildénafil"), K.TEXT_MISSING),
    "a text moved elsewhere": (lambda s: word(s, 3, x=120, y=200), K.TEXT_MISSING),
    "a text half out of its place": (lambda s: word(s, 3, x=20.0 - 0.5), K.TEXT_OUTSIDE),
    "a text over the cut": (lambda s: word(s, 8, x=60, y=80.9, turn=0), K.TEXT_MISSING),
    "letters in another order": (
        lambda s: with_words(without(s, 4), Words("mg", 21.5, 50, 9), Words("50", 30, 50, 9)),
        K.TEXT_MISSING,
    ),
    "too small": (lambda s: word(s, 5, size=6.0), K.TEXT_SMALL),
    "too small by its matrix": (lambda s: word(s, 5, stretch=0.9), K.TEXT_SMALL),
    "x-height too small": (lambda s: word(s, 3, size=6.0), K.TEXT_SMALL),
    "white": (lambda s: word(s, 4, colour="#ffffff"), K.TEXT_HIDDEN),
    "not painted": (lambda s: word(s, 4, mode=3), K.TEXT_HIDDEN),
    "covered with white": (lambda s: with_patch(s, Patch(21, 46.5, 12, 4)), K.TEXT_HIDDEN),
    "half covered": (lambda s: with_patch(s, Patch(21, 46.5, 12, 2.2)), K.TEXT_HIDDEN),
    "last letter covered": (lambda s: with_patch(s, Patch(28, 46.5, 3, 5)), K.TEXT_HIDDEN),
    "covered with black": (
        lambda s: with_patch(s, Patch(21, 46.5, 12, 4, "#000000")),
        K.TEXT_HIDDEN,
    ),
    "crossed out": (lambda s: with_patch(s, Patch(21, 48.4, 12, 0.4, "#000000")), K.TEXT_CROSSED),
    "squeezed": (lambda s: word(s, 0, squeeze=0.9), K.TEXT_DISTORTED),
    "mirrored": (lambda s: word(s, 0, squeeze=-1, x=60), K.TEXT_DISTORTED),
    "upside down": (lambda s: word(s, 0, turn=180, x=60, y=24), K.TEXT_DISTORTED),
    "a digit drawn as another": (lambda s: word(s, 4, font="Liar"), K.TEXT_OTHER_SHAPE),
    "grey on white": (lambda s: word(s, 4, colour="#777777"), K.TEXT_FAINT),
    "red on white": (lambda s: word(s, 4, colour="#ff0000"), K.TEXT_FAINT),
    "black on dark grey": (
        lambda s: with_patch(s, Patch(21, 46.5, 12, 5, "#666666", under=True)),
        K.TEXT_FAINT,
    ),
    "a font left outside": (lambda s: word(s, 3, font="Helvetica"), K.FONT_NOT_EMBEDDED),
    "the lot in a code": (
        lambda s: symbol(s, 0, modules=data_matrix(gs1(lot="TV2612"))),
        K.CODE_WRONG,
    ),
    "the day in a code": (
        lambda s: symbol(s, 0, modules=data_matrix(gs1(day="270525"))),
        K.CODE_WRONG,
    ),
    "the serial in a code": (
        lambda s: symbol(s, 0, modules=data_matrix(gs1(serial="TV2611-0002"))),
        K.CODE_WRONG,
    ),
    "a field too few": (
        lambda s: symbol(s, 0, modules=data_matrix(f"[01]{GTIN}[17]270524[10]TV2611")),
        K.CODE_WRONG,
    ),
    "plain data for GS1": (
        lambda s: symbol(
            s, 0, modules=data_matrix(f"01{GTIN}1727052410TV2611\x1d21TV2611-0001", gs1=False)
        ),
        K.CODE_WRONG,
    ),
    "another prescription": (lambda s: symbol(s, 1, modules=code_128("10433")), K.CODE_WRONG),
    "another symbology": (
        lambda s: symbol(s, 1, modules=data_matrix("10432", gs1=False), high=None),
        K.CODE_WRONG,
    ),
    "modules beyond repair": (lambda s: symbol(s, 0, modules=flipped(5)), K.CODE_MISSING),
    "a mirrored code": (
        lambda s: symbol(s, 0, modules=tuple(row[::-1] for row in s.bars[0].modules)),
        K.CODE_WRONG,
    ),
    "bars upside down": (
        lambda s: symbol(s, 1, modules=(s.bars[1].modules[0][::-1],)),
        K.CODE_WRONG,
    ),
    "low bars": (lambda s: symbol(s, 1, high=3.0), K.CODE_SIZE),
    "a code left out": (lambda s: replace(s, bars=s.bars[1:]), K.CODE_MISSING),
    "a code moved": (lambda s: symbol(s, 0, x=520, y=700), K.CODE_OUTSIDE),
    "a code moved a little": (lambda s: symbol(s, 0, y=680), K.CODE_OUTSIDE),
    "modules of no whole dots": (lambda s: symbol(s, 0, dots=3.9), K.CODE_SIZE),
    "modules too small": (lambda s: symbol(s, 0, dots=2), K.CODE_SIZE),
    "a quiet zone invaded": (
        lambda s: with_patch(s, Patch(42.2, 58, 0.2, 3, "#000000")),
        K.CODE_QUIET_ZONE,
    ),
    "a quiet zone before bars": (
        lambda s: with_patch(s, Patch(122.0, 22, 1, 3, "#000000")),
        K.CODE_QUIET_ZONE,
    ),
    "a code too many in the box": (
        lambda s: replace(s, bars=[*s.bars, Bars(data_matrix("1", False), 1810, 250, 4)]),
        K.CODE_EXTRA,
    ),
    "a code nobody asked for": (
        lambda s: replace(s, bars=[*s.bars, Bars(data_matrix(gs1()), 1200, 2000)]),
        K.CODE_EXTRA,
    ),
    "ink at the edge": (lambda s: with_patch(s, Patch(100, 1, 5, 2, "#888888")), K.INK_OUTSIDE),
    "a lot over an empty cavity": (
        lambda s: with_words(s, Words("TV2611", 60, 60, 7)),
        K.NOT_EMPTY,
    ),
    "a strength over an empty cavity": (
        lambda s: with_words(s, Words("100 mg", 60, 60, 7)),
        K.NOT_EMPTY,
    ),
    "a code over an empty cavity": (
        lambda s: replace(s, bars=[*s.bars, Bars(data_matrix(gs1()), 720, 660)]),
        K.NOT_EMPTY,
    ),
    "a draft mark left": (lambda s: with_words(s, Words("DRAFT", 40, 74, 8)), K.DRAFT_MARK_LEFT),
    "page scaled": (lambda s: page_scaled(s, 0.97), K.CODE_SIZE),
    "page moved": (lambda s: replace(s, transform=(1, 0, 0, 1, 6, 0)), K.CODE_OUTSIDE),
    "another sheet": (lambda s: replace(s, size_mm=(210.0, 297.0)), K.PAGE_SIZE),
    "a page too many": (lambda s: replace(s, pages=2), K.PAGES_DIFFER),
    "scaling left to the viewer": (lambda s: replace(s, print_scaling=None), K.PRINT_SCALING),
    "the patient in the title": (lambda s: replace(s, title="For ann  EXAMPLE"), K.METADATA),
    "the birth date in the title": (lambda s: replace(s, title="born 1950 03 12"), K.METADATA),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_each_damage_is_told(name: str) -> None:
    """A damaged sheet has the finding that its damage calls for, with a sentence to read."""
    damage, kind = DAMAGES[name]
    report = check(damage(good_sheet()).pdf(), manifest(), read_in=READ_IN)
    assert kind in {f.kind for f in report.findings}
    assert not report.ok
    assert all(f.sentence.endswith(".") and len(f.sentence) > 20 for f in report.findings)


def test_every_kind_of_finding_has_a_damage() -> None:
    """No kind of finding exists that no test provokes."""
    elsewhere = {
        K.DRAFT_MARK_MISSING,
        K.ACTIVE_CONTENT,
        K.NEAR_LINE,
        K.TEXT_ORDER,
        K.SCAN_CROOKED,
        K.SCAN_SCALED,
        K.TEXT_UNJOINED,
        K.PRINT_SHIFTED,
        K.NOT_BARE,
        K.MARK_MISSING,
        K.INK_EXTRA,
        K.PICTURE_WRONG,
        K.TEXT_EXTRA,
        K.PRINTING_ASKED,
        K.FONT_WIDTHS,
        K.TITLE_OTHER,
        K.TAGS_WRONG,
    }
    assert {kind for _, kind in DAMAGES.values()} | elsewhere == set(K)


def test_a_draft_must_say_so() -> None:
    """A draft without its mark is found; with it, it isn't."""
    assert kinds(good_sheet().pdf(), state="draft") == {K.DRAFT_MARK_MISSING}
    marked = with_words(good_sheet(), Words(DRAFT_WORDS, 22, DRAFT.y_mm + 4, 8))
    assert kinds(marked.pdf(), state="draft") == set()


@pytest.mark.parametrize("words", ["Draft: for use", "Draft", "Draft: not for use at all"])
def test_a_draft_says_so_in_the_words_it_must(words: str) -> None:
    """A mark that says another thing, less or more, is no draft mark."""
    marked = with_words(good_sheet(), Words(words, 22, DRAFT.y_mm + 4, 8))
    assert kinds(marked.pdf(), state="draft") == {K.DRAFT_MARK_MISSING}


@pytest.mark.parametrize(
    ("y_mm", "expected"), [(80.0, {K.NEAR_LINE}), (79.5, {K.NEAR_LINE}), (78.0, set())]
)
def test_text_keeps_clear_of_a_cut(y_mm: float, expected: set[K]) -> None:
    """A required text nearer than 1.5 mm to the cut at 82 mm is found: its baseline is given,
    and the descender of "p" reaches 0.6 mm below it."""
    page = good_page()
    low = CELL_1.model_copy(update={"y_mm": 66.0, "h_mm": 20.0})
    page = page.model_copy(
        update={"texts": (*page.texts, text("note", "keep flap", low, "foot")), "draft_marks": ()}
    )
    sheet = with_words(good_sheet(), Words("keep flap", 22, y_mm + 0.9, 7))
    found = check(sheet.pdf(), manifest(page), read_in=READ_IN).findings
    assert {f.kind for f in found} == expected


def add_script(pdf: pikepdf.Pdf) -> None:
    """A script that runs on opening."""
    pdf.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="app.alert(1)")


def add_link(pdf: pikepdf.Pdf) -> None:
    """A link to the web on the first page."""
    link = pikepdf.Dictionary(
        Type=pikepdf.Name.Annot,
        Subtype=pikepdf.Name.Link,
        Rect=[10, 10, 50, 50],
        A=pikepdf.Dictionary(S=pikepdf.Name.URI, URI="https://www.example.org"),
    )
    pdf.pages[0].Annots = pikepdf.Array([pdf.make_indirect(link)])


def add_attachment(pdf: pikepdf.Pdf) -> None:
    """A file inside the file."""
    pdf.attachments["list.csv"] = b"a,b"


def add_form(pdf: pikepdf.Pdf) -> None:
    """An empty form."""
    pdf.Root.AcroForm = pikepdf.Dictionary(Fields=pikepdf.Array())


def add_layers(pdf: pikepdf.Pdf) -> None:
    """Optional content."""
    pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=pikepdf.Array(), D=pikepdf.Dictionary())


@pytest.mark.parametrize("add", [add_script, add_link, add_attachment, add_form, add_layers])
def test_what_acts_or_hides_is_told(add: Callable[[pikepdf.Pdf], None]) -> None:
    """Scripts, links, attachments, forms and layers are found (ISO 32000-1, 12.6 and 12.7)."""
    assert kinds(changed(good_sheet().pdf(), add)) == {K.ACTIVE_CONTENT}


def changed(pdf: bytes, change: Callable[[pikepdf.Pdf], None]) -> bytes:
    """The file after a change to its objects."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        change(opened)
        opened.save(out)
    return out.getvalue()


def test_xmp_is_read_too() -> None:
    """A patient's name in the XMP metadata is found."""

    def name(pdf: pikepdf.Pdf) -> None:
        with pdf.open_metadata() as metadata:
            metadata["dc:title"] = "Label of Ann Example"

    assert K.METADATA in kinds(changed(good_sheet().pdf(), name))


def test_a_cropped_page_is_told() -> None:
    """A crop box smaller than the stock is found, though the page's own box is right."""

    def crop(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].CropBox = [0, 0, 500, 792]

    assert K.PAGE_SIZE in kinds(changed(good_sheet().pdf(), crop))


def test_a_turned_page_is_told() -> None:
    """A page turned by the viewer is found."""

    def turn(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].Rotate = 180

    assert K.PAGE_SIZE in kinds(changed(good_sheet().pdf(), turn))


def test_a_line_between_the_lines_of_a_text_is_told() -> None:
    """Ink that no letter explains between two lines of one text is found."""
    place = CELL_1.model_copy(update={"x_mm": 140.0, "y_mm": 90.0, "w_mm": 60.0})
    page = good_page()
    page = page.model_copy(
        update={"texts": (*page.texts, text("note", "never more than one a day", place, "x"))}
    )
    lines = (Words("never more than", 150, 100), Words("one a day", 150, 103))
    whole = with_words(good_sheet(), *lines)
    assert check(whole.pdf(), manifest(page), read_in=READ_IN).ok
    crossed = with_patch(whole, Patch(150, 100.5, 12, 0.3, "#000000"))
    found = check(crossed.pdf(), manifest(page), read_in=READ_IN).findings
    assert {f.kind for f in found} == {K.TEXT_CROSSED, K.INK_EXTRA}


def test_a_shorter_text_may_stand_in_its_stead() -> None:
    """Where the manifest names one, the shorter text is enough; another one isn't."""
    long = text("note", "Peel from the corner. Do not push.", CELL_1, "cell-1")
    page = good_page()
    for said, fine in (("Peel, no push", True), ("Peel, push", False)):
        texts = (*page.texts, long.model_copy(update={"instead": "Peel, no push"}))
        sheet = with_words(good_sheet(), Words(said, 21.5, 62, 7))
        asked = manifest(page.model_copy(update={"texts": texts}))
        assert check(sheet.pdf(), asked, read_in=READ_IN).ok is fine


@pytest.mark.parametrize(("dots", "fine"), [(3.5, True), (3.0, True), (3.3, False)])
def test_a_finer_printers_dots_are_its_own(dots: float, fine: bool) -> None:
    """At 600 dpi a module of 3.5 dots of 300 dpi is 7 whole dots; 3.3 are none of either."""
    page = good_page()
    first, *others = page.codes
    finer = (first.model_copy(update={"dpi": 600}), *others)
    sheet = symbol(good_sheet(), 0, dots=dots)
    found = check(
        sheet.pdf(), manifest(page.model_copy(update={"codes": finer})), read_in=READ_IN
    ).findings
    assert {f.kind for f in found} == (set() if fine else {K.CODE_SIZE})
    if dots == 3.5:
        coarse = check(sheet.pdf(), manifest(), read_in=READ_IN).findings
        assert {f.kind for f in coarse} == {K.CODE_SIZE}
