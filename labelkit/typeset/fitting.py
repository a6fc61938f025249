"""A text into a box: the largest size between a wanted and a least one that fits.

Measured by the glyphs' real outlines. Cuts nothing, shrinks nothing under its least
size, and gives the measure of what is missing instead. Hyphens come in only where the
text can't be set whole-worded at any allowed size.
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from labelkit.ground.errors import ArtworkRefused
from labelkit.ground.quoting import Span, marked
from labelkit.ground.units import pt_to_mm
from labelkit.typeset.fonts import face
from labelkit.typeset.lines import Line, Setter, blank
from labelkit.typeset.model import Fitted, GlyphRun, TextLine, TooBig
from labelkit.typeset.own_faces import OwnFace, shelf

STEP_PT = 0.25
"""Sizes are tried in these steps."""

_GAP = 30.0
"""Least clear space between the ink of two lines, 1/1000 em; common practice, no source."""

_EPSILON = 1e-6


@dataclass(frozen=True, slots=True)
class _Measured:
    """Broken lines and their vertical measures in 1/1000 em."""

    lines: tuple[Line, ...]
    leading: float
    top: float
    bottom: float

    @property
    def height(self) -> float:
        return self.top + (len(self.lines) - 1) * self.leading + self.bottom


def _measure(lines: tuple[Line, ...], ratio: float) -> _Measured:
    """Even line spacing: the ratio asked for, or more where the ink of two lines would meet."""
    pairs = pairwise(lines)
    needed = max((-above.bottom + below.top + _GAP for above, below in pairs), default=0.0)
    return _Measured(
        lines, max(1000 * ratio, needed), max(0.0, lines[0].top), max(0.0, -lines[-1].bottom)
    )


def _sizes(wanted_pt: float, least_pt: float) -> Iterator[float]:
    """From wanted down to least, in steps; the least itself comes last."""
    size = wanted_pt
    while size > least_pt + _EPSILON:
        yield size
        size -= STEP_PT
    yield least_pt


def _em_mm(size_pt: float) -> float:
    """Millimetres of 1/1000 em at a size."""
    return pt_to_mm(size_pt) / 1000


@dataclass(frozen=True, slots=True)
class _Place:
    """How lines stand in their box."""

    width_mm: float
    height_mm: float
    align: str
    valign: str


def _first_baseline(
    found: _Measured, unit: float, place: _Place, ascent: float, descent: float
) -> float:
    """Baseline of the first line in mm from the box's top.

    Where there is room, lines sit by the ascent and descent of plain letters rather than by
    their own ink, so that neighbours of one size share their baselines.
    """
    spare = place.height_mm - found.height * unit
    above = min(max(0.0, ascent - found.top) * unit, spare)
    below = min(max(0.0, descent - found.bottom) * unit, spare)
    shift = {"top": above, "middle": above + (spare - above) / 2, "bottom": spare - below}
    if place.valign == "middle":
        cap = max(found.top, ascent)
        block = (cap + (len(found.lines) - 1) * found.leading) * unit
        wanted = (place.height_mm - block) / 2 + cap * unit - found.top * unit
        return found.top * unit + min(max(wanted, 0.0), spare)
    return found.top * unit + shift[place.valign]


def _drawn(
    line: Line, unit: float, size_pt: float, place: tuple[float, float], rtl: bool
) -> TextLine:
    start = -min(0.0, line.left)
    runs = tuple(
        GlyphRun(
            run.face,
            size_pt,
            run.shaped.glyphs,
            run.text,
            run.rtl,
            line.language,
            (start + run.x) * unit,
            run.shaped.advance * unit,
        )
        for run in line.runs
    )
    return TextLine(runs, line.text, *place, line.width * unit, line.hyphen, rtl)


def _placed(found: _Measured, size_pt: float, place: _Place, setter: Setter) -> Fitted:
    unit = _em_mm(size_pt)
    main = face(setter.main_face)
    first = _first_baseline(found, unit, place, main.ascent, main.descent)
    rtl = bool(setter.base)
    side = {"start": float(rtl), "end": float(not rtl), "centre": 0.5}[place.align]
    lines = tuple(
        _drawn(
            line,
            unit,
            size_pt,
            (side * max(0.0, place.width_mm - line.width * unit), first + i * found.leading * unit),
            rtl,
        )
        for i, line in enumerate(found.lines)
    )
    return Fitted(
        lines,
        size_pt,
        found.leading * unit,
        main.x_height * unit,
        max(line.width_mm for line in lines),
        found.height * unit,
    )


@lru_cache(maxsize=500)
def _setter(
    said: str,
    language: str,
    family: str,
    weight: str,
    verbatim: tuple[str, ...],
    own: tuple[OwnFace, ...],
) -> Setter:
    """A text ready to be broken: the same at every size and width that a document is tried at,
    for each set of the workspace's own faces."""
    return Setter(said, language, family, weight, verbatim)


def fit(
    text: str,
    language: str,
    width_mm: float,
    height_mm: float,
    *,
    wanted_pt: float,
    least_pt: float,
    weight: str = "regular",
    family: str = "sans",
    align: str = "start",
    valign: str = "top",
    leading: float = 1.2,
    verbatim: tuple[str, ...] = (),
    quoted: tuple[Span, ...] = (),
) -> Fitted | TooBig:
    """Set `text` into a box of `width_mm` × `height_mm`, at the largest size that fits.

    Sizes go from `wanted_pt` down to `least_pt` in steps of 0.25 pt. `align` is ``start``,
    ``centre`` or ``end`` (start is the right side in a right-to-left language), `valign`
    ``top``, ``middle`` or ``bottom``. `leading` is baseline to baseline as a ratio of the
    size; it grows where outlines of two lines would meet. `verbatim` parts are never broken;
    `quoted` stretches keep their own order, whatever the text's direction. A line feed in the
    text ends a line.

    Raises ArtworkRefused for an empty text, for a character that no packaged font has and
    for one that may not be printed.
    """
    if not text.strip():
        raise ArtworkRefused([blank()])
    place = _Place(width_mm, height_mm, align, valign)
    sizes = (wanted_pt, least_pt)
    return _fitted(text, quoted, language, place, sizes, weight, family, leading, verbatim, shelf())


@lru_cache(maxsize=4_000)
def _fitted(
    text: str,
    quoted: tuple[Span, ...],
    language: str,
    place: _Place,
    sizes: tuple[float, float],
    weight: str,
    family: str,
    leading: float,
    verbatim: tuple[str, ...],
    own: tuple[OwnFace, ...],
) -> Fitted | TooBig:
    """As `fit`; kept for each set of the workspace's own faces."""
    wanted_pt, least_pt = sizes
    said = unicodedata.normalize("NFC", marked(text, quoted))
    setter = _setter(said, language, family, weight, verbatim, own)
    for hyphenate in (False, True):
        if hyphenate and not setter.can_hyphenate:
            break
        for size in _sizes(wanted_pt, least_pt):
            unit = _em_mm(size)
            lines = setter.lines(place.width_mm / unit + _EPSILON, hyphenate)
            if lines is None:
                continue
            found = _measure(lines, leading)
            if found.height * unit <= place.height_mm + _EPSILON:
                return _placed(found, size, place, setter)
    return _too_big(setter, text, place.width_mm, place.height_mm, least_pt, leading)


def _too_big(
    setter: Setter, text: str, width_mm: float, height_mm: float, least_pt: float, leading: float
) -> TooBig:
    """What the least size would take: the widest part that can't be broken, and the height
    at the box's width or at that part's, whichever is more."""
    unit = _em_mm(least_pt)
    hyphenate = setter.can_hyphenate
    needed_w = max(width_mm, setter.widest(hyphenate) * unit)
    lines = setter.lines(needed_w / unit + _EPSILON, hyphenate)
    if lines is None:
        raise AssertionError("a box as wide as the widest part holds every line")
    needed_h = _measure(lines, leading).height * unit
    return TooBig(
        text,
        least_pt,
        needed_w,
        needed_h,
        max(0.0, needed_w - width_mm),
        max(0.0, needed_h - height_mm),
    )
