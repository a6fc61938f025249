"""Every character of a page, once: what it is, where it stands, how large, how turned.

Read from the PDF by PDFium, in the order of the page's content. Boxes are those of the
glyphs' outlines after all matrices, so that a page scaled as a whole is measured as it will
print. White space has no box worth having and only parts its neighbours.
"""

import ctypes
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import atan2, degrees, hypot
from typing import NamedTuple
from unicodedata import category

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from labelkit.checks.places import Edges
from labelkit.ground.units import MM_PER_INCH, PT_PER_INCH

LINE_END_HYPHEN = 0x2
"""What PDFium makes of a hyphen at a line's end, whether it is in the text or not."""

FIRST_CONTROL = 0x600
"""No format control but the soft hyphen comes before (Unicode, category Cf)."""

UNPAINTED = (3, 7)
"""Text rendering modes that paint nothing: ISO 32000-1, table 106."""

SQUARE = 0.999
"""Sine of the angle between a text's two axes from which it counts as upright."""

UNEVEN = 0.02
"""Share by which a text may be narrower or wider than it is high: no more than rounding."""

OBJECT_GAP_EM = 0.22
"""A gap between two text objects that parts words without a space: the narrowest word space
of common text faces, in ems."""

GUESSED_GAP_EM = 0.18
"""A narrower gap is no white space, whatever PDFium makes of it: it puts spaces between
scripts that stand close together."""

_SPACES = frozenset((0x9, 0xA, 0xB, 0xC, 0xD, 0x20, 0x85, 0xA0, 0x2028, 0x2029, 0x202F, 0x3000))
_SPACES_IN_ROW = range(0x2000, 0x200B)


@lru_cache(maxsize=4096)
def _is_control(code: int) -> bool:
    """Whether a code point is a format control; the soft hyphen is a hyphen where it's seen."""
    return code < sys.maxunicode and category(chr(code)) == "Cf"


def _bound(name: str, answer: type, *more: type) -> Callable[..., int]:
    """A PDFium function of a text page and a character, called with plain addresses.

    The binding's own form converts each argument; a sheet has thousands of characters.
    """
    prototype = ctypes.CFUNCTYPE(answer, ctypes.c_void_p, ctypes.c_int, *more)
    return prototype(ctypes.cast(getattr(pdfium, name), ctypes.c_void_p).value or 0)


_code_at = _bound("FPDFText_GetUnicode", ctypes.c_uint)
_object_at = _bound("FPDFText_GetTextObject", ctypes.c_void_p)
_box_at = _bound("FPDFText_GetCharBox", ctypes.c_int, *[ctypes.c_void_p] * 4)
_DOUBLE = ctypes.sizeof(ctypes.c_double)


@dataclass(frozen=True)
class Characters:
    """A page's visible characters in content order; all arrays have the same length."""

    codes: tuple[str, ...]
    """One character each; a line-end hyphen as U+0002."""
    boxes: NDArray[np.float64]
    """Left, top, right, bottom in millimetres from the page's top left."""
    sizes_pt: NDArray[np.float64]
    """Type size after all matrices: the smaller of the em's height and width."""
    angles: NDArray[np.int16]
    """Direction of writing in degrees clockwise on the page: 0, 90, 180 or 270; else as is."""
    parted: NDArray[np.bool_]
    """Whether white space, or a line's end, stands before the character."""
    faces: tuple[int, ...]
    """Which font, by number within this page."""
    objects: NDArray[np.intp]
    """Index of the first character of each text object."""
    hidden: NDArray[np.bool_]
    """Drawn in a rendering mode that paints nothing."""
    distorted: NDArray[np.bool_]
    """Squeezed, slanted, mirrored or turned by other than a quarter to either side."""
    not_embedded: tuple[str, ...]
    """Names of fonts that show text here and aren't in the file."""

    @cached_property
    def centres(self) -> NDArray[np.float64]:
        """Middle of each box: x and y."""
        return (self.boxes[:, :2] + self.boxes[:, 2:]) / 2

    def within(self, box: Edges) -> NDArray[np.intp]:
        """Those whose middle lies in the box, in content order."""
        x, y = self.centres[:, 0], self.centres[:, 1]
        return np.nonzero((x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3]))[0]


def is_space(code: int) -> bool:
    """Whether a code point is white space or has no shape at all."""
    return code in _SPACES or code in _SPACES_IN_ROW


def read_characters(page: pypdfium2.PdfPage) -> Characters:
    """All characters of the page."""
    textpage = page.get_textpage()
    try:
        return _Reader(page, textpage).read()
    finally:
        textpage.close()


class _Style(NamedTuple):
    """What all characters of one text object share."""

    size_pt: float
    angle: int
    face: int
    hidden: bool
    distorted: bool


class _Reader:
    """Walks a text page; asks for what belongs to a text object only once per object."""

    def __init__(self, page: pypdfium2.PdfPage, textpage: pypdfium2.PdfTextPage) -> None:
        self.raw = textpage.raw
        self.handle = ctypes.cast(self.raw, ctypes.c_void_p).value or 0
        self.count = textpage.count_chars()
        left, _, _, top = page.get_cropbox()
        self.origin = (left, top)
        self.fonts: dict[int, int] = {}
        self.missing: set[str] = set()

    def read(self) -> Characters:
        codes: list[str] = []
        styles: list[_Style] = []
        parted: list[bool] = []
        guesses: list[bool] = []
        owners: list[int] = []
        # PDFium answers left, right, bottom, top.
        boxes = np.zeros((max(self.count, 1), 4), dtype=np.float64)
        at, row = boxes.ctypes.data, 4 * _DOUBLE
        last, style, gap, guessed = 0, _Style(0.0, 0, 0, False, False), True, False
        for index in range(self.count):
            code = _code_at(self.handle, index)
            if code == 0 or (code >= FIRST_CONTROL and _is_control(code)):
                # A glyph whose characters another one of its cluster carries, or a control
                # of direction or joining, which has no ink and parts nothing.
                continue
            if is_space(code):
                if _object_at(self.handle, index):
                    gap = True
                else:
                    guessed = True
                continue
            owner = _object_at(self.handle, index) or 0
            if owner != last:
                style, last = self._style(index), owner
            _box_at(self.handle, index, at, at + _DOUBLE, at + 2 * _DOUBLE, at + 3 * _DOUBLE)
            at += row
            codes.append(chr(code) if code < 0x110000 else "\ufffd")
            styles.append(style)
            owners.append(owner)
            parted.append(gap)
            guesses.append(guessed)
            gap = guessed = False
        placed = self._millimetres(boxes[: len(codes)])
        sizes = np.array([s.size_pt for s in styles], dtype=np.float64)
        angles = np.array([s.angle for s in styles], dtype=np.int16)
        fresh = np.diff(np.array(owners, dtype=np.uint64), prepend=np.uint64(0)) != 0
        gaps = _gaps(placed, sizes, angles)
        return Characters(
            codes=tuple(codes),
            boxes=placed,
            sizes_pt=sizes,
            angles=angles,
            parted=np.array(parted, dtype=np.bool_)
            | (fresh & (gaps > OBJECT_GAP_EM))
            | (np.array(guesses, dtype=np.bool_) & (gaps > GUESSED_GAP_EM)),
            faces=tuple(s.face for s in styles),
            objects=np.nonzero(fresh)[0],
            hidden=np.array([s.hidden for s in styles], dtype=np.bool_),
            distorted=np.array([s.distorted for s in styles], dtype=np.bool_),
            not_embedded=tuple(sorted(self.missing)),
        )

    def _millimetres(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        left, top = self.origin
        scale = MM_PER_INCH / PT_PER_INCH
        flipped = np.empty_like(points)
        flipped[:, 0] = np.minimum(points[:, 0], points[:, 1]) - left
        flipped[:, 2] = np.maximum(points[:, 0], points[:, 1]) - left
        flipped[:, 1] = top - np.maximum(points[:, 2], points[:, 3])
        flipped[:, 3] = top - np.minimum(points[:, 2], points[:, 3])
        return flipped * scale

    def _style(self, index: int) -> _Style:
        """Size, angle, face and more of the object at a character."""
        matrix = pdfium.FS_MATRIX()
        pdfium.FPDFText_GetMatrix(self.raw, index, matrix)
        across, upright = hypot(matrix.a, matrix.b), hypot(matrix.c, matrix.d)
        size = pdfium.FPDFText_GetFontSize(self.raw, index) * min(across, upright)
        turned = degrees(atan2(-matrix.b, matrix.a)) % 360
        quarters = round(turned / 90)
        square = matrix.a * matrix.d - matrix.b * matrix.c >= SQUARE * across * upright
        even = abs(across - upright) <= UNEVEN * max(across, upright)
        straight = abs(turned / 90 - quarters) < 0.01 and quarters % 4 != 2
        angle = quarters * 90 % 360 if straight or quarters % 4 == 2 else int(turned)
        owner = pdfium.FPDFText_GetTextObject(self.raw, index)
        if not owner:
            return _Style(size, angle, 0, False, False)
        font = pdfium.FPDFTextObj_GetFont(owner)
        address = ctypes.cast(font, ctypes.c_void_p).value or 0
        if address not in self.fonts:
            self.fonts[address] = len(self.fonts) + 1
            if pdfium.FPDFFont_GetIsEmbedded(font) != 1:
                self.missing.add(_font_name(font))
        mode = pdfium.FPDFTextObj_GetTextRenderMode(owner)
        return _Style(
            size,
            angle,
            self.fonts[address],
            mode in UNPAINTED,
            not (square and even and straight),
        )


def _gaps(
    boxes: NDArray[np.float64], sizes_pt: NDArray[np.float64], angles: NDArray[np.int16]
) -> NDArray[np.float64]:
    """The gap before each character in ems; a very wide one where another line begins."""
    gaps = np.full(len(boxes), np.inf)
    if len(boxes) < 2:
        return gaps
    upright = (angles % 180 == 90)[:, None]
    along = np.where(upright, boxes[:, [1, 3]], boxes[:, [0, 2]])
    across = np.where(upright, boxes[:, [0, 2]], boxes[:, [1, 3]])
    em = np.maximum(sizes_pt[1:], 0.1) * (MM_PER_INCH / PT_PER_INCH)
    between = np.maximum(along[1:, 0] - along[:-1, 1], along[:-1, 0] - along[1:, 1]) / em
    apart = np.maximum(across[1:, 0] - across[:-1, 1], across[:-1, 0] - across[1:, 1]) > 0
    gaps[1:] = np.where(apart | (angles[1:] != angles[:-1]), np.inf, between)
    return gaps


def _font_name(font: object) -> str:
    length = pdfium.FPDFFont_GetBaseFontName(font, None, 0)
    buffer = ctypes.create_string_buffer(max(length, 1))
    pdfium.FPDFFont_GetBaseFontName(font, buffer, length)
    return buffer.value.decode("utf-8", "replace") or "without a name"
