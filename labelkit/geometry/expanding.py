"""From a layout file's tables to a `Layout` with every box absolute on its sheet.

Repeats the cell over the card, mirrors it in the right half so that its tab reaches the free
edge there, draws the lines that follow from the outlines, and mirrors the back of a sheet as
it is turned over. It judges nothing.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from labelkit.geometry.format import CardTable, CellTable, FieldTable, FourMm, LayoutFile
from labelkit.geometry.model import (
    Area,
    AreaKind,
    Face,
    Field,
    Key,
    Kind,
    Layout,
    Line,
    LineKind,
    Mark,
    Piece,
    Stock,
    Tab,
)
from labelkit.geometry.sides import side_of, turned_over
from labelkit.ground.box import SLACK_MM, Box


@dataclass(frozen=True, slots=True)
class _Place:
    """Where one piece lies on the front: its outline, and the corner its areas count from."""

    id: str
    card: int
    outline: Box
    corner_x_mm: float
    corner_y_mm: float


def expand(file: LayoutFile, name: str, source: str) -> Layout:
    """The layout that a file describes; `source` is the file's name for messages."""
    places = tuple(_places(file))
    return Layout(
        name=name,
        title=file.title,
        kind=Kind(file.kind),
        stock=Stock(**file.stock.model_dump()),
        faces=tuple(_face(file, places, face) for face in file.faces),
        cards=file.sheet.across * file.sheet.down,
        serial_per=file.serial_per,
        file=source,
        flip="" if file.flip == "none" else file.flip,
    )


def _unit_size(file: LayoutFile) -> tuple[float, float]:
    """Width and height of what `sheet` repeats: a card, or a piece of the other kinds."""
    if file.card and file.cell:
        width = file.card.pieces * file.card.columns * file.cell.width_mm
        height = file.card.band_mm + file.card.rows * file.cell.height_mm
        return (
            width + file.card.left_mm + file.card.right_mm,
            height + file.card.foot_mm,
        )
    assert file.piece is not None  # the format's own check
    return file.piece.width_mm, file.piece.height_mm


def _places(file: LayoutFile) -> Iterator[_Place]:
    sheet, (width, height) = file.sheet, _unit_size(file)
    left = _start(sheet.left_mm, file.stock.width_mm, sheet.across, width, sheet.gap_x_mm)
    top = _start(sheet.top_mm, file.stock.height_mm, sheet.down, height, sheet.gap_y_mm)
    for row in range(sheet.down):
        for column in range(sheet.across):
            card = row * sheet.across + column + 1
            x = left + column * (width + sheet.gap_x_mm)
            y = top + row * (height + sheet.gap_y_mm)
            unit = Box(x, y, width, height)
            if file.card and file.cell:
                yield from _pieces_of_card(file.card, file.cell, card, unit)
            else:
                yield _Place("A", card, unit, x, y)


def _start(given: float | None, sheet: float, times: int, size: float, gap: float) -> float:
    """Where the first of a row begins: as given, or so that the row is centred."""
    return given if given is not None else (sheet - times * size - (times - 1) * gap) / 2


def _pieces_of_card(card: CardTable, cell: CellTable, number: int, box: Box) -> Iterator[_Place]:
    x = box.x_mm
    for index in range(card.pieces):
        left = card.left_mm if index == 0 else 0.0
        right = card.right_mm if index == card.pieces - 1 else 0.0
        width = left + card.columns * cell.width_mm + right
        outline = Box(x, box.y_mm, width, box.h_mm)
        yield _Place(chr(ord("A") + index), number, outline, x + left, box.y_mm)
        x += width


def _face(file: LayoutFile, places: tuple[_Place, ...], face: str) -> Face:
    stock = Stock(**file.stock.model_dump())
    if side_of(face) == "back":
        places = tuple(
            _Place(p.id, p.card, back, back.x_mm, back.y_mm)
            for p in places
            for back in (turned_over(p.outline, file.flip, stock),)
        )
    pieces = tuple(
        Piece(p.id, p.card, p.outline, (*_areas(file, p, face), *_cells(file, p, face)))
        for p in places
    )
    lines, keys = _lines(file, pieces, places, face), _keys(file, places, face)
    return Face(face, pieces, lines, keys, tuple(_marks(file, stock, face)))


def _marks(file: LayoutFile, stock: Stock, face: str) -> Iterator[Mark]:
    """The sheet's registration marks; on a back where they lie once it is turned over, each in
    a ring of the layout's tolerance."""
    for x, y in file.sheet.marks_mm:
        if side_of(face) == "back":
            over = turned_over(Box(x, y, 0, 0), file.flip, stock)
            yield Mark(over.x_mm, over.y_mm, stock.tolerance_mm)
        else:
            yield Mark(x, y)


def _areas(file: LayoutFile, place: _Place, face: str) -> Iterator[Area]:
    for key, table in file.areas.items():
        if table.face != face:
            continue
        box = _placed(table.box_mm, place.corner_x_mm, place.corner_y_mm)
        fields = _fields(table.fields, box.x_mm, box.y_mm)
        if table.area_kind is AreaKind.BAND and file.card:
            box = Box(place.outline.x_mm, box.y_mm, place.outline.w_mm, box.h_mm)
        yield Area(table.area_kind, key, box, fields, table.reading)


def _cells(file: LayoutFile, place: _Place, face: str) -> Iterator[Area]:
    if not (file.card and file.cell) or face != "front":
        return
    for row in range(file.card.rows):
        for column in range(file.card.columns):
            yield _cell(file.card, file.cell, place, row, column)


def _cell(card: CardTable, cell: CellTable, place: _Place, row: int, column: int) -> Area:
    """One cell; outer cells reach over the card's rim to its edge, and their tabs with them."""
    w, h = cell.width_mm, cell.height_mm
    nominal = Box(place.corner_x_mm + column * w, place.outline.y_mm + card.band_mm + row * h, w, h)
    mirrored = card.columns > 1 and column >= card.columns / 2
    left = place.outline.x_mm if column == 0 else nominal.x_mm
    right = place.outline.right_mm if column == card.columns - 1 else nominal.right_mm
    bottom = place.outline.bottom_mm if row == card.rows - 1 else nominal.bottom_mm
    box = Box(left, nominal.y_mm, right - left, bottom - nominal.y_mm)
    tab = _relative(cell.tab.box_mm, nominal, mirrored)
    if mirrored:
        tab = Box(tab.x_mm, tab.y_mm, tab.w_mm + right - nominal.right_mm, tab.h_mm)
    else:
        rim = nominal.x_mm - left
        tab = Box(tab.x_mm - rim, tab.y_mm, tab.w_mm + rim, tab.h_mm)
    radius = cell.cavity_mm / 2
    centre_x, centre_y = nominal.x_mm + w / 2, nominal.y_mm + h / 2
    number = row * card.columns + column + 1
    return Area(
        AreaKind.CELL,
        f"cell-{number}",
        box,
        tuple(
            _field(key, table, _relative(table.box_mm, nominal, mirrored))
            for key, table in cell.fields.items()
        ),
        number,
        Tab(tab, "right" if mirrored else "left"),
        Box(centre_x - radius, centre_y - radius, cell.cavity_mm, cell.cavity_mm),
    )


def _relative(box: FourMm, within: Box, mirrored: bool) -> Box:
    """A box of the cell as written, on the sheet; mirrored left to right where asked."""
    x, y, w, h = box
    return Box(within.x_mm + (within.w_mm - x - w if mirrored else x), within.y_mm + y, w, h)


def _placed(box: FourMm, x_mm: float, y_mm: float) -> Box:
    x, y, w, h = box
    return Box(x_mm + x, y_mm + y, w, h)


def _fields(tables: dict[str, FieldTable], x_mm: float, y_mm: float) -> tuple[Field, ...]:
    return tuple(_field(key, t, _placed(t.box_mm, x_mm, y_mm)) for key, t in tables.items())


def _field(key: str, table: FieldTable, box: Box) -> Field:
    return Field(
        id=key,
        what=table.what,
        arg=table.arg,
        box=box,
        align=table.align,
        valign=table.valign,
        wanted_pt=table.size_pt[0],
        least_pt=table.size_pt[1],
        weight=table.weight,
        family=table.family,
        language=table.language,
        beside_pt=table.beside_pt,
        turn=table.turn,
        importance=table.importance,
        alternative=table.instead,
        only_with=table.only_with,
    )


def _keys(file: LayoutFile, places: tuple[_Place, ...], face: str) -> tuple[Key, ...]:
    if file.key is None or face != "front":
        return ()
    x, y, size = file.key.x_mm, file.key.y_mm, file.key.size_mm
    corners = ((p.corner_x_mm + x, p.corner_y_mm + y) for p in places)
    return tuple(Key(((cx, cy), (cx + size, cy), (cx, cy + size))) for cx, cy in corners)


def _lines(
    file: LayoutFile, pieces: tuple[Piece, ...], places: tuple[_Place, ...], face: str
) -> tuple[Line, ...]:
    """Every line once: outlines that aren't the sheet's own edge, slits between cells, folds."""
    between = LineKind(file.card.between) if file.card else LineKind.CUT
    found: dict[tuple[float, float, float, float], Line] = {}
    for piece in pieces:
        for line in _outline(piece, pieces, between, file):
            found.setdefault(_ends(line), line)
        for line in _slits(piece):
            found.setdefault(_ends(line), line)
    for place in places:
        for table in file.lines:
            if table.face in (side_of(face), "both"):
                (x1, y1), (x2, y2) = table.from_mm, table.to_mm
                x, y = place.corner_x_mm, place.corner_y_mm
                line = Line(table.line_kind, x + x1, y + y1, x + x2, y + y2)
                found.setdefault(_ends(line), line)
    return tuple(found.values())


def _ends(line: Line) -> tuple[float, float, float, float]:
    """A line's ends to a thousandth of a millimetre: lines with equal ends are one line."""
    return (
        round(line.x1_mm, 3),
        round(line.y1_mm, 3),
        round(line.x2_mm, 3),
        round(line.y2_mm, 3),
    )


def _outline(
    piece: Piece, pieces: Iterable[Piece], between: LineKind, file: LayoutFile
) -> Iterator[Line]:
    box, stock = piece.outline, file.stock
    inner = {
        round(other.outline.x_mm, 3)
        for other in pieces
        if other.card == piece.card and other.id > piece.id
    }
    right = between if round(box.right_mm, 3) in inner else LineKind.CUT
    left = between if piece.id != "A" else LineKind.CUT
    x1, y1, x2, y2 = box.x_mm, box.y_mm, box.right_mm, box.bottom_mm
    if x1 > SLACK_MM:
        yield Line(left, x1, y1, x1, y2)
    if x2 < stock.width_mm - SLACK_MM:
        yield Line(right, x2, y1, x2, y2)
    if y1 > SLACK_MM:
        yield Line(LineKind.CUT, x1, y1, x2, y1)
    if y2 < stock.height_mm - SLACK_MM:
        yield Line(LineKind.CUT, x1, y2, x2, y2)


def _slits(piece: Piece) -> Iterator[Line]:
    """Kiss cuts round every cell where its edge isn't the piece's own."""
    outline = piece.outline
    for cell in piece.cells:
        box = cell.box
        yield Line(LineKind.KISS_CUT, box.x_mm, box.y_mm, box.right_mm, box.y_mm)
        if box.bottom_mm < outline.bottom_mm - SLACK_MM:
            yield Line(LineKind.KISS_CUT, box.x_mm, box.bottom_mm, box.right_mm, box.bottom_mm)
        if box.x_mm > outline.x_mm + SLACK_MM:
            yield Line(LineKind.KISS_CUT, box.x_mm, box.y_mm, box.x_mm, box.bottom_mm)
        if box.right_mm < outline.right_mm - SLACK_MM:
            yield Line(LineKind.KISS_CUT, box.right_mm, box.y_mm, box.right_mm, box.bottom_mm)
