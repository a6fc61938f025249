"""The alignment sheet: crosses at corners and centre, a vernier at each, and rulers.

A person lays a steel rule with its zero on the sheet's edge and reads, to a tenth of a
millimetre, where each cross landed. For the bench only: it is no artwork for a patient.
"""

from collections.abc import Iterator
from shlex import quote

from labelkit.artwork.page import Artwork, Item, Origin, Page, StrokeItem, TextItem
from labelkit.geometry.alignment import PAPERS, SURE_FROM, marks
from labelkit.ground.box import Box
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import TooBig

ORIGIN = Origin("layout")
LANGUAGE = "en"

FINE_MM = 0.1
"""Width of what is read: about one dot of a 300 dpi printer."""

ARM_MM = 7.0
"""Half the length of a cross's lines."""

DIVISIONS = 10
DIVISION_MM = 0.9
"""A vernier of ten divisions on nine millimetres, read against a rule's whole ones: the number of
the line that stands on a mark of the rule is the tenths (the principle of Pierre Vernier, 1631)."""

EDGE_MM = 8.0
"""Where the rulers stand: inside the edge that printers don't print."""


def alignment_sheet(printer: str, paper: str) -> Artwork:
    """One page of a paper in `PAPERS`, with all that is to be read and how."""
    width, height = PAPERS[paper]
    items = [*_rulers(width, height), *_words(printer, paper)]
    for name, (x, y) in marks(width, height).items():
        items += _mark(name, x, y)
    return Artwork(
        "alignment",
        f"Alignment sheet: {printer}, {paper}",
        LANGUAGE,
        (Page(width, height, tuple(items)),),
    )


def _mark(name: str, x: float, y: float) -> Iterator[Item]:
    """A cross, its two verniers, and what it is called."""
    yield _stroke(x - ARM_MM, y, x + ARM_MM, y)
    yield _stroke(x, y - ARM_MM, x, y + ARM_MM)
    # Line 0 of each comb is in one line with the cross; the rule lies along the comb's far end.
    low, right = y + ARM_MM + 7, x + ARM_MM + 12
    for i in range(DIVISIONS + 1):
        along = i * DIVISION_MM
        length = 4.0 if i % 5 == 0 else 2.5
        yield _stroke(x + along, low - length, x + along, low)
        yield _stroke(right - length, y + along, right, y + along)
        if i % 5 == 0:
            yield from set_text(str(i), Box(x + along - 2, low - 6.6, 4, 2.4), 6, "centre")
            yield from set_text(str(i), Box(right - 8.4, y + along - 1.2, 4, 2.4), 6, "end")
    yield from set_text(f"{name}\n{_mm(x)}, {_mm(y)}", Box(x + 1, y - 7.5, 18.5, 6.5), 7)


def _mm(length: float) -> str:
    return f"{length:.2f}".removesuffix("0")


def _rulers(width: float, height: float) -> Iterator[Item]:
    """Millimetres from the sheet's left edge along its top, and from its top along its left."""
    start = EDGE_MM - 2
    for mm in range(int(EDGE_MM), int(width - EDGE_MM) + 1):
        yield _stroke(mm, start, mm, start + _tick(mm))
        if mm % 20 == 0:
            yield from set_text(str(mm), Box(mm - 4, start + 3.2, 8, 2.4), 6, "centre")
    for mm in range(int(EDGE_MM), int(height - EDGE_MM) + 1):
        yield _stroke(start, mm, start + _tick(mm), mm)
        if mm % 20 == 0:
            yield from set_text(str(mm), Box(start + 3.8, mm - 1.2, 8, 2.4), 6)


def _tick(mm: int) -> float:
    return 3.0 if mm % 10 == 0 else 2.2 if mm % 5 == 0 else 1.4


def _words(printer: str, paper: str) -> Iterator[Item]:
    width, height = PAPERS[paper]
    left, room = 50.0, width - 100.0
    title = f"Alignment sheet: {printer}, {paper}"
    yield from set_text(title, Box(left, 30, room, 12), 14, "bold")
    y = 43.0
    for said in (
        f"{width:g} × {height:g} mm. Print it at actual size, never fitted to the page, on the "
        f"stock itself: {SURE_FROM} sheets or more, because no two feed alike.",
        "Across: lay a steel rule with its zero on the left edge, along the comb under a cross. "
        "The rule's last mark before line 0 gives the whole millimetres; the number of the line "
        "that stands on a mark gives the tenths.",
        "Down: the same from the top edge, along the comb on the right of the cross.",
        "Beside each cross stands where a perfect printer would put it: across, down. Type what "
        "you read, for every cross of every sheet:",
    ):
        lines = list(set_text(said, Box(left, y, room, 24), 9))
        yield from lines
        y += max(len(item.lines) for item in lines) * 4.2 + 1.5
    typed = f"labelkit align {quote(printer)} --stock {paper}"
    yield from set_text(typed, Box(left, y, room, 4.5), 8, "mono")
    yield from set_text("  --read top-left=25.1,24.8 …", Box(left, y + 4.5, room, 4.5), 8, "mono")


def _stroke(x1: float, y1: float, x2: float, y2: float) -> StrokeItem:
    box = Box(min(x1, x2), min(y1, y2), abs(x2 - x1), abs(y2 - y1))
    return StrokeItem(box, (("M", (x1, y1)), ("L", (x2, y2))), FINE_MM, ORIGIN)


def set_text(text: str, box: Box, size_pt: float, style: str = "start") -> Iterator[TextItem]:
    """Words in their box. `style` is ``start``, ``centre``, ``end``, ``bold`` or ``mono``.

    Raises ValueError where the box is too small.
    """
    fitted = fit(
        text,
        LANGUAGE,
        box.w_mm,
        box.h_mm,
        wanted_pt=size_pt,
        least_pt=5,
        align=style if style in ("centre", "end") else "start",
        weight="bold" if style == "bold" else "regular",
        family="mono" if style == "mono" else "sans",
    )
    if isinstance(fitted, TooBig):
        raise ValueError(f"no room on the sheet for {text!r}")
    yield TextItem(box, fitted.lines, ORIGIN)
