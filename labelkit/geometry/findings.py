"""How the judge's rules are kept and how they say what they find.

A rule is one small function from a layout to findings; it is registered under its id, with
its source beside it. The same finding in forty cells is told once, with their number.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from labelkit.geometry.model import Area, Face, Field, Layout, Piece
from labelkit.ground.errors import Fault

COMMON = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule found, and where."""

    where: str
    field: str
    wrong: str
    mend: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule with its id and source."""

    id: str
    source: str
    find: Callable[[Layout], Iterable[Finding]]


RULES: dict[str, Rule] = {}
"""Every rule by its id, in the order in which they were registered."""


def rule(
    rule_id: str, source: str
) -> Callable[[Callable[[Layout], Iterable[Finding]]], Callable[[Layout], Iterable[Finding]]]:
    """Register a function as the rule of that id. Raises ValueError for an id used twice."""

    def register(
        find: Callable[[Layout], Iterable[Finding]],
    ) -> Callable[[Layout], Iterable[Finding]]:
        if rule_id in RULES:
            raise ValueError(f"two rules are called {rule_id}")
        RULES[rule_id] = Rule(rule_id, source, find)
        return find

    return register


def faults_of(layout: Layout, one: Rule) -> Iterator[Fault]:
    """A rule's findings as faults; equal ones in several places become one."""
    places: dict[tuple[str, str, str], list[str]] = {}
    for found in one.find(layout):
        places.setdefault((found.field, found.wrong, found.mend), []).append(found.where)
    for (field, wrong, mend), where in places.items():
        more = f", and {len(where) - 1} more like it" if len(where) > 1 else ""
        yield Fault(layout.file, where[0] + more, field, wrong, mend, one.id, one.source)


def every_piece(layout: Layout) -> Iterator[tuple[Face, Piece]]:
    """Every piece of every face."""
    for face in layout.faces:
        for piece in face.pieces:
            yield face, piece


def every_area(layout: Layout) -> Iterator[tuple[Face, Piece, Area]]:
    """Every area of every piece of every face."""
    for face, piece in every_piece(layout):
        for area in piece.areas:
            yield face, piece, area


def every_field(layout: Layout) -> Iterator[tuple[Face, Piece, Area, Field]]:
    """Every field of every area."""
    for face, piece, area in every_area(layout):
        for field in area.fields:
            yield face, piece, area, field


def place(face: Face, piece: Piece, area: Area | None = None) -> str:
    """Where something is, as a person would say it: ``front, card 2, piece A, cell-3``."""
    part = f"{face.id}, card {piece.card}, piece {piece.id}"
    return f"{part}, {area.id}" if area else part


def mm(value: float) -> str:
    """A length for a message: two decimals, its unit, never a minus zero."""
    return f"{abs(value):.2f} mm" if abs(value) < 0.005 else f"{value:.2f} mm"
