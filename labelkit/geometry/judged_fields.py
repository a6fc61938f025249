"""Rules for fields: inside their area, clear of lines and of one another, large enough."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from math import ceil

from labelkit.geometry import names
from labelkit.geometry.distances import beyond, box_to_line, crosses, shared
from labelkit.geometry.expressions import names_in, words_in
from labelkit.geometry.findings import COMMON, Finding, every_area, every_field, mm, place, rule
from labelkit.geometry.model import AreaKind, Field, Kind, Layout, Line, What
from labelkit.ground.box import SLACK_MM, Box
from labelkit.ground.units import dots_to_mm, pt_to_mm

TEXTS = frozenset({What.STATEMENT, What.VALUE, What.FLOW, What.WRITING, What.TICKS, What.TABLE})
"""Fields that are set in type."""

LEAST_PT = {
    Kind.LIDDING: (
        6.0,
        "Health Canada, labelling guide 2019: key text never under 6 pt; from memory",
    ),
    Kind.SLEEVE: (
        7.0,
        "European Commission, Readability Guideline rev. 1 (2009): 7 pt; from memory",
    ),
    Kind.LEAFLET: (9.0, "European Commission, Readability Guideline rev. 1 (2009): leaflet 9 pt"),
    Kind.PAD: (7.0, "European Commission, Readability Guideline rev. 1 (2009): 7 pt; from memory"),
}
"""Least type size by kind of artwork, and where the number comes from."""

LINE_RATIO = 0.75
"""Height of the lowest line, in ems: capitals and digits without descenders, in sans faces."""

LEAST_WRITING_MM = 7.0
"""Least height of a line to write on (common practice, no source)."""

LEAST_TICK_MM = 4.0
"""Least side of a box to tick (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class CodeRoom:
    """What the smallest usual symbol of a code takes, in modules with its quiet zone."""

    across: int
    down: int
    """0: bars, whose height is given in millimetres."""
    least_x_mm: float
    least_h_mm: float = 0.0


CODE_ROOM = {
    "cell": CodeRoom(24, 24, 0.254),
    "pack": CodeRoom(24, 24, 0.254),
    "rx": CodeRoom(110, 0, 0.170, 5.0),
    "leaflet": CodeRoom(37, 37, 0.254),
}
"""Data Matrix of 22 modules and 1 clear (lot, date and serial: 23 to 30 codewords; ISO/IEC
16022, table 7, from memory); Code 128 of 7 digits, 90 modules, and 10 clear at each end (ISO/IEC
15417); QR version 3, 29 modules, and 4 clear (ISO/IEC 18004)."""


@rule("geometry.field-outside", COMMON)
def field_in_area(layout: Layout) -> Iterator[Finding]:
    """A field lies wholly in its band, cell or panel."""
    for face, piece, area, field in every_field(layout):
        if (over := beyond(field.box, area.box)) > SLACK_MM:
            yield Finding(
                place(face, piece, area),
                field.id,
                f"its box reaches {mm(over)} out of its {area.kind.value}",
                "move or shrink its box",
            )


def _stands_on_line(one: Field, other: Field) -> bool:
    """Whether one is a value that fills in a writing line: it lies in the line's box, under its
    label, where a pen would write."""
    by_kind = {one.what: one, other.what: other}
    if set(by_kind) != {What.WRITING, What.VALUE}:
        return False
    line, value = by_kind[What.WRITING].box, by_kind[What.VALUE].box
    return line.contains(value) and value.y_mm >= line.y_mm + line.h_mm / 3


@rule("geometry.fields-overlap", COMMON)
def fields_apart(layout: Layout) -> Iterator[Finding]:
    """No two fields of an area are printed over each other."""
    for face, piece, area in every_area(layout):
        for one, other in combinations(area.fields, 2):
            if one.box.overlaps(other.box) and not _stands_on_line(one, other):
                width, height = shared(one.box, other.box)
                yield Finding(
                    place(face, piece, area),
                    one.id,
                    f"its box overlaps that of {other.id} by {mm(width)} × {mm(height)}",
                    "move them apart or make them smaller",
                )


@rule("geometry.near-line", "registration of print to die, 0.5 to 1.0 mm: assumption of the layout")
def clear_of_lines(layout: Layout) -> Iterator[Finding]:
    """Nothing printed comes nearer to a cut, fold, perforation or kiss cut than the tolerance."""
    clear = layout.stock.tolerance_mm
    for face in layout.faces:
        for piece in face.pieces:
            around = _near(piece.outline, face.lines, clear)
            for area in piece.areas:
                lines = _near(area.box, around, clear)
                draft = [(area.id, area.box)] if area.kind is AreaKind.DRAFT else []
                for name, box in (*((f.id, f.box) for f in area.fields), *draft):
                    near = _near(box, lines, clear)
                    for wrong in sorted({w for line in near if (w := _too_near(box, line, clear))}):
                        yield Finding(
                            place(face, piece, area),
                            name,
                            wrong,
                            f"leave at least {mm(clear)} to every line",
                        )


def _near(box: Box, lines: tuple[Line, ...], clear: float) -> tuple[Line, ...]:
    """The lines whose own bounding box comes near the box: the only ones worth measuring."""
    reach = box.inset(-clear - 1.0)
    return tuple(
        line
        for line in lines
        if min(line.x1_mm, line.x2_mm) <= reach.right_mm
        and max(line.x1_mm, line.x2_mm) >= reach.x_mm
        and min(line.y1_mm, line.y2_mm) <= reach.bottom_mm
        and max(line.y1_mm, line.y2_mm) >= reach.y_mm
    )


def _too_near(box: Box, line: Line, clear: float) -> str:
    """What is wrong between a box and a line; empty where nothing is."""
    kind = line.kind.value.replace("-", " ")
    if crosses(box, line):
        return f"a {kind} crosses it"
    apart = box_to_line(box, line)
    if apart < clear - SLACK_MM:
        return f"it is {mm(apart)} from a {kind}, nearer than the tolerance of {mm(clear)}"
    return ""


@rule("geometry.type-size", "; ".join(sorted({source for _, source in LEAST_PT.values()})))
def type_large_enough(layout: Layout) -> Iterator[Finding]:
    """No field may be set smaller than its kind of artwork allows, and one line always fits."""
    least, source = LEAST_PT[layout.kind]
    for face, piece, area, field in every_field(layout):
        if field.what not in TEXTS:
            continue
        where = place(face, piece, area)
        smallest = min(field.least_pt, field.beside_pt or field.least_pt)
        if smallest < least:
            yield Finding(
                where,
                field.id,
                f"its least size of {smallest:g} pt is under {least:g} pt ({source})",
                f"write a least size of {least:g} pt or more",
            )
        height = pt_to_mm(field.least_pt) * LINE_RATIO
        room = field.box.w_mm if field.turn else field.box.h_mm
        if room < height - SLACK_MM:
            yield Finding(
                where,
                field.id,
                f"one line of {field.least_pt:g} pt needs {mm(height)} of height, and its box "
                f"has {mm(room)}: {mm(height - room)} too low",
                "make its box higher",
            )


@rule(
    "geometry.code-room",
    "ISO/IEC 16022, 15417 and 18004 (modules and quiet zones); GS1 General Specifications, "
    "symbol specification table 6 (least X-dimension)",
)
def code_has_room(layout: Layout) -> Iterator[Finding]:
    """A code's box holds the symbol with its quiet zone at the least X-dimension."""
    dpi = layout.stock.dpi
    for face, piece, area, field in every_field(layout):
        if field.what is not What.CODE or field.arg not in CODE_ROOM:
            continue
        room = CODE_ROOM[field.arg]
        dots = ceil(room.least_x_mm * dpi / 25.4 - 1e-9)
        x_mm = dots_to_mm(dots, dpi)
        # One dot to spare: the symbol is moved to the printer's own dots.
        width = room.across * x_mm + dots_to_mm(1, dpi)
        height = (room.down * x_mm or room.least_h_mm) + dots_to_mm(1, dpi)
        short = max(width - field.box.w_mm, height - field.box.h_mm)
        if short > SLACK_MM:
            yield Finding(
                place(face, piece, area),
                field.id,
                f"the code needs {mm(width)} × {mm(height)} with its quiet zone at the least "
                f"X-dimension of {x_mm:.3f} mm ({dots} dots at {dpi} dpi), and its box is "
                f"{mm(field.box.w_mm)} × {mm(field.box.h_mm)}: {mm(short)} too small",
                "make its box larger",
            )


@rule("geometry.writing", "common practice, no source: handwriting 7 mm, tick box 4 mm")
def room_to_write(layout: Layout) -> Iterator[Finding]:
    """Lines to write on are 7 mm apart or more, boxes to tick 4 mm high or more."""
    least = {What.WRITING: LEAST_WRITING_MM, What.TICKS: LEAST_TICK_MM}
    for face, piece, area, field in every_field(layout):
        if field.what in least and field.box.h_mm < least[field.what] - SLACK_MM:
            short = least[field.what] - field.box.h_mm
            yield Finding(
                place(face, piece, area),
                field.id,
                f"it is {mm(field.box.h_mm)} high, {mm(short)} too low for a hand",
                f"make it {mm(least[field.what])} high or more",
            )


@rule("geometry.names", "the list of facts and codes in labelkit.geometry.names")
def known_names(layout: Layout) -> Iterator[Finding]:
    """Fields name facts, codes, documents, lists and tables that exist."""
    known = {
        What.CODE: names.CODES,
        What.FLOW: names.DOCUMENTS,
        What.TICKS: names.LISTS,
        What.TABLE: names.TABLES,
    }
    for face, piece, area, field in every_field(layout):
        where = place(face, piece, area)
        if field.only_with and field.only_with not in names.FACTS.union(names.CODES):
            yield Finding(
                where,
                field.id,
                f"there is no fact or code named {field.only_with!r}",
                "correct only_with",
            )
        if field.what is What.VALUE:
            yield from _expression(where, field)
        elif field.what in known and field.arg not in known[field.what]:
            yield Finding(
                where,
                field.id,
                f"there is no {field.what.value} named {field.arg!r}",
                f"name one of {', '.join(known[field.what])}",
            )


def _expression(where: str, field: Field) -> Iterator[Finding]:
    try:
        strange, words = sorted(names_in(field.arg) - names.FACTS), words_in(field.arg)
    except (ValueError, RecursionError) as error:
        yield Finding(where, field.id, str(error), "write facts in double braces, with text")
        return
    if words:
        yield Finding(
            where,
            field.id,
            f"it prints words of its own ({words}), which nobody translates",
            "name facts only, and say words with a statement",
        )
    if strange:
        yield Finding(
            where,
            field.id,
            f"there is no fact named {', '.join(strange)}",
            f"name one of {', '.join(sorted(names.FACTS))}",
        )
