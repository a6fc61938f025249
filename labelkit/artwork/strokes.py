"""Plain strokes of the artwork's own: rules, frames, crosses, dots. None of them is text."""

from labelkit.artwork.page import Origin, StrokeItem
from labelkit.ground.box import Box

FINE_MM = 0.25
"""Width of rules and writing lines: three dots of a 300 dpi printer."""


def rule(x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float, origin: Origin) -> StrokeItem:
    """A fine straight line."""
    box = Box(min(x1_mm, x2_mm), min(y1_mm, y2_mm), abs(x2_mm - x1_mm), abs(y2_mm - y1_mm))
    path = (("M", (x1_mm, y1_mm)), ("L", (x2_mm, y2_mm)))
    return StrokeItem(box, path, FINE_MM, origin)


def frame(box: Box, width_mm: float, origin: Origin) -> StrokeItem:
    """A rectangle along `box`, its line half inside and half outside."""
    path = (
        ("M", (box.x_mm, box.y_mm)),
        ("L", (box.right_mm, box.y_mm)),
        ("L", (box.right_mm, box.bottom_mm)),
        ("L", (box.x_mm, box.bottom_mm)),
        ("Z", ()),
    )
    return StrokeItem(box, path, width_mm, origin)


def polygon(points: tuple[tuple[float, float], ...], origin: Origin) -> StrokeItem:
    """A filled shape through `points`."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    box = Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
    lines = tuple(("L", point) for point in points[1:])
    path = (("M", points[0]), *lines, ("Z", ()))
    return StrokeItem(box, path, 0.0, origin, fill="#000000", stroke="")


def dot(x_mm: float, y_mm: float, r_mm: float, origin: Origin) -> StrokeItem:
    """A filled dot."""
    box, path = _circle(x_mm, y_mm, r_mm)
    return StrokeItem(box, path, 0.0, origin, fill="#000000", stroke="")


def ring(
    x_mm: float,
    y_mm: float,
    r_mm: float,
    width_mm: float,
    origin: Origin,
    dash_mm: tuple[float, ...] = (),
) -> StrokeItem:
    """A circle's line, half inside and half outside of the radius."""
    box, path = _circle(x_mm, y_mm, r_mm)
    return StrokeItem(box, path, width_mm, origin, dash_mm=dash_mm)


def _circle(
    x_mm: float, y_mm: float, r_mm: float
) -> tuple[Box, tuple[tuple[str, tuple[float, ...]], ...]]:
    """A circle from four cubic curves (control points at 0.5523 of the radius)."""
    k = 0.5523 * r_mm
    path: tuple[tuple[str, tuple[float, ...]], ...] = (
        ("M", (x_mm - r_mm, y_mm)),
        ("C", (x_mm - r_mm, y_mm - k, x_mm - k, y_mm - r_mm, x_mm, y_mm - r_mm)),
        ("C", (x_mm + k, y_mm - r_mm, x_mm + r_mm, y_mm - k, x_mm + r_mm, y_mm)),
        ("C", (x_mm + r_mm, y_mm + k, x_mm + k, y_mm + r_mm, x_mm, y_mm + r_mm)),
        ("C", (x_mm - k, y_mm + r_mm, x_mm - r_mm, y_mm + k, x_mm - r_mm, y_mm)),
        ("Z", ()),
    )
    return Box(x_mm - r_mm, y_mm - r_mm, 2 * r_mm, 2 * r_mm), path
