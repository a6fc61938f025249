"""Where things stand on a page: matrices, rectangles, glyphs, text blocks, code images."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field

MM = 72 / 25.4
Matrix = tuple[float, float, float, float, float, float]
UNIT: Matrix = (1, 0, 0, 1, 0, 0)


def times(first: Matrix, then: Matrix) -> Matrix:
    """The matrix that applies `first`, then `then` (ISO 32000-1, 8.3.4)."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s,
            e * p + f * r + t, e * q + f * s + u)  # fmt: skip


def plain(text: str) -> str:
    """Text as it is compared: NFKC, white space collapsed."""
    return " ".join(unicodedata.normalize("NFKC", text).split())


@dataclass(frozen=True)
class Rect:
    """A rectangle in points from the page's bottom left."""

    x: float
    y: float
    w: float
    h: float

    @property
    def centre(self) -> tuple[float, float]:
        """The middle."""
        return self.x + self.w / 2, self.y + self.h / 2

    def grown(self, by: float) -> "Rect":
        """Larger by so much on every side."""
        return Rect(self.x - by, self.y - by, self.w + 2 * by, self.h + 2 * by)

    @property
    def said(self) -> str:
        """As the operands of ``re``."""
        return " ".join(f"{value:.3f}" for value in (self.x, self.y, self.w, self.h))


@dataclass
class Glyph:
    """One shown character: where its code stands in the instructions, and on the page."""

    step: int
    """Index of the showing instruction."""
    part: int
    """Index in its TJ array."""
    at: int
    """Offset of its two bytes in that string."""
    cid: int
    text: str
    font: str
    size: float
    x: float
    y: float
    line: int
    box: Rect
    """From descender to ascender, about."""


@dataclass
class Block:
    """One text object, BT to ET."""

    first: int
    last: int
    glyphs: list[Glyph] = field(default_factory=list)
    box: Rect = Rect(0, 0, 0, 0)

    @property
    def text(self) -> str:
        """What it says, lines joined by spaces."""
        said, line = "", 0
        for glyph in self.glyphs:
            if glyph.line != line:
                said, line = said + " ", glyph.line
            said += glyph.text
        return plain(said)

    @property
    def size(self) -> float:
        """The largest size in it, in points."""
        return max(glyph.size for glyph in self.glyphs)


@dataclass
class Image:
    """One inline image mask: a code."""

    step: int
    box: Rect
    columns: int
    rows: int
    bits: list[list[bool]]
    """Dark modules."""


def united(points: Sequence[Sequence[float]]) -> Rect:
    """The rectangle round points."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Rect(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def joined(boxes: Sequence[Rect]) -> Rect:
    """The rectangle round rectangles."""
    corners = [(box.x, box.y) for box in boxes]
    return united([*corners, *((box.x + box.w, box.y + box.h) for box in boxes)])


def along(text: Matrix) -> float:
    """How far a line's baseline lies across the writing direction."""
    a, b, _, _, e, f = text
    return round(a * f - b * e, 3)
