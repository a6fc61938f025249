"""Bare paper and registration marks, on sheets drawn by plain ReportLab and damaged."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
from checked_sheets import PT, Patch, Place, Sheet, Words, good_page, good_sheet, manifest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from labelkit.checks.marks import find
from labelkit.checks.model import CheckReport
from labelkit.checks.model import FindingKind as K
from labelkit.checks.raster import Raster, render
from labelkit.checks.reading_back import check
from labelkit.manifest.model import EmptyPlace, ManifestPage, RequiredMark

USED = Place(x_mm=20, y_mm=100, w_mm=66, h_mm=60)
MARKS = (
    RequiredMark(x_mm=107.95, y_mm=9.0, arm_mm=2.0, ring_mm=0.0),
    RequiredMark(x_mm=107.95, y_mm=200.0, arm_mm=2.0, ring_mm=1.0),
)


def page() -> ManifestPage:
    """The good page, with a used place and two marks more."""
    used = EmptyPlace(within=USED, piece="B", area="")
    drawn = tuple(
        Place(x_mm=mark.x_mm - 2, y_mm=mark.y_mm - 2, w_mm=4.0, h_mm=4.0) for mark in MARKS
    )
    return good_page().model_copy(update={"bare": (used,), "marks": MARKS, "drawn": drawn})


def crosses(
    marks: tuple[RequiredMark, ...] = MARKS, off: tuple[float, float] = (0, 0), width: float = 0.25
) -> Callable[[Canvas], None]:
    """What draws the marks, moved by so many millimetres."""

    def draw(canvas: Canvas) -> None:
        canvas.setLineWidth(width * PT)
        for mark in marks:
            x, y = (mark.x_mm + off[0]) * PT, (279.4 - mark.y_mm - off[1]) * PT
            arm = mark.arm_mm * PT
            canvas.line(x - arm, y, x + arm, y)
            canvas.line(x, y - arm, x, y + arm)
            if mark.ring_mm:
                canvas.circle(x, y, mark.ring_mm * PT)

    return draw


def report(sheet: Sheet) -> CheckReport:
    """The check's report on a sheet."""
    return check(sheet.pdf(), manifest(page()), read_in=2026)


def test_a_right_sheet_passes() -> None:
    """Used place bare, marks in their places: nothing is found."""
    assert report(replace(good_sheet(), extra=crosses())).findings == ()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"patches": [Patch(50, 130, 0.2, 0.2, "#000000")]}, "something is printed"),
        ({"patches": [Patch(20.2, 100.2, 0.3, 0.3, "#cccccc")]}, "something is printed"),
        ({"patches": [Patch(85, 159, 5, 5, "#000000")]}, "something is printed"),
        ({"words": [Words("TV2611", 40, 120)]}, "“TV2611” is printed"),
    ],
)
def test_anything_over_a_used_place_is_told(more: dict[str, list[object]], said: str) -> None:
    """A dot, a tint in its corner, a bar over its edge, a text: each is told with its place."""
    good = good_sheet()
    damaged = replace(
        good,
        extra=crosses(),
        words=[*good.words, *more.get("words", [])],  # type: ignore[list-item]
        patches=[*good.patches, *more.get("patches", [])],  # type: ignore[list-item]
    )
    (found,) = [f for f in report(damaged).findings if f.kind is K.NOT_BARE]
    assert said in found.sentence
    assert "must stay bare" in found.sentence
    assert found.piece == "B"


def test_print_beside_a_used_place_is_none_of_it() -> None:
    """Ink that ends at its edge is the neighbour's."""
    beside = replace(good_sheet(), extra=crosses(), patches=[Patch(86.05, 100, 3, 60, "#000000")])
    assert {f.kind for f in report(beside).findings} <= {K.INK_EXTRA}


@pytest.mark.parametrize(
    "extra",
    [
        None,
        crosses(MARKS[:1]),
        crosses(off=(0.3, 0.0)),
        crosses(off=(0.0, -0.3)),
        crosses(tuple(m.model_copy(update={"ring_mm": 0.0}) for m in MARKS)),
        crosses(tuple(m.model_copy(update={"arm_mm": 3.5}) for m in MARKS)),
    ],
)
def test_marks_that_are_not_there_are_told(extra: Callable[[Canvas], None] | None) -> None:
    """None, one too few, moved by 0.3 mm, without its ring, or a cross of another size."""
    found = report(replace(good_sheet(), extra=extra)).findings
    assert found
    assert {f.kind for f in found} - {K.INK_EXTRA} == {K.MARK_MISSING}


@pytest.mark.parametrize("word", ["T", "L", "E", "H", "I", "4", "B"])
def test_letters_are_no_marks(word: str) -> None:
    """A letter as large as a mark in its place isn't taken for one."""
    sheet = Sheet(words=[Words(word, 106.7, 10.9, 16)])
    with_letter = pypdfium2.PdfDocument(sheet.pdf())[0]
    assert find(render(with_letter, 300), MARKS[0], 5.0) is None


@given(
    st.floats(-2, 2),
    st.floats(-2, 2),
    st.floats(-1, 1),
    st.sampled_from([0.0, 12.0]),
    st.sampled_from([0, 1]),
)
def test_a_mark_is_found_where_it_is(
    dx: float, dy: float, turn: float, noise: float, which: int
) -> None:
    """To 0.06 mm, three quarters of a dot, also turned by up to a degree, noised and faded."""
    sheet = Sheet(extra=crosses(off=(dx, dy)))
    picture = Image.fromarray(render(pypdfium2.PdfDocument(sheet.pdf())[0], 300).grey)
    mark = MARKS[which]
    middle = ((mark.x_mm + dx) / 25.4 * 300, (mark.y_mm + dy) / 25.4 * 300)
    picture = picture.rotate(turn, Image.Resampling.BICUBIC, center=middle, fillcolor=255)
    grey = (
        30
        + np.asarray(picture) * 0.82
        + np.random.default_rng(1).normal(0, noise, picture.size[::-1])
    )
    found = find(Raster(np.clip(grey, 0, 255).astype(np.uint8), 300), mark, 4.0)
    assert found is not None
    assert (found.x_mm, found.y_mm) == pytest.approx((mark.x_mm + dx, mark.y_mm + dy), abs=0.06)
    assert found.ringed == bool(mark.ring_mm)
