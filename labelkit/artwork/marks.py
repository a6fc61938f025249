"""Registration marks: fine crosses at the same points of a sheet's front and back.

On the back each has a ring as wide as front and back may lie apart, so that who holds a sheet
against the light sees at once whether they agree.
"""

from collections.abc import Iterator

from labelkit.artwork.page import Origin, StrokeItem
from labelkit.artwork.strokes import FINE_MM, ring, rule
from labelkit.geometry.model import MARK_ARM_MM, Face

ORIGIN = Origin("layout", field="registration-mark")


def mark_items(face: Face) -> Iterator[StrokeItem]:
    """The strokes of a face's marks."""
    for mark in face.marks:
        x, y, arm = mark.x_mm, mark.y_mm, MARK_ARM_MM
        yield rule(x - arm, y, x + arm, y, ORIGIN)
        yield rule(x, y - arm, x, y + arm, ORIGIN)
        if mark.ring_mm:
            yield ring(x, y, mark.ring_mm, FINE_MM, ORIGIN)
