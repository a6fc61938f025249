"""Lines, shapes and images: none where the layout draws nothing, none over a text.

A pen's stroke makes 0 an 8 and a dot makes 25 a 2.5, and the text of the file stays what it
was. So each path, shading and image of a page is asked where it stands. White shapes are left
out: whether they hide anything is seen on the pixels.
"""

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from labelkit.checks.binding import ADDRESS, HANDLE, NUMBER, bound
from labelkit.checks.characters import Characters
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import Edges, edges, place_of
from labelkit.checks.sameness import Sameness
from labelkit.ground.units import MM_PER_INCH, PT_PER_INCH
from labelkit.manifest.model import ManifestPage

SLACK_MM = 0.3
"""How far a line may reach out of its place: half of the thickest line, and rounding."""

TOUCH_MM = 0.05
"""Boxes that overlap by less only touch: half a dot of a 300 dpi printer."""

MOST_NESTED = 8
"""Forms within forms that are looked into."""

WHITE = 250
"""Grey level from which a shape without a line shows nothing on white paper."""


_objects_of = bound("FPDFPage_CountObjects", NUMBER, ADDRESS)
_object_at = bound("FPDFPage_GetObject", HANDLE, ADDRESS, NUMBER)
_inner_of = bound("FPDFFormObj_CountObjects", NUMBER, ADDRESS)
_inner_at = bound("FPDFFormObj_GetObject", HANDLE, ADDRESS, ctypes.c_ulong)
_kind_of = bound("FPDFPageObj_GetType", NUMBER, ADDRESS)
_mode_of = bound("FPDFPath_GetDrawMode", NUMBER, *[ADDRESS] * 3)
_bounds_of = bound("FPDFPageObj_GetBounds", NUMBER, *[ADDRESS] * 5)

Matrix = tuple[float, float, float, float, float, float]
_MM = MM_PER_INCH / PT_PER_INCH


@dataclass(frozen=True)
class Drawn:
    """What is drawn on a page besides text and white shapes."""

    boxes: NDArray[np.float64]
    """Of each path, shading and image: left, top, right, bottom in millimetres."""
    touched: NDArray[np.bool_]
    """Of each, whether its box lies over a character's."""
    over: NDArray[np.intp]
    """Characters over which one of them lies: a line by its stretches, else by the whole."""


def read_drawn(
    page: pypdfium2.PdfPage,
    characters: Characters,
    before: Drawn | None = None,
    same: Sameness | None = None,
) -> Drawn:
    """What is drawn on a page, and over which characters; `before` and `same` tell what was
    drawn on the page before, and which characters are the same here."""
    left, _, _, top = page.get_cropbox()
    unit: Matrix = (_MM, 0.0, 0.0, -_MM, -left * _MM, top * _MM)
    handle = ctypes.cast(page.raw, ctypes.c_void_p).value or 0
    objects = [_object_at(handle, number) for number in range(_objects_of(handle))]
    found = list(_painting(objects, unit, MOST_NESTED))
    boxes = _bounds(found)
    if before is not None and same is not None and np.array_equal(before.boxes, boxes):
        other = characters.boxes[~same.characters]
        touched = np.logical_or(before.touched, _over(boxes, other).any(axis=1))
    else:
        touched = np.asarray(_over(boxes, characters.boxes).any(axis=1))
    over = np.zeros(len(characters.boxes), dtype=np.bool_)
    for number in np.nonzero(touched)[0].tolist():
        one, matrix = found[number]
        parts = np.array(list(_parts(one, matrix)), dtype=np.float64).reshape(-1, 4)
        over |= _over(parts if len(parts) else boxes[[number]], characters.boxes).any(axis=0)
    return Drawn(boxes, touched, np.nonzero(over)[0])


def check_drawn(
    number: int, characters: Characters, drawn: Drawn, page: ManifestPage
) -> Iterator[Finding]:
    """Findings of what is drawn over a text, and of what stands where nothing is drawn."""
    places = [edges(place) for place in page.drawn] + [edges(code.within) for code in page.codes]
    wide = np.array(places, dtype=np.float64).reshape(-1, 4)
    wide = wide + np.array([-SLACK_MM, -SLACK_MM, SLACK_MM, SLACK_MM])
    low = (wide[None, :, :2] <= drawn.boxes[:, None, :2]).all(axis=2)
    high = (wide[None, :, 2:] >= drawn.boxes[:, None, 2:]).all(axis=2)
    astray = np.nonzero(~(low & high).any(axis=1))[0]
    if len(astray):
        left, top, right, bottom = drawn.boxes[astray[0]].tolist()
        yield sentence(
            FindingKind.INK_EXTRA,
            number,
            f"something is drawn at {left:.1f}, {top:.1f} mm, where only text and codes stand",
            expected="lines and pictures in their places",
            found=f"{len(astray)} lines, shapes or images",
            where=place_of((left, top, right, bottom)),
        )
    if len(drawn.over):
        told = "".join(characters.codes[index] for index in drawn.over[:40].tolist())
        left, top, right, bottom = characters.boxes[drawn.over[0]].tolist()
        yield sentence(
            FindingKind.TEXT_CROSSED,
            number,
            f"something is drawn over “{told}”",
            expected="clear of lines and pictures",
            found="a line, shape or image",
            where=place_of((left, top, right, bottom)),
        )


def _over(parts: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Of each part and each character's box, whether one lies over the other."""
    return np.asarray(
        (boxes[None, :, 0] < parts[:, None, 2] - TOUCH_MM)
        & (boxes[None, :, 2] > parts[:, None, 0] + TOUCH_MM)
        & (boxes[None, :, 1] < parts[:, None, 3] - TOUCH_MM)
        & (boxes[None, :, 3] > parts[:, None, 1] + TOUCH_MM)
    )


def _painting(objects: list[int], matrix: Matrix, deep: int) -> Iterator[tuple[int, Matrix]]:
    """Each object that paints something and is no text, and from its space to the page's."""
    fill, stroke = ctypes.c_int(), ctypes.c_int()
    modes = ctypes.addressof(fill), ctypes.addressof(stroke)
    for one in objects:
        kind = _kind_of(one)
        if kind == pdfium.FPDF_PAGEOBJ_TEXT:
            continue
        if kind == pdfium.FPDF_PAGEOBJ_FORM and deep:
            inner = [_inner_at(one, number) for number in range(_inner_of(one))]
            yield from _painting(inner, _times(_matrix(one), matrix), deep - 1)
        elif kind != pdfium.FPDF_PAGEOBJ_PATH:
            yield one, matrix
        else:
            _mode_of(one, *modes)
            if stroke.value or (fill.value and not _is_white(one)):
                yield one, matrix


def _bounds(found: list[tuple[int, Matrix]]) -> NDArray[np.float64]:
    """The box of each object on the page."""
    # PDFium answers left, bottom, right, top.
    sides = np.zeros((max(len(found), 1), 4), dtype=np.float32)
    at, step = sides.ctypes.data, sides.itemsize
    for one, _ in found:
        _bounds_of(one, at, at + step, at + 2 * step, at + 3 * step)
        at += 4 * step
    m = np.array([matrix for _, matrix in found], dtype=np.float64).reshape(-1, 6)
    across, upright = sides[: len(found), [0, 2]], sides[: len(found), [1, 3]]
    x = m[:, 0, None] * across[:, [0, 0, 1, 1]] + m[:, 2, None] * upright[:, [0, 1, 0, 1]]
    y = m[:, 1, None] * across[:, [0, 0, 1, 1]] + m[:, 3, None] * upright[:, [0, 1, 0, 1]]
    x, y = x + m[:, 4, None], y + m[:, 5, None]
    return np.stack([x.min(axis=1), y.min(axis=1), x.max(axis=1), y.max(axis=1)], axis=1)


def _parts(address: int, matrix: Matrix) -> Iterator[Edges]:
    """The stretches of a line that fills nothing; nothing for other objects."""
    one = _handle(address)
    fill, stroke = ctypes.c_int(), ctypes.c_int()
    if pdfium.FPDFPageObj_GetType(one) != pdfium.FPDF_PAGEOBJ_PATH:
        return
    pdfium.FPDFPath_GetDrawMode(one, fill, stroke)
    if fill.value and not _is_white(address):
        return
    own = _times(_matrix(address), matrix)
    width = ctypes.c_float()
    pdfium.FPDFPageObj_GetStrokeWidth(one, width)
    reach = width.value / 2 * abs(own[0] * own[3] - own[1] * own[2]) ** 0.5
    held: list[tuple[float, float]] = []
    start = (0.0, 0.0)
    for at, kind, closes in _points(one, own):
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            start, held = at, [at]
        else:
            held.append(at)
        if kind == pdfium.FPDF_SEGMENT_LINETO or len(held) == 4:
            yield _box(held, reach)
            held = [at]
        if closes:
            yield _box([at, start], reach)


def _handle(address: int) -> object:
    """An object's address as the binding takes it."""
    return ctypes.cast(address, pdfium.FPDF_PAGEOBJECT)


def _is_white(address: int) -> bool:
    shades = [ctypes.c_uint() for _ in range(4)]
    pdfium.FPDFPageObj_GetFillColor(_handle(address), *shades)
    return all(shade.value >= WHITE for shade in shades[:3])


def _points(path: object, matrix: Matrix) -> Iterator[tuple[tuple[float, float], int, bool]]:
    """The points of a path, what each one is, and whether the line goes back to its start."""
    x, y = ctypes.c_float(), ctypes.c_float()
    for number in range(pdfium.FPDFPath_CountSegments(path)):
        segment = pdfium.FPDFPath_GetPathSegment(path, number)
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        closes = bool(pdfium.FPDFPathSegment_GetClose(segment))
        yield _at(matrix, x.value, y.value), pdfium.FPDFPathSegment_GetType(segment), closes


def _matrix(address: int) -> Matrix:
    m = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(_handle(address), m)
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def _times(first: Matrix, then: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (
        a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s,
        e * p + f * r + t, e * q + f * s + u,
    )  # fmt: skip


def _at(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def _box(points: list[tuple[float, float]], reach: float) -> Edges:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs) - reach, min(ys) - reach, max(xs) + reach, max(ys) + reach)
