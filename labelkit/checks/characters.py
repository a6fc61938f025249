"""Every character of a page, once: what it is, where it stands, how large, how turned.

Read from the PDF by PDFium, in the order of the page's content. Boxes are those of the
glyphs' outlines after all matrices, so that a page scaled as a whole is measured as it will
print. White space has no box worth having and only parts its neighbours.
"""

import ctypes
import sys
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import repeat
from unicodedata import category

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from labelkit.checks.binding import ADDRESS, HANDLE, NUMBER, bound
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

_SPACES = frozenset(
    (0x9, 0xA, 0xB, 0xC, 0xD, 0x20, 0x85, 0xA0, 0x2028, 0x2029, 0x202F, 0x3000, 0x200B, 0xFEFF)
)
_SPACES_IN_ROW = range(0x2000, 0x200B)
_WITHOUT_WIDTH = (0x180E, 0x200B, 0x200C, 0x200D, 0x2060, 0xFEFF)


@lru_cache(maxsize=4096)
def _is_control(code: int) -> bool:
    """Whether a code point is a format control; the soft hyphen is a hyphen where it's seen."""
    return code <= sys.maxunicode and category(chr(code)) == "Cf"


_code_at = bound("FPDFText_GetUnicode", ctypes.c_uint, ADDRESS, NUMBER)
_object_at = bound("FPDFText_GetTextObject", HANDLE, ADDRESS, NUMBER)
_box_at = bound("FPDFText_GetCharBox", NUMBER, ADDRESS, NUMBER, *[ADDRESS] * 4)
_matrix_at = bound("FPDFText_GetMatrix", NUMBER, ADDRESS, NUMBER, ADDRESS)
_size_at = bound("FPDFText_GetFontSize", ctypes.c_double, ADDRESS, NUMBER)
_font_of = bound("FPDFTextObj_GetFont", HANDLE, ADDRESS)
_mode_of = bound("FPDFTextObj_GetTextRenderMode", NUMBER, ADDRESS)


@dataclass(frozen=True)
class Characters:
    """A page's visible characters in content order; all arrays have the same length."""

    codes: tuple[str, ...]
    """One character each; a line-end hyphen as U+0002."""
    points: NDArray[np.int64]
    """The same as code points."""
    boxes: NDArray[np.float64]
    """Left, top, right, bottom in millimetres from the page's top left."""
    sizes_pt: NDArray[np.float64]
    """Type size after all matrices: the smaller of the em's height and width."""
    angles: NDArray[np.int16]
    """Direction of writing in degrees clockwise on the page: 0, 90, 180 or 270; else as is."""
    parted: NDArray[np.bool_]
    """Whether white space, or a line's end, stands before the character."""
    faces: NDArray[np.intp]
    """Which font, by number within this page."""
    objects: NDArray[np.intp]
    """Index of the first character of each text object."""
    hidden: NDArray[np.bool_]
    """Drawn in a rendering mode that paints nothing."""
    distorted: NDArray[np.bool_]
    """Squeezed, slanted, mirrored or turned by other than a quarter to either side."""
    not_embedded: tuple[str, ...]
    """Names of fonts that show text here and aren't in the file."""
    numbers_parted: int = 0
    """How often a character without width stands between two digits."""

    @cached_property
    def centres(self) -> NDArray[np.float64]:
        """Middle of each box: x and y."""
        return (self.boxes[:, :2] + self.boxes[:, 2:]) / 2

    def where(self, test: Callable[[str], bool]) -> NDArray[np.bool_]:
        """Whether each character passes a test, which is asked once for each code point."""
        points, which = self._kinds
        answers = np.array([test(_character(point)) for point in points.tolist()], dtype=np.bool_)
        return np.asarray(answers[which], dtype=np.bool_)

    @cached_property
    def _kinds(self) -> tuple[NDArray[np.int64], NDArray[np.intp]]:
        points, which = np.unique(self.points, return_inverse=True)
        return points, which

    def within(self, box: Edges) -> NDArray[np.intp]:
        """Those whose middle lies in the box, in content order."""
        x, y = self.centres[:, 0], self.centres[:, 1]
        return np.nonzero((x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3]))[0]


def is_space(code: int) -> bool:
    """Whether a code point is white space or has no shape at all."""
    return code in _SPACES or code in _SPACES_IN_ROW


def _numbers_parted(codes: NDArray[np.int64]) -> int:
    """How often a character without width stands between two Western digits: nobody sees it, and
    copied out the number is another text."""
    digits = (codes >= ord("0")) & (codes <= ord("9"))
    return int((np.isin(codes[1:-1], _WITHOUT_WIDTH) & digits[:-2] & digits[2:]).sum())


def read_characters(page: pypdfium2.PdfPage) -> Characters:
    """All characters of the page."""
    textpage = page.get_textpage()
    try:
        return _Reader(page, textpage).read()
    finally:
        textpage.close()


class _Reader:
    """Walks a text page; asks for what belongs to a text object only once per object."""

    def __init__(self, page: pypdfium2.PdfPage, textpage: pypdfium2.PdfTextPage) -> None:
        self.handle = ctypes.cast(textpage.raw, ctypes.c_void_p).value or 0
        self.count = textpage.count_chars()
        left, _, _, top = page.get_cropbox()
        self.origin = (left, top)
        self.fonts: dict[int, int] = {}
        self.missing: set[str] = set()

    def read(self) -> Characters:
        handle = self.handle
        every = map(_code_at, repeat(handle), range(self.count))
        codes = np.fromiter(every, np.int64, self.count)
        kinds, which = np.unique(codes, return_inverse=True)
        kind_of = np.array([_kind(code) for code in kinds.tolist()], dtype=np.int8)
        kind = kind_of[which] if len(kinds) else np.zeros(0, dtype=np.int8)
        seen = np.nonzero(kind == _SEEN)[0]
        indices = seen.tolist()
        objects = map(_object_at, repeat(handle), indices)
        owners = np.fromiter(objects, np.uint64, len(indices))
        begins = np.nonzero(np.diff(owners, prepend=~owners[:1]))[0]
        boxes = self._boxes(indices)
        styles = self._styles(seen[begins].tolist(), owners[begins].tolist())
        lengths = np.diff(begins, append=len(indices))
        sizes, angles, faces, hidden, distorted = (np.repeat(one, lengths) for one in styles)
        gaps = _gaps(boxes, sizes, angles)
        spaces, guesses = self._spaces(kind, seen)
        fresh = np.zeros(len(indices), dtype=np.bool_)
        fresh[begins] = True
        return Characters(
            codes=tuple(map(_character, codes[seen].tolist())),
            points=codes[seen],
            boxes=boxes,
            sizes_pt=sizes,
            angles=angles,
            parted=spaces | (fresh & (gaps > OBJECT_GAP_EM)) | (guesses & (gaps > GUESSED_GAP_EM)),
            faces=faces,
            objects=begins,
            hidden=hidden,
            distorted=distorted,
            not_embedded=tuple(sorted(self.missing)),
            numbers_parted=_numbers_parted(codes),
        )

    def _boxes(self, indices: list[int]) -> NDArray[np.float64]:
        """The characters' boxes in millimetres."""
        # PDFium answers left, right, bottom, top.
        points = np.zeros((len(indices), 4), dtype=np.float64)
        begin, row = points.ctypes.data, points.strides[0]
        addresses = (
            range(at, at + points.nbytes, row) for at in range(begin, begin + row, points.itemsize)
        )
        deque(map(_box_at, repeat(self.handle), indices, *addresses), maxlen=0)
        left, top = self.origin
        flipped = np.empty_like(points)
        flipped[:, 0] = np.minimum(points[:, 0], points[:, 1]) - left
        flipped[:, 2] = np.maximum(points[:, 0], points[:, 1]) - left
        flipped[:, 1] = top - np.maximum(points[:, 2], points[:, 3])
        flipped[:, 3] = top - np.minimum(points[:, 2], points[:, 3])
        return flipped * (MM_PER_INCH / PT_PER_INCH)

    def _spaces(
        self, kind: NDArray[np.int8], seen: NDArray[np.intp]
    ) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Whether white space stands before each character; in the file, or PDFium's guess.

        The first character of a page has always white space before it.
        """
        real = np.zeros(self.count + 1, dtype=np.intp)
        guessed = np.zeros(self.count + 1, dtype=np.intp)
        for index in np.nonzero(kind == _SPACE)[0].tolist():
            (real if _object_at(self.handle, index) else guessed)[index + 1] = 1
        answers = []
        for counted in (real.cumsum(), guessed.cumsum()):
            until = counted[seen]
            answers.append(np.diff(until, prepend=0) > 0)
        answers[0][:1] = True
        return answers[0], answers[1]

    def _styles(self, indices: list[int], owners: list[int]) -> tuple[NDArray[np.generic], ...]:
        """Of the object at each of the given characters: type size, angle, face, whether it is
        hidden and whether it is distorted."""
        count = len(indices)
        matrices = np.zeros((count, 6), dtype=np.float32)
        at, row = matrices.ctypes.data, matrices.strides[0]
        for number, index in enumerate(indices):
            _matrix_at(self.handle, index, at + number * row)
        a, b, c, d = (matrices[:, i].astype(np.float64) for i in range(4))
        sizes = np.array([_size_at(self.handle, i) for i in indices], dtype=np.float64)
        across, upright = np.hypot(a, b), np.hypot(c, d)
        turned = np.degrees(np.arctan2(-b, a)) % 360
        quarters = np.round(turned / 90)
        square = a * d - b * c >= SQUARE * across * upright
        even = np.abs(across - upright) <= UNEVEN * np.maximum(across, upright)
        upside_down = quarters % 4 == 2
        straight = (np.abs(turned / 90 - quarters) < 0.01) & ~upside_down
        angles = np.where(straight | upside_down, quarters * 90 % 360, turned).astype(np.int16)
        modes = [_mode_of(owner) if owner else 0 for owner in owners]
        faces = np.array([self._face(owner) for owner in owners], dtype=np.intp)
        hidden = np.array([mode in UNPAINTED for mode in modes], dtype=np.bool_)
        distorted = ~(square & even & straight) & (faces > 0)
        return sizes * np.minimum(across, upright), angles, faces, hidden, distorted

    def _face(self, owner: int) -> int:
        """The number of a text object's font within the page; 0 where it has none."""
        font = _font_of(owner) if owner else 0
        if not font:
            return 0
        if font not in self.fonts:
            self.fonts[font] = len(self.fonts) + 1
            typed = ctypes.cast(font, pdfium.FPDF_FONT)
            if pdfium.FPDFFont_GetIsEmbedded(typed) != 1:
                self.missing.add(_font_name(typed))
        return self.fonts[font]


_SEEN, _SPACE, _NOTHING = range(3)


def _kind(code: int) -> int:
    """Whether a code point is seen, white space, or nothing: a glyph whose characters another
    one of its cluster carries, or a control of direction or joining, which parts nothing."""
    if code == 0 or (code >= FIRST_CONTROL and _is_control(code)):
        return _NOTHING
    return _SPACE if is_space(code) else _SEEN


@lru_cache(maxsize=4096)
def _character(code: int) -> str:
    return chr(code) if code <= sys.maxunicode else "\ufffd"


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
