"""How the back lies to the front is read through the paper, and the back moved for it."""

from dataclasses import replace
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.geometry.alignment import PAPERS, READING_MM, Point, fitted, fitted_back, marks
from labelkit.geometry.model import Face, Layout
from labelkit.geometry.moving import moved
from labelkit.geometry.reading import load
from labelkit.ground.errors import LayoutRefused

Machine = tuple[float, float, float, float]
"""Offset across and down, scale and turn, as seen from the front."""

TRUE: Machine = (0.0, 0.0, 1.0, 0.0)
PAPER = {"pad-letter": "letter-sideways", "leaflet-folded-a4": "a4-sideways"}


def printed(paper: str, x: float, y: float, machine: Machine) -> Point:
    """Where a machine puts a point, as seen from the front: turned and scaled about the centre,
    then shifted."""
    (width, height), (dx, dy, scale, turn) = PAPERS[paper], machine
    u, v = x - width / 2, y - height / 2
    return (width / 2 + scale * (u - turn * v) + dx, height / 2 + scale * (turn * u + v) + dy)


def read(paper: str, machine: Machine) -> list[tuple[str, float, float]]:
    """What a rule says of the front's crosses."""
    where = marks(*PAPERS[paper])
    return [(name, *printed(paper, x, y, machine)) for name, (x, y) in where.items()]


def held(paper: str, front: Machine, back: Machine) -> list[tuple[str, float, float]]:
    """How far each of the back's crosses is seen from the front's, against the light."""
    found = []
    for name, (x, y) in marks(*PAPERS[paper]).items():
        (fx, fy), (bx, by) = printed(paper, x, y, front), printed(paper, x, y, back)
        found.append((name, bx - fx, by - fy))
    return found


def turned(layout: Layout, upside: bool, point: Point) -> Point:
    """A point of the back page as it is seen through the sheet: a sideways sheet turned about
    its short edge is turned like the page of a book; about its long edge, like a calendar's."""
    (x, y), stock = point, layout.stock
    return (x, stock.height_mm - y) if upside else (stock.width_mm - x, y)


def corners(face: Face) -> list[Point]:
    """Corners of every field, and every registration mark."""
    boxes = [f.box for piece in face.pieces for area in piece.areas for f in area.fields]
    points = [(b.x_mm, b.y_mm) for b in boxes] + [(b.right_mm, b.bottom_mm) for b in boxes]
    return points + [(mark.x_mm, mark.y_mm) for mark in face.marks]


small = st.floats(-0.9, 0.9)
scales, turns = st.floats(0.9985, 1.0015), st.floats(-0.001, 0.001)


@given(
    st.sampled_from(sorted(PAPER)),
    st.booleans(),
    st.tuples(small, small, scales, turns),
    st.tuples(small, small, scales, turns),
)
def test_a_moved_back_lands_in_its_place(
    name: str, upside: bool, front: Machine, back: Machine
) -> None:
    """Whatever front and back do, and about whichever edge the sheet is turned, everything of
    both sides lands nearer to its place than the moved layout's tolerance says."""
    layout, paper = load(name), PAPER[name]
    flip = "long-edge" if upside else "short-edge"
    stock = replace(layout.stock, margin_mm=0.0, tolerance_mm=5.0)
    layout = replace(layout, stock=stock, flip=flip)
    register = fitted_back("bench", paper, flip, held(paper, front, back) * 3)
    done = moved(layout, fitted("bench", paper, read(paper, front) * 3), register)
    assert done.stock.tolerance_mm < 1.0
    for before, after in zip(*(corners(one.faces[0]) for one in (layout, done)), strict=True):
        x, y = printed(paper, *after, front)
        assert hypot(x - before[0], y - before[1]) <= done.stock.tolerance_mm
    for before, after in zip(*(corners(one.faces[1]) for one in (layout, done)), strict=True):
        x, y = printed(paper, *turned(layout, upside, after), back)
        wanted = turned(layout, upside, before)
        assert hypot(x - wanted[0], y - wanted[1]) <= done.stock.tolerance_mm


def test_residuals_of_front_and_back_add_up() -> None:
    """A back that differs from sheet to sheet by 1.2 mm is refused with its numbers, though the
    front is good."""
    layout, paper = load("pad-letter"), "letter-sideways"
    front = fitted("bench", paper, read(paper, TRUE) * 3)
    shy = [*held(paper, TRUE, TRUE) * 2, *held(paper, TRUE, (0.0, 1.2, 1.0, 0.0))]
    register = fitted_back("bench", paper, "short-edge", shy)
    assert register.residual_mm == pytest.approx(0.8 + READING_MM)
    exact = fitted_back("bench", paper, "short-edge", held(paper, TRUE, TRUE) * 3)
    assert moved(layout, front, exact).stock.tolerance_mm == pytest.approx(2 * READING_MM)
    good = replace(register, residual_mm=0.85)
    assert moved(layout, front, good).stock.tolerance_mm == pytest.approx(0.85 + READING_MM)
    with pytest.raises(LayoutRefused, match=r"on the back lands up to 1\.05 mm .* keeps 1 mm"):
        moved(layout, front, replace(register, residual_mm=0.95))


def test_few_register_sheets_never_relax_a_tolerance() -> None:
    """Three sheets of the front and one of the back: the layout's own tolerance stays."""
    layout, paper = load("pad-letter"), "letter-sideways"
    front = fitted("bench", paper, read(paper, TRUE) * 3)
    register = fitted_back("bench", paper, "short-edge", held(paper, TRUE, TRUE))
    assert moved(layout, front, register).stock.tolerance_mm == layout.stock.tolerance_mm


@pytest.mark.parametrize("off", [float("nan"), float("inf"), 5.1, -1e9])
def test_a_back_that_cannot_be_so_far_off_is_refused(off: float) -> None:
    """Not a number, endless, or more than a slip: none is kept."""
    readings = [(name, off, 0.0) for name in marks(*PAPERS["letter"])]
    with pytest.raises(LayoutRefused, match="more than 5 mm off"):
        fitted_back("bench", "letter", "long-edge", readings)
