"""The separability audit: after cutting, each piece still says all it must.

For every piece that the cutter makes, each required particular must stand whole on that
piece: in every cell, in its band, or anywhere on it, inside its outline and off every cut,
fold and perforation by the stock's tolerance. It looks at the layout only; whether the
text was printed there is the checker's business.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from labelkit.geometry.distances import box_to_line
from labelkit.geometry.expressions import names_in
from labelkit.geometry.model import Area, AreaKind, Field, Layout, Line, LineKind, What
from labelkit.geometry.names import IN_FULL
from labelkit.ground.box import SLACK_MM, Box
from labelkit.ground.errors import Fault
from labelkit.rules.model import Requirement

SEPARATING = frozenset({LineKind.CUT, LineKind.FOLD, LineKind.PERFORATION})
"""Lines that a required particular may not cross or come near to."""


@dataclass(frozen=True, slots=True)
class _Side:
    """One piece as one face of the sheet shows it."""

    piece: str
    card: int
    outline: Box
    areas: tuple[Area, ...]
    lines: tuple[Line, ...]


def judge_separability(
    layout: Layout,
    requirements: Iterable[Requirement],
    in_documents: Collection[str] = (),
) -> tuple[Fault, ...]:
    """Every required particular that some piece lacks, or would lose part of to the cutter.

    `in_documents` names what the documents of the artwork say (``statement:…``): such a
    particular stands where its document flows, so the flow's boxes are judged for it.
    """
    asked = tuple(r for r in requirements if r.artwork == layout.kind.value)
    return _judged(layout, asked, frozenset(in_documents))


@lru_cache(maxsize=256)
def _judged(
    layout: Layout, asked: tuple[Requirement, ...], in_documents: frozenset[str]
) -> tuple[Fault, ...]:
    """The answer, kept: the files of a batch ask the same of the same layout."""
    return tuple(
        fault
        for sides in _pieces(layout)
        for requirement in asked
        for fault in _judge(layout, sides, requirement, in_documents)
    )


def carried_by(field: Field) -> frozenset[str]:
    """What a field can satisfy: ``fact:…``, ``statement:…``, ``code:…``, ``picture:…``, …"""
    match field.what:
        case What.VALUE:
            return frozenset(f"fact:{IN_FULL.get(name, name)}" for name in names_in(field.arg))
        case What.STATEMENT | What.WRITING:
            said = (field.arg, field.alternative)
            return frozenset(f"statement:{statement}" for statement in said if statement)
        case What.CODE | What.PICTURE | What.TABLE | What.TICKS:
            return frozenset({f"{field.what.value}:{field.arg}"})
        case _:
            return frozenset()


def _pieces(layout: Layout) -> list[list[_Side]]:
    """Each piece with all its sides: a pad's leaf has a front and a back."""
    found: dict[tuple[str, int], list[_Side]] = {}
    for face in layout.faces:
        lines = tuple(line for line in face.lines if line.kind in SEPARATING)
        for piece in face.pieces:
            side = _Side(piece.id, piece.card, piece.outline, piece.areas, lines)
            found.setdefault((piece.id, piece.card), []).append(side)
    return list(found.values())


def _judge(
    layout: Layout, sides: list[_Side], asked: Requirement, in_documents: Collection[str]
) -> Iterator[Fault]:
    if asked.place == "cell":
        for side in sides:
            for area in side.areas:
                if area.kind is AreaKind.CELL:
                    yield from _one(layout, [(side, area)], asked, f"cell {area.number}", ())
        return
    areas = [
        (side, area)
        for side in sides
        for area in side.areas
        if area.kind is AreaKind.BAND or asked.place != "band"
    ]
    yield from _one(layout, areas, asked, asked.place, in_documents)


def _one(
    layout: Layout,
    areas: list[tuple[_Side, Area]],
    asked: Requirement,
    where: str,
    in_documents: Collection[str],
) -> Iterator[Fault]:
    said = asked.satisfied_by in in_documents
    carriers = [
        (side, field)
        for side, area in areas
        for field in area.fields
        if asked.satisfied_by in carried_by(field) or (said and field.what is What.FLOW)
    ]
    why = [_broken(layout, side, field) for side, field in carriers]
    if not carriers:
        wrong = f"nothing in a {asked.place} of this piece holds {asked.satisfied_by}"
    elif all(why):
        wrong = f"{asked.satisfied_by} is not whole on this piece: {'; '.join(filter(None, why))}"
    else:
        return
    piece = areas[0][0] if areas else None
    named = f"piece {piece.piece} of card {piece.card}, {where}" if piece else where
    yield Fault(
        layout.file,
        named,
        asked.id,
        wrong,
        "give it a field there, clear of every cut and fold, or choose another layout",
        "separability.whole",
        asked.source,
    )


def _broken(layout: Layout, side: _Side, field: Field) -> str:
    """Why the field isn't safe on its piece; empty when it is."""
    clear = layout.stock.tolerance_mm
    if not side.outline.contains(field.box):
        return f"field {field.id} reaches out of the piece"
    for line in side.lines:
        apart = box_to_line(field.box, line)
        if apart < clear - SLACK_MM:
            return (
                f"field {field.id} is {apart:.2f} mm from a {line.kind.value}, "
                f"under the tolerance of {clear:.2f} mm"
            )
    return ""
