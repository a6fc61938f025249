"""Rules for lidding: cells that peel, cavities that stay sealed, pieces that stay identified."""

from collections.abc import Iterator

from labelkit.geometry.distances import beyond, box_to_circle, uncovered
from labelkit.geometry.findings import COMMON, Finding, mm, place, rule
from labelkit.geometry.model import (
    Area,
    AreaKind,
    Face,
    Key,
    Kind,
    Layout,
    Line,
    LineKind,
    Piece,
    What,
)
from labelkit.ground.box import SLACK_MM, Box

LEAST_TAB_MM = 4.0
"""Sides of a tab that a finger tip can lift."""

LEAST_FLANGE_MM = 1.5
"""Sealed rim between a cavity and the edge of its cell."""

LEAST_TAB_GAP_MM = 1.0
"""Between a tab, which isn't sealed, and the cavity."""

LEAST_BAND_MM = 10.0
"""Height of a header band that holds its lines at a readable size (common practice, no source)."""

_SLITS = frozenset({LineKind.KISS_CUT, LineKind.CUT, LineKind.PERFORATION})
_EDGE_MM = 1e-3
"""Lines closer than this lie on one another."""


def _pieces(layout: Layout) -> Iterator[tuple[Face, Piece]]:
    if layout.kind is Kind.LIDDING:
        for piece in layout.faces[0].pieces:
            yield layout.faces[0], piece


def _cells(layout: Layout) -> Iterator[tuple[Face, Piece, Area]]:
    for face, piece in _pieces(layout):
        for cell in piece.cells:
            yield face, piece, cell


@rule("geometry.tab", "common practice, no source: a fragile tablet is peeled out, never pushed")
def tab_reaches_free_edge(layout: Layout) -> Iterator[Finding]:
    """Every cell has a tab that reaches an edge of its piece which is free after the cut."""
    for face, piece, cell in _cells(layout):
        where = place(face, piece, cell)
        if cell.tab is None:
            yield Finding(where, "tab", "the cell has no peel tab", "add a tab at its free edge")
            continue
        tab = cell.tab.box
        if (over := beyond(tab, cell.box)) > SLACK_MM:
            yield Finding(where, "tab", f"it reaches {mm(over)} out of its cell", "move it")
        gap = _gap_to_edge(tab, piece.outline, cell.tab.edge)
        if abs(gap) > _EDGE_MM:
            yield Finding(
                where,
                "tab",
                f"it ends {mm(abs(gap))} from the piece's {cell.tab.edge} edge, so nobody can "
                "lift it",
                "let the tab reach a free edge of its piece; give a piece two columns at most",
            )
        if min(tab.w_mm, tab.h_mm) < LEAST_TAB_MM - SLACK_MM:
            short = LEAST_TAB_MM - min(tab.w_mm, tab.h_mm)
            yield Finding(
                where,
                "tab",
                f"it is {mm(tab.w_mm)} × {mm(tab.h_mm)}, {mm(short)} too small for a finger tip",
                f"make it {mm(LEAST_TAB_MM)} or more each way",
            )


def _gap_to_edge(tab: Box, outline: Box, edge: str) -> float:
    return {
        "left": tab.x_mm - outline.x_mm,
        "right": outline.right_mm - tab.right_mm,
        "top": tab.y_mm - outline.y_mm,
        "bottom": outline.bottom_mm - tab.bottom_mm,
    }[edge]


@rule("geometry.free-edge", COMMON)
def edges_are_cut(layout: Layout) -> Iterator[Finding]:
    """The edge a tab reaches is cut or perforated, or is the sheet's own."""
    for face, piece in _pieces(layout):
        lines = tuple(ln for ln in face.lines if ln.kind in (LineKind.CUT, LineKind.PERFORATION))
        for edge in sorted({cell.tab.edge for cell in piece.cells if cell.tab}):
            side = _side(piece.outline, edge)
            bare = 0.0 if _on_sheet_edge(side, layout) else uncovered(side, lines)
            if bare > _EDGE_MM:
                yield Finding(
                    place(face, piece),
                    edge,
                    f"{mm(bare)} of its {edge} edge isn't cut, so the tabs there aren't free",
                    "add a cut or a perforation along it",
                )


def _on_sheet_edge(side: Line, layout: Layout) -> bool:
    upright = side.x1_mm == side.x2_mm
    at, end = (
        (side.x1_mm, layout.stock.width_mm) if upright else (side.y1_mm, layout.stock.height_mm)
    )
    return min(abs(at), abs(at - end)) < _EDGE_MM


def _side(box: Box, edge: str) -> Line:
    x1, y1, x2, y2 = box.x_mm, box.y_mm, box.right_mm, box.bottom_mm
    ends = {
        "left": (x1, y1, x1, y2),
        "right": (x2, y1, x2, y2),
        "top": (x1, y1, x2, y1),
        "bottom": (x1, y2, x2, y2),
    }[edge]
    return Line(LineKind.CUT, *ends)


@rule("geometry.slit", "common practice, no source: a cell peels alone only if the stock is slit")
def cells_are_slit(layout: Layout) -> Iterator[Finding]:
    """Round every cell runs a slit, or the piece's own edge."""
    for face, piece in _pieces(layout):
        slits = tuple(line for line in face.lines if line.kind in _SLITS)
        for cell in piece.cells:
            for edge in ("left", "right", "top", "bottom"):
                if abs(_gap_to_edge(cell.box, piece.outline, edge)) < _EDGE_MM:
                    continue
                bare = uncovered(_side(cell.box, edge), slits)
                if bare > _EDGE_MM:
                    yield Finding(
                        place(face, piece, cell),
                        edge,
                        f"{mm(bare)} of its {edge} side isn't slit, so its neighbour peels with it",
                        "add a kiss cut along it",
                    )


@rule("geometry.cavity", COMMON)
def cavity_is_sealed(layout: Layout) -> Iterator[Finding]:
    """A cavity keeps a sealed rim inside its cell, also towards the tab."""
    for face, piece, cell in _cells(layout):
        where = place(face, piece, cell)
        if cell.cavity is None:
            yield Finding(where, "cavity", "the cell lies over no cavity", "give its cavity")
            continue
        short = beyond(cell.cavity.inset(-LEAST_FLANGE_MM), cell.box)
        if short > SLACK_MM:
            yield Finding(
                where,
                "cavity",
                f"the sealed rim between cavity and cell edge is {mm(short)} less than "
                f"{mm(LEAST_FLANGE_MM)}",
                "make the cell larger; a tray with so little flange can't be sealed cell by cell",
            )
        if cell.tab:
            gap = box_to_circle(cell.tab.box, cell.cavity)
            if gap < LEAST_TAB_GAP_MM - SLACK_MM:
                yield Finding(
                    where,
                    "tab",
                    f"the unsealed tab comes {mm(LEAST_TAB_GAP_MM - gap)} too near to the cavity",
                    f"leave {mm(LEAST_TAB_GAP_MM)} between tab and cavity",
                )


@rule("geometry.band", "common practice, no source: what outlives the first dose isn't peeled off")
def band_on_each_piece(layout: Layout) -> Iterator[Finding]:
    """Every piece has a header band with something on it."""
    for face, piece in _pieces(layout):
        bands = [area for area in piece.areas if area.kind is AreaKind.BAND]
        if not any(band.fields for band in bands):
            yield Finding(
                place(face, piece),
                "",
                "it has no header band",
                'add an area of kind "band" above its cells, with fields',
            )
        for band in bands:
            if band.box.h_mm < LEAST_BAND_MM - SLACK_MM:
                yield Finding(
                    place(face, piece, band),
                    "",
                    f"it is {mm(band.box.h_mm)} high, {mm(LEAST_BAND_MM - band.box.h_mm)} too "
                    "low for drug, strength, lot and date",
                    f"make it {mm(LEAST_BAND_MM)} high or more",
                )


@rule("geometry.key", "common practice, no source: a lid turned by 180° would still fit")
def key_on_each_piece(layout: Layout) -> Iterator[Finding]:
    """Every piece has an orientation key that tells its top from its foot."""
    for face, piece in _pieces(layout):
        own = [key for key in face.keys if piece.outline.overlaps(_bounds(key))]
        if not own:
            yield Finding(
                place(face, piece), "key", "it has no orientation key", "add [key] in a corner"
            )
        boxes = [_bounds(key) for key in own]
        turned = [_half_turn(box, piece.outline) for box in boxes]
        if any(box.overlaps(other) for box in boxes for other in turned):
            yield Finding(
                place(face, piece),
                "key",
                "turned by 180° its orientation key falls on itself",
                "keep one key, in one corner",
            )
        clear = layout.stock.tolerance_mm
        for box in boxes:
            if (over := beyond(box.inset(-clear), piece.outline)) > SLACK_MM:
                yield Finding(
                    place(face, piece),
                    "key",
                    f"it is {mm(over)} nearer to the cut than the tolerance of {mm(clear)}",
                    "move it inwards",
                )
            for area in piece.areas:
                for field in area.fields:
                    if field.box.overlaps(box):
                        yield Finding(
                            place(face, piece, area),
                            field.id,
                            "its box overlaps the orientation key",
                            "move one of them",
                        )


def _bounds(key: Key) -> Box:
    xs, ys = [x for x, _ in key.points], [y for _, y in key.points]
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def _half_turn(box: Box, about: Box) -> Box:
    return Box(
        about.x_mm + about.right_mm - box.right_mm,
        about.y_mm + about.bottom_mm - box.bottom_mm,
        box.w_mm,
        box.h_mm,
    )


@rule("geometry.first-seen", "common practice, no source: one thing on every face is largest")
def one_thing_first(layout: Layout) -> Iterator[Finding]:
    """In every cell exactly one field is seen first, and none is set larger."""
    for face, piece, cell in _cells(layout):
        first = [field for field in cell.fields if field.importance == 1]
        if len(first) != 1:
            yield Finding(
                place(face, piece, cell),
                "",
                f"{len(first)} fields have importance 1",
                "give importance 1 to the strength alone",
            )
            continue
        larger = max(
            (f for f in cell.fields if f.what in (What.VALUE, What.STATEMENT)),
            key=lambda f: f.wanted_pt,
            default=first[0],
        )
        if larger.wanted_pt > first[0].wanted_pt:
            yield Finding(
                place(face, piece, cell),
                larger.id,
                f"at {larger.wanted_pt:g} pt it is larger than {first[0].id}, which is to be "
                f"seen first, at {first[0].wanted_pt:g} pt",
                "set it smaller",
            )
