"""A printer's error is found from readings, and a layout moved so that print lands in place."""

from dataclasses import replace
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.geometry.alignment import (
    PAPERS,
    READING_MM,
    Alignment,
    Point,
    fitted,
    marks,
)
from labelkit.geometry.model import Area, Layout
from labelkit.geometry.moving import moved, paper_of
from labelkit.geometry.reading import load, shipped
from labelkit.ground.box import Box
from labelkit.ground.errors import LayoutRefused

PAPER = "letter"


def printed(x: float, y: float, dx: float, dy: float, scale: float, turn: float) -> Point:
    """Where a printer puts a point: turned (radians) and scaled about the centre, then shifted."""
    width, height = PAPERS[PAPER]
    u, v = x - width / 2, y - height / 2
    return (
        width / 2 + scale * (u - turn * v) + dx,
        height / 2 + scale * (turn * u + v) + dy,
    )


def read(*machines: tuple[float, float, float, float]) -> list[tuple[str, float, float]]:
    """What a person reads on a sheet from each machine."""
    return [
        (name, *printed(x, y, *machine))
        for machine in machines
        for name, (x, y) in marks(*PAPERS[PAPER]).items()
    ]


offsets = st.floats(-2, 2)


@given(offsets, offsets, st.floats(0.997, 1.003), st.floats(-0.004, 0.004))
def test_the_printer_is_found(dx: float, dy: float, scale: float, turn: float) -> None:
    """Offset, scale and turn come back, and nothing is left but a reading's own error."""
    found = fitted("bench", PAPER, read((dx, dy, scale, turn)))
    assert found.offset_x_mm == pytest.approx(dx, abs=1e-3)
    assert found.offset_y_mm == pytest.approx(dy, abs=1e-3)
    assert (found.scale_x, found.scale_y) == pytest.approx((scale, scale), abs=1e-5)
    assert (found.skew_x, found.skew_y) == pytest.approx((-scale * turn, scale * turn), abs=1e-5)
    assert found.residual_mm == pytest.approx(READING_MM, abs=2e-3)


@given(offsets, offsets, st.floats(0.998, 1.002), st.floats(-0.001, 0.001))
def test_a_moved_layout_lands_in_its_place(dx: float, dy: float, scale: float, turn: float) -> None:
    """Printed by that machine, every corner of every area, field, line and key is nearer to its
    place than the moved layout's tolerance says."""
    machine = (dx, dy, scale, turn)
    layout = load("lidding-20-letter")
    roomy = replace(layout, stock=replace(layout.stock, margin_mm=0.0, tolerance_mm=5.0))
    done = moved(roomy, fitted("bench", PAPER, read(machine, machine, machine)))
    assert done.stock.tolerance_mm < 1.0
    for before, after in zip(_points(roomy), _points(done), strict=True):
        x, y = printed(*after, *machine)
        assert hypot(x - before[0], y - before[1]) <= done.stock.tolerance_mm


def _points(layout: Layout) -> list[Point]:
    boxes: list[Box] = []
    points: list[Point] = []
    for face in layout.faces:
        for piece in face.pieces:
            for area in piece.areas:
                boxes += [area.box, *(field.box for field in area.fields)]
                boxes += [area.tab.box] if area.tab else []
                boxes += [area.cavity] if area.cavity else []
        for line in face.lines:
            points += [(line.x1_mm, line.y1_mm), (line.x2_mm, line.y2_mm)]
        points += [point for key in face.keys for point in key.points]
    corners = [(b.x_mm, b.y_mm) for b in boxes] + [(b.right_mm, b.bottom_mm) for b in boxes]
    return points + corners


@given(st.floats(-0.9, 0.9), st.floats(-0.9, 0.9))
def test_nothing_is_scaled(dx: float, dy: float) -> None:
    """Every area and field keeps its size, and its place within its area."""
    layout = load("lidding-20-letter")
    roomy = replace(layout, stock=replace(layout.stock, margin_mm=0.0))
    done = moved(roomy, fitted("bench", PAPER, read((dx, dy, 1.001, 0.0005))))
    for face, other in zip(roomy.faces, done.faces, strict=True):
        for piece, turned in zip(face.pieces, other.pieces, strict=True):
            for area, now in zip(piece.areas, turned.areas, strict=True):
                assert _inside(now) == pytest.approx(_inside(area))


def _inside(area: Area) -> list[float]:
    """Sizes, and the fields' places from the area's corner."""
    at = area.box.x_mm, area.box.y_mm
    boxes = [area.box, *(field.box for field in area.fields)]
    return [
        length
        for box in boxes
        for length in (box.x_mm - at[0], box.y_mm - at[1], box.w_mm, box.h_mm)
    ]


def test_sheets_that_differ_leave_a_residual() -> None:
    """Three sheets, one fed 0.6 mm lower: the mean is taken out, and 0.4 mm of it is left."""
    true = (0.0, 0.0, 1.0, 0.0)
    found = fitted("bench", PAPER, read(true, true, (0.0, 0.6, 1.0, 0.0)))
    assert found.offset_y_mm == pytest.approx(0.2)
    assert found.residual_mm == pytest.approx(0.4 + READING_MM)
    assert found.sheets == 3


def test_a_printer_worse_than_the_layout_is_refused() -> None:
    """A residual beyond what the layout keeps is refused with both numbers."""
    true = (0.0, 0.0, 1.0, 0.0)
    found = fitted("bench", PAPER, read(true, true, (0.0, 1.2, 1.0, 0.0)))
    with pytest.raises(LayoutRefused, match=r"0\.90 mm .* keeps 0\.75 mm"):
        moved(load("lidding-20-letter"), found)


def test_few_sheets_never_relax_a_tolerance() -> None:
    """What one sheet says of feeding is nothing: the layout's own tolerance stays."""
    layout = load("lidding-20-letter")
    one, three = read((0.0, 0.0, 1.0, 0.0)), read(*[(0.0, 0.0, 1.0, 0.0)] * 3)
    tolerances = [moved(layout, fitted("b", PAPER, r)).stock.tolerance_mm for r in (one, three)]
    assert tolerances == [layout.stock.tolerance_mm, READING_MM]


def test_what_moves_into_the_unprintable_edge_is_refused() -> None:
    """Print that has 1 mm to spare can't be moved by 3 mm; the refusal names the field."""
    layout = load("lidding-20-letter")
    fields = [f for p in layout.faces[0].pieces for a in p.areas for f in a.fields]
    margin = min(field.box.x_mm for field in fields) - 1.0
    tight = replace(layout, stock=replace(layout.stock, margin_mm=margin))
    moved(tight, fitted("bench", PAPER, read((0.5, 0.0, 1.0, 0.0))))
    with pytest.raises(LayoutRefused, match=r"nearer than .* mm to the edge"):
        moved(tight, fitted("bench", PAPER, read((3.0, 0.0, 1.0, 0.0))))


@pytest.mark.parametrize(
    ("readings", "told"),
    [
        ([], "aren't read equally often"),
        (read((0, 0, 1, 0))[:4], "aren't read equally often"),
        ([*read((0, 0, 1, 0)), ("middle", 1.0, 1.0)], "there is no such mark"),
        (read((6, 0, 1, 0)), "more than 5 mm off"),
        (read((0, float("nan"), 1, 0)), "more than 5 mm off"),
        (read((0, 0, 0.97, 0)), "98|97.00%|more than 5 mm off"),
        (read((0, 0, 0.985, 0)), "98.50% of its size"),
        (read((0, 0, 1, 0.025)), "leans by 2.5 mm in 100"),
    ],
)
def test_readings_that_cannot_be(readings: list[tuple[str, float, float]], told: str) -> None:
    """Slips, missing marks, a sheet fitted to the page and a crooked feed are refused."""
    with pytest.raises(LayoutRefused, match=told):
        fitted("bench", PAPER, readings)


def test_every_shipped_layout_has_its_paper() -> None:
    """A printer can be aligned for every layout that ships; for an own size it is refused."""
    for name in shipped():
        layout = load(name)
        assert PAPERS[paper_of(layout)] == (layout.stock.width_mm, layout.stock.height_mm)
    own = replace(layout, stock=replace(layout.stock, width_mm=150.0))
    with pytest.raises(LayoutRefused, match="no paper that printers are aligned for"):
        paper_of(own)


def test_a_perfect_printer_moves_nothing() -> None:
    """The alignment of a printer without error leaves every place as it is."""
    layout = load("sleeve-10-letter")
    perfect = Alignment("bench", "letter-sideways", 0, 0, 1, 1, 0, 0, READING_MM, 1)
    assert moved(layout, perfect) == layout
