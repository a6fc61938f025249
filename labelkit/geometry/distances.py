"""Plane geometry for the judge: boxes, segments, circles and how far they are apart."""

from math import hypot

from labelkit.geometry.model import Line
from labelkit.ground.box import SLACK_MM, Box


def box_to_line(box: Box, line: Line) -> float:
    """Millimetres between a box and a line; 0 where the line touches or crosses the box."""
    if line.x1_mm == line.x2_mm or line.y1_mm == line.y2_mm:
        left, right = sorted((line.x1_mm, line.x2_mm))
        top, bottom = sorted((line.y1_mm, line.y2_mm))
        across = max(box.x_mm - right, 0.0, left - box.right_mm)
        return hypot(across, max(box.y_mm - bottom, 0.0, top - box.bottom_mm))
    if crosses(box, line):
        return 0.0
    ends = ((line.x1_mm, line.y1_mm), (line.x2_mm, line.y2_mm))
    corners = (
        (box.x_mm, box.y_mm),
        (box.right_mm, box.y_mm),
        (box.x_mm, box.bottom_mm),
        (box.right_mm, box.bottom_mm),
    )
    return min(
        *(box_to_point(box, x, y) for x, y in ends),
        *(_point_to_line(x, y, line) for x, y in corners),
    )


def crosses(box: Box, line: Line) -> bool:
    """Whether any part of the line lies in the box, its edge counted out.

    Clips the line to the box side by side (Liang and Barsky 1984).
    """
    dx, dy = line.x2_mm - line.x1_mm, line.y2_mm - line.y1_mm
    first, last = 0.0, 1.0
    inner = box.inset(SLACK_MM)
    for step, room in (
        (-dx, line.x1_mm - inner.x_mm),
        (dx, inner.right_mm - line.x1_mm),
        (-dy, line.y1_mm - inner.y_mm),
        (dy, inner.bottom_mm - line.y1_mm),
    ):
        if step == 0.0:
            if room < 0.0:
                return False
            continue
        at = room / step
        if step < 0.0:
            first = max(first, at)
        else:
            last = min(last, at)
        if first > last:
            return False
    return True


def box_to_point(box: Box, x_mm: float, y_mm: float) -> float:
    """Millimetres from a point to a box; 0 inside."""
    dx = max(box.x_mm - x_mm, 0.0, x_mm - box.right_mm)
    dy = max(box.y_mm - y_mm, 0.0, y_mm - box.bottom_mm)
    return hypot(dx, dy)


def box_to_circle(box: Box, circle: Box) -> float:
    """Millimetres from a box to the round opening that `circle` bounds; negative inside it."""
    radius = circle.w_mm / 2
    centre = (circle.x_mm + radius, circle.y_mm + circle.h_mm / 2)
    return box_to_point(box, *centre) - radius


def beyond(inner: Box, outer: Box) -> float:
    """How far `inner` reaches out of `outer` at its worst side, in millimetres; 0 where it fits."""
    return max(
        0.0,
        outer.x_mm - inner.x_mm,
        outer.y_mm - inner.y_mm,
        inner.right_mm - outer.right_mm,
        inner.bottom_mm - outer.bottom_mm,
    )


def shared(one: Box, other: Box) -> tuple[float, float]:
    """Width and height of the part two overlapping boxes share."""
    width = min(one.right_mm, other.right_mm) - max(one.x_mm, other.x_mm)
    height = min(one.bottom_mm, other.bottom_mm) - max(one.y_mm, other.y_mm)
    return width, height


def uncovered(edge: Line, lines: tuple[Line, ...]) -> float:
    """Millimetres of an upright or level edge that none of the lines runs along."""
    upright = edge.x1_mm == edge.x2_mm
    start, end = sorted((edge.y1_mm, edge.y2_mm) if upright else (edge.x1_mm, edge.x2_mm))
    spans = sorted(span for line in lines if (span := _along(edge, line, upright)) is not None)
    reached, bare = start, 0.0
    for low, high in spans:
        if low > reached:
            bare += min(low, end) - reached
        reached = max(reached, min(high, end))
        if reached >= end:
            break
    return bare + max(0.0, end - reached)


def _along(edge: Line, line: Line, upright: bool) -> tuple[float, float] | None:
    """The stretch of a line that is on the edge's own straight, if it is on it."""
    if upright:
        same = abs(line.x1_mm - edge.x1_mm) < 1e-3 and abs(line.x2_mm - edge.x1_mm) < 1e-3
        low, high = sorted((line.y1_mm, line.y2_mm))
    else:
        same = abs(line.y1_mm - edge.y1_mm) < 1e-3 and abs(line.y2_mm - edge.y1_mm) < 1e-3
        low, high = sorted((line.x1_mm, line.x2_mm))
    return (low - 1e-3, high + 1e-3) if same else None


def _point_to_line(x: float, y: float, line: Line) -> float:
    dx, dy = line.x2_mm - line.x1_mm, line.y2_mm - line.y1_mm
    length = dx * dx + dy * dy
    along = ((x - line.x1_mm) * dx + (y - line.y1_mm) * dy) / length if length else 0.0
    at = min(1.0, max(0.0, along))
    return hypot(x - line.x1_mm - at * dx, y - line.y1_mm - at * dy)
