"""Placed glyphs: what fitting gives and drawing takes. Millimetres and points as named."""

from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class FaceKey:
    """Which font file instance a run is set in."""

    family: str
    """``sans`` or ``mono``, resolved by script to a packaged font; ``own``: the workspace's."""
    script: str
    """ISO 15924 code the face serves, e.g. ``Latn``, ``Arab``, ``Deva``, ``Hans``, ``Kore``; the
    file's digest for one of the workspace's own."""
    weight: str
    """``regular`` or ``bold``."""


class Glyph(NamedTuple):
    """One glyph of a run, in the font's own design units scaled to 1/1000 em."""

    gid: int
    advance: float
    """Horizontal advance in 1/1000 em."""
    dx: float
    dy: float
    """Offset from the pen in 1/1000 em; y upwards."""
    text: str
    """The characters it stands for, in logical order: the whole cluster on its first glyph
    in logical order, empty on the cluster's other glyphs."""


@dataclass(frozen=True, slots=True)
class GlyphRun:
    """Glyphs of one face and direction, in visual order from left to right."""

    face: FaceKey
    size_pt: float
    glyphs: tuple[Glyph, ...]
    text: str
    """The run's characters in logical order."""
    rtl: bool
    language: str
    x_mm: float
    """Left end of the run, from the left of its line's box."""
    width_mm: float


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line: runs in visual order on a common baseline."""

    runs: tuple[GlyphRun, ...]
    text: str
    """The line's characters in logical order, without the break's space."""
    x_mm: float
    """Left end, from the box's left."""
    baseline_mm: float
    """Baseline, from the box's top, downwards."""
    width_mm: float
    hyphen: bool = False
    """The line ends with a hyphen that isn't in the text."""
    rtl: bool = False
    """The paragraph's direction: the line is read from the right."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """A paragraph set into a box."""

    lines: tuple[TextLine, ...]
    size_pt: float
    leading_mm: float
    """Baseline to baseline."""
    x_height_mm: float
    """Of the paragraph's main face at `size_pt`."""
    width_mm: float
    height_mm: float
    """Ascent of the first line to descent of the last, by real glyph extents."""


@dataclass(frozen=True, slots=True)
class TooBig:
    """Why a text can't be set in its box at its least size: what it would take."""

    text: str
    least_pt: float
    needed_w_mm: float
    needed_h_mm: float
    over_w_mm: float
    over_h_mm: float
