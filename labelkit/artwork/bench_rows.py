"""Rows of a bench sheet: text, boxes to tick, lines to sign, columns of figures.

A row is a `Chunk` as wide as the sheet's text. Refuses a text that is wider than its room:
nothing on a bench sheet is cut or hyphenated away. Ticks nothing beforehand.
"""

from collections.abc import Sequence
from dataclasses import replace

from labelkit.artwork.chunks import Chunk, beside, moved
from labelkit.artwork.page import Origin, TextItem
from labelkit.artwork.strokes import FINE_MM, frame, rule
from labelkit.artwork.texts import TALL_MM, Style, set_in, up
from labelkit.artwork.words import of
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused, Fault
from labelkit.ground.units import pt_to_mm
from labelkit.typeset.model import Fitted, TooBig
from labelkit.wording.model import Said

TICK_MM = 5.0
"""Side of a box to tick: for a pen in a gloved hand (common practice, no source)."""

TICK_GAP_MM = 2.5

SIGN_MM = 11.0
"""Height of a line to sign on (common practice, no source)."""

BESIDE_LABEL_MM = 3.0
"""From the label to the line to sign on."""

LEAST_LINE_MM = 40.0
"""Least length of a line for a name and a time (common practice, no source)."""


HEAD = Style(16, 12, "bold")
BODY = Style(11, 9)
STRONG = Style(11, 9, "bold")
FINE = Style(9, 8)


def origin(said: Said) -> Origin:
    """The origin of an item that says this."""
    return Origin(said.origin, said.language)


def set_text(said: Said, box: Box, kind: Style) -> TextItem:
    """A text in its box. Raises ArtworkRefused where it doesn't fit."""
    return TextItem(box, _fitted(said, box.w_mm, box.h_mm, kind).lines, origin(said))


def text_row(said: Said, width_mm: float, kind: Style, before_mm: float = 1.5) -> Chunk:
    """A text over as many lines as it takes."""
    fitted = _fitted(said, width_mm, TALL_MM, kind)
    height_mm = fitted.lines[-1].baseline_mm + 0.27 * pt_to_mm(fitted.size_pt)
    item = TextItem(Box(0.0, 0.0, width_mm, height_mm), fitted.lines, origin(said))
    return Chunk((item,), height_mm, before_mm)


def tick_row(said: Said, width_mm: float) -> Chunk:
    """A box to tick before a text."""
    text = text_row(said, width_mm - TICK_MM - TICK_GAP_MM, BODY)
    (words,) = text.items
    if not isinstance(words, TextItem):
        raise TypeError("a text row holds a text")
    # Capitals stand in the middle of the box; they are about 0.7 of the type size high.
    middle_mm = words.lines[0].baseline_mm - 0.35 * pt_to_mm(words.lines[0].runs[0].size_pt)
    lower_mm = max(0.0, TICK_MM / 2 - middle_mm)
    box = Box(0.0, 0.0, TICK_MM, TICK_MM).inset(FINE_MM / 2)
    tick = frame(box, FINE_MM, Origin("layout"))
    height_mm = max(TICK_MM, lower_mm + text.height_mm)
    return Chunk((tick, moved(words, TICK_MM + TICK_GAP_MM, lower_mm)), height_mm, 2.0)


def sign_row(said: Said, width_mm: float) -> Chunk:
    """A label and the line to write on beside it."""
    fitted = _fitted(said, width_mm - LEAST_LINE_MM, SIGN_MM - 1.0, Style(11, 9, valign="bottom"))
    label = Box(0.0, 0.0, width_mm - LEAST_LINE_MM, SIGN_MM - 1.0)
    start_mm = fitted.width_mm + BESIDE_LABEL_MM
    line = rule(start_mm, SIGN_MM - 0.5, width_mm, SIGN_MM - 0.5, Origin("layout"))
    return Chunk((TextItem(label, fitted.lines, origin(said)), line), SIGN_MM, 1.0)


def table_row(cells: Sequence[Said], widths_mm: Sequence[float], kind: Style) -> Chunk:
    """Texts next to one another with a fine line below; the third and later are figures."""
    parts = []
    x_mm = 0.0
    for number, (said, width_mm) in enumerate(zip(cells, widths_mm, strict=True)):
        align = "end" if number > 2 else "start"
        style = replace(kind, align=align)
        parts.append((x_mm, text_row(said, width_mm - 2.0, style, 0.0)))
        x_mm += width_mm
    row = beside(parts)
    y_mm = row.height_mm + 1.2
    line = rule(0.0, y_mm, x_mm - 2.0, y_mm, Origin("layout"))
    return Chunk((*row.items, line), y_mm + FINE_MM, 2.0)


def _fitted(said: Said, width_mm: float, height_mm: float, kind: Style) -> Fitted:
    found = set_in(of(said), kind, width_mm, height_mm)
    if isinstance(found, TooBig):
        raise ArtworkRefused([_too_big(said, found, width_mm, height_mm)])
    return found


def _too_big(said: Said, found: TooBig, width_mm: float, height_mm: float) -> Fault:
    room = (
        f"{width_mm:.1f} mm wide"
        if height_mm == TALL_MM
        else f"{width_mm:.1f} × {height_mm:.1f} mm"
    )
    return Fault(
        "bench sheet",
        "",
        said.origin.partition(":")[2],
        f"“{found.text}” needs {up(found.needed_w_mm):.1f} × {up(found.needed_h_mm):.1f} mm at "
        f"{found.least_pt:g} pt, and its room is {room}",
        "shorten the record or the wording",
    )
