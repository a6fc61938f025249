"""Drawn paths of a page: key marks, rules, pictures; and where its layout has them."""

from dataclasses import dataclass
from functools import cache

from injecting import Work
from marks import MM, UNIT, Matrix, Rect, joined, times, united
from sheets import Sheet

from labelkit.geometry.model import Field, Layout, What
from labelkit.geometry.reading import load

_POINTS = {"m": 1, "l": 1, "c": 3, "v": 2, "y": 2}
_PAINTS = frozenset(("f", "F", "f*", "S", "s", "B", "B*", "b", "b*"))


@dataclass(frozen=True)
class Drawn:
    """One path, from its first construction to its painting."""

    first: int
    last: int
    box: Rect


def paths(sheet: Sheet) -> list[Drawn]:
    """The painted paths of a page, with the rectangle round their points."""
    found: list[Drawn] = []
    ctm, kept = UNIT, []
    first, points = -1, []
    for index, step in enumerate(sheet.steps):
        operator = str(step.operator)
        if operator == "q":
            kept.append(ctm)
        elif operator == "Q":
            ctm = kept.pop()
        elif operator == "cm":
            ctm = times(tuple(map(float, step.operands)), ctm)  # type: ignore[arg-type]
        elif operator in _POINTS or operator == "re":
            first = index if first < 0 else first
            numbers = list(map(float, step.operands))
            if operator == "re":
                x, y, w, h = numbers
                numbers = [x, y, x + w, y + h]
            points += [_at(ctm, *numbers[n : n + 2]) for n in range(0, len(numbers), 2)]
        elif operator in _PAINTS or operator == "n":
            if points and operator != "n":
                found.append(Drawn(first, index, united(points)))
            first, points = -1, []
    return found


def _at(ctm: Matrix, x: float, y: float) -> tuple[float, float]:
    moved = times((1, 0, 0, 1, x, y), ctm)
    return moved[4], moved[5]


@cache
def layout_of(name: str) -> Layout:
    """A shipped layout."""
    return load(name)


def _points(sheet: Sheet, x_mm: float, y_mm: float) -> tuple[float, float]:
    return x_mm * MM, (sheet.wanted.height_mm - y_mm) * MM


def pictures(work: Work) -> list[tuple[Sheet, Field, Rect, list[Drawn]]]:
    """Picture fields of pieces that say something, with the paths that are drawn in them."""
    layout = layout_of(work.manifest.layout)
    found = []
    for sheet in work.sheets:
        face = layout.faces[sheet.number % len(layout.faces)]
        drawn = paths(sheet)
        for piece in face.pieces:
            for area in piece.areas:
                for field in area.fields:
                    if field.what is not What.PICTURE:
                        continue
                    x, y = _points(sheet, field.box.x_mm, field.box.y_mm + field.box.h_mm)
                    box = Rect(x, y, field.box.w_mm * MM, field.box.h_mm * MM)
                    inside = [p for p in drawn if _holds(box.grown(0.5), p.box)]
                    if inside:
                        found.append((sheet, field, box, inside))
    return found


def _holds(outer: Rect, inner: Rect) -> bool:
    return (
        outer.x <= inner.x and inner.x + inner.w <= outer.x + outer.w
        and outer.y <= inner.y and inner.y + inner.h <= outer.y + outer.h
    )  # fmt: skip


def keys(work: Work) -> list[tuple[Sheet, Drawn]]:
    """Orientation keys, each with the path that fills it."""
    layout = layout_of(work.manifest.layout)
    found = []
    for sheet in work.sheets:
        drawn = paths(sheet)
        for key in layout.faces[sheet.number % len(layout.faces)].keys:
            box = united([_points(sheet, x, y) for x, y in key.points])
            hit = next((p for p in drawn if _holds(box.grown(0.3), p.box)
                        and p.box.w > 0.8 * box.w), None)  # fmt: skip
            if hit:
                found.append((sheet, hit))
    return found


def round_all(drawn: list[Drawn]) -> Rect:
    """The rectangle round paths."""
    return joined([path.box for path in drawn])
