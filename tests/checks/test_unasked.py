"""Print that nobody asked for, pictures that aren't what they should be, lines over texts."""

from collections.abc import Callable

import pytest
from checked_sheets import PT, Patch, Place, Sheet, Words, good_page, good_sheet, manifest
from reportlab.pdfgen.canvas import Canvas

from labelkit.checks.model import FindingKind as K
from labelkit.checks.reading_back import check
from labelkit.manifest.model import ManifestPage, RequiredPicture

READ_IN = 2026

ARROW = Place(x_mm=150.0, y_mm=100.0, w_mm=12.0, h_mm=12.0)
"""A triangle that points to the right: half of its square is black."""

ROOM = Place(x_mm=148.0, y_mm=98.0, w_mm=16.0, h_mm=16.0)


def kinds(sheet: Sheet, page: ManifestPage | None = None) -> set[K]:
    """The kinds of findings of a sheet."""
    return {f.kind for f in check(sheet.pdf(), manifest(page), read_in=READ_IN).findings}


def with_words(*words: Words) -> Sheet:
    """The good sheet with more text."""
    sheet = good_sheet()
    sheet.words.extend(words)
    return sheet


def test_a_text_that_nobody_asked_for_is_told() -> None:
    """A note in free room, and a right text that stands there twice."""
    assert kinds(with_words(Words("as needed", 130, 150))) == {K.TEXT_EXTRA}
    assert kinds(with_words(Words("TV2611", 21.5, 64, 7))) == {K.TEXT_EXTRA}


def test_a_digit_typed_before_a_number_is_told() -> None:
    """A 2 of its own before 50 mg: the required text is whole, and reads 250 mg."""
    assert kinds(with_words(Words("2", 19.0, 50, 9)))


def test_a_dot_drawn_into_a_number_is_told() -> None:
    """A patch of ink over the base line between two digits of a lot, and one far from any text."""
    sheet = good_sheet()
    sheet.patches.append(Patch(23.0, 53.7, 0.3, 0.3, "#000000"))
    assert {K.INK_EXTRA, K.TEXT_CROSSED} <= kinds(sheet)
    far = good_sheet()
    far.patches.append(Patch(150, 150, 3, 3, "#000000"))
    assert kinds(far) == {K.INK_EXTRA}


def test_a_line_over_a_text_is_told_also_where_lines_are_drawn() -> None:
    """A place for lines holds a frame round a text; a line over its letters isn't allowed."""

    def frame(canvas: Canvas) -> None:
        canvas.setLineWidth(0.25 * PT)
        canvas.rect(21 * PT, (279.4 - 55) * PT, 20 * PT, 4 * PT)

    def line(canvas: Canvas) -> None:
        frame(canvas)
        canvas.line(22 * PT, (279.4 - 53) * PT, 30 * PT, (279.4 - 53) * PT)

    place = Place(x_mm=20.0, y_mm=42.0, w_mm=32.0, h_mm=24.0)
    page = good_page().model_copy(update={"drawn": (place,)})
    framed, crossed = good_sheet(), good_sheet()
    framed.extra, crossed.extra = frame, line
    assert kinds(framed, page) == set()
    assert kinds(crossed, page) == {K.TEXT_CROSSED}


def pictured() -> ManifestPage:
    """The good page with the arrow, on a grid of six by six."""
    ink = ("500000", "950000", "999500", "999500", "950000", "500000")
    coarse = RequiredPicture(name="arrow", within=ARROW, ink=ink)
    return good_page().model_copy(update={"pictures": (coarse,), "drawn": (ROOM,)})


def arrow(turned: bool = False, grey: float = 0.0, scale: float = 1.0) -> Callable[[Canvas], None]:
    """Draws the arrow."""

    def draw(canvas: Canvas) -> None:
        canvas.setFillGray(grey)
        left, right = (150.0 + 12.0, 150.0) if turned else (150.0, 150.0 + 12.0)
        middle, reach = 106.0, 6.0 * scale
        tip = left + (right - left) * 0.7
        path = canvas.beginPath()
        path.moveTo(left * PT, (279.4 - middle + reach) * PT)
        path.lineTo(tip * PT, (279.4 - middle) * PT)
        path.lineTo(left * PT, (279.4 - middle - reach) * PT)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)

    return draw


@pytest.mark.parametrize(
    ("draw", "fine"),
    [
        (arrow(), True),
        (arrow(turned=True), False),
        (arrow(grey=0.8), False),
        (arrow(scale=0.6), False),
        (None, False),
    ],
    ids=["right", "turned", "pale", "small", "gone"],
)
def test_a_picture_must_be_seen_as_it_is(draw: Callable[[Canvas], None] | None, fine: bool) -> None:
    """A triangle drawn as stated passes; turned, pale, smaller or gone it doesn't."""
    sheet = good_sheet()
    sheet.extra = draw
    assert kinds(sheet, pictured()) == (set() if fine else {K.PICTURE_WRONG})
