"""Boxes: edges that touch don't overlap, and what is inside stays inside when moved."""

from hypothesis import given
from hypothesis import strategies as st

from labelkit.ground.box import Box
from labelkit.ground.units import dots_to_mm, mm_to_pt, pt_to_mm

LENGTHS = st.floats(0, 300)
BOXES = st.builds(Box, LENGTHS, LENGTHS, st.floats(1, 300), st.floats(1, 300))


def test_touching_edges_do_not_overlap() -> None:
    """Two cells side by side share an edge, not an area."""
    assert not Box(0, 0, 10, 10).overlaps(Box(10, 0, 10, 10))
    assert Box(0, 0, 10, 10).overlaps(Box(9.9, 0, 10, 10))


@given(BOXES, LENGTHS, LENGTHS)
def test_moving_keeps_what_is_inside(box: Box, dx: float, dy: float) -> None:
    """A box contains its inset, wherever both are moved."""
    inner = box.inset(0.25)
    assert box.contains(inner)
    assert box.moved(dx, dy).contains(inner.moved(dx, dy))
    assert box.overlaps(inner)


def test_units_agree_with_the_standard() -> None:
    """72 points to an inch of 25.4 mm (ISO 32000-1, 8.3.2.3; the inch of 1959)."""
    assert mm_to_pt(25.4) == 72
    assert abs(pt_to_mm(9) - 3.175) < 1e-12
    assert abs(dots_to_mm(4, 300) - 0.33867) < 1e-5
