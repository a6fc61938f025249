"""The register sheet: crosses and combs on front and back, to be held against the light.

Each comb of the front has whole divisions and that of the back nine tenths of them, so the
number of the line that runs on through the paper is the offset in tenths of a millimetre (the
principle of Pierre Vernier, 1631). For the bench only: it is no artwork for a patient.
"""

from collections.abc import Iterator
from shlex import quote

from labelkit.artwork.alignment import FINE_MM, LANGUAGE, ORIGIN, set_text
from labelkit.artwork.page import Artwork, Item, Page, StrokeItem
from labelkit.artwork.strokes import ring
from labelkit.geometry.alignment import PAPERS, SURE_FROM, Point, marks
from labelkit.geometry.model import Stock
from labelkit.geometry.sides import mirrors_x
from labelkit.ground.box import Box

ARM_MM = 5.0
"""Half the length of the front's crosses; the back's are half as long, in a ring."""

LINES = 15
"""Lines of a comb to each side of its middle: an offset of up to 1.5 mm can be read."""

FRONT_MM = 1.0
BACK_MM = 0.9
"""A division of the comb on either side."""

NEAR_MM = 9.0
"""From a cross to the nearer end of the front half of the comb that reads across."""

BESIDE_MM = 23.0
"""The same of the comb that reads down: clear of the other one."""

TEETH_MM = 3.0
"""Length of a comb's lines on either side; both halves meet at their ends."""

RING_MM = 1.0


def register_sheet(printer: str, paper: str, flip: str) -> Artwork:
    """Front and back of a sheet in `PAPERS`, turned over about the edge that `flip` names."""
    width, height = PAPERS[paper]
    across = mirrors_x(flip, Stock("", width, height, 0, 300, 0))
    front: list[Item] = list(_words(printer, paper, flip))
    back: list[Item] = []
    for name, (x, y) in marks(width, height).items():
        inward = (1 if x <= width / 2 else -1, 1 if y <= height / 2 else -1)
        front += _front(name, (x, y), inward)
        for one, two in _back((x, y), inward):
            back.append(_stroke(*(_seen(point, width, height, across) for point in (one, two))))
        back.append(ring(*_seen((x, y), width, height, across), RING_MM, FINE_MM, ORIGIN))
    title = f"Register sheet: {printer}, {paper}"
    pages = (Page(width, height, tuple(front)), Page(width, height, tuple(back)))
    return Artwork("alignment", title, LANGUAGE, pages, duplex=True, flip=flip)


def _seen(point: Point, width: float, height: float, across: bool) -> Point:
    """Where a point that is seen from the front stands on the back page."""
    x, y = point
    return (width - x, y) if across else (x, height - y)


def _front(name: str, at: Point, inward: tuple[int, int]) -> Iterator[Item]:
    """A cross with its name and the numbered halves of both combs."""
    (x, y), (right, down) = at, inward
    yield _stroke((x - ARM_MM, y), (x + ARM_MM, y))
    yield _stroke((x, y - ARM_MM), (x, y + ARM_MM))
    for i in range(-LINES, LINES + 1):
        long = 1.0 if i % 5 == 0 else 0.0
        near, far = y + down * (NEAR_MM - long), y + down * (NEAR_MM + TEETH_MM)
        yield _stroke((x + i * FRONT_MM, near), (x + i * FRONT_MM, far))
        near, far = x + right * (BESIDE_MM - long), x + right * (BESIDE_MM + TEETH_MM)
        yield _stroke((near, y + i * FRONT_MM), (far, y + i * FRONT_MM))
        if i % 5 == 0:
            said = f"{i / 10:+.1f}" if i else "0"
            level = y + down * (NEAR_MM - 2.2)
            yield from set_text(said, Box(x + i - 3, level - 1.2, 6, 2.4), 6, "centre")
            edge = x + right * (BESIDE_MM - 1.4)
            box = Box(edge - 5 if right > 0 else edge, y + i - 1.2, 5, 2.4)
            yield from set_text(said, box, 6, "end" if right > 0 else "start")
    box = Box(x - 16, y - down * 11 - 2.0, 32, 4)
    yield from set_text(name, box, 8, "centre")


def _back(at: Point, inward: tuple[int, int]) -> Iterator[tuple[Point, Point]]:
    """The lines of a cross and of the other halves of its combs, as seen from the front."""
    (x, y), (right, down) = at, inward
    yield (x - ARM_MM / 2, y), (x + ARM_MM / 2, y)
    yield (x, y - ARM_MM / 2), (x, y + ARM_MM / 2)
    for i in range(-LINES, LINES + 1):
        along = i * BACK_MM
        near, far = (y + down * (NEAR_MM + n * TEETH_MM) for n in (1, 2))
        yield (x + along, near), (x + along, far)
        near, far = (x + right * (BESIDE_MM + n * TEETH_MM) for n in (1, 2))
        yield (near, y + along), (far, y + along)


def _stroke(one: Point, two: Point) -> StrokeItem:
    (x1, y1), (x2, y2) = one, two
    box = Box(min(x1, x2), min(y1, y2), abs(x2 - x1), abs(y2 - y1))
    return StrokeItem(box, (("M", one), ("L", two)), FINE_MM, ORIGIN)


def _words(printer: str, paper: str, flip: str) -> Iterator[Item]:
    left, room, y = 50.0, PAPERS[paper][0] - 100.0, 44.0
    yield from set_text(f"Register sheet: {printer}, {paper}", Box(left, y, room, 7), 13, "bold")
    y += 8.0
    for said in (
        f"Print it on both sides, turned about the {flip.replace('-', ' ')}, at actual size, on "
        f"the stock itself: {SURE_FROM} sheets or more. Hold each against the light, this "
        "side towards you.",
        "Beside each cross find the line that runs on into a line of the back. Its number is how "
        "far the back lies from the front, in millimetres: to the right, and downwards. Where none "
        "does, the back is off by more than 1.5 mm: adjust the printer first. Type what you read, "
        "for every cross of every sheet:",
    ):
        lines = list(set_text(said, Box(left, y, room, 24), 9))
        yield from lines
        y += max(len(item.lines) for item in lines) * 4.2 + 1.0
    for typed in (
        f"labelkit align {quote(printer)} --stock {paper} --back {flip}",
        "  --read top-left=+0.3,-0.2 …",
    ):
        yield from set_text(typed, Box(left, y, room, 4.5), 8, "mono")
        y += 4.5
