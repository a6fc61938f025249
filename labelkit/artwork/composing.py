"""From an expanded layout and its loads to the pages of one file.

One page for each sheet and face, faces within sheets. All that can't be set is collected
and refused together; nothing is composed by half. Prints no die line: only the orientation
keys that card and lid share.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Literal

from labelkit.artwork.codes import code_items
from labelkit.artwork.draft_mark import draft_field, draft_items
from labelkit.artwork.empties import EMPTY_CELL, empty_field, empty_items, unused
from labelkit.artwork.flow import flow_items
from labelkit.artwork.forms import rule_items, tick_items, writing_items
from labelkit.artwork.marks import mark_items
from labelkit.artwork.page import Artwork, Item, Origin, Page
from labelkit.artwork.pictures import picture_items
from labelkit.artwork.sharing import hoisted
from labelkit.artwork.spots import Spot
from labelkit.artwork.strokes import polygon
from labelkit.artwork.texts import text_items
from labelkit.geometry.expressions import names_in
from labelkit.geometry.model import Area, AreaKind, Face, Field, Kind, Layout, Piece, What
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused, Fault, Refused
from labelkit.manifest.loads import PieceLoad, SheetLoad

State = Literal["draft", "made"]

ITEMS: dict[What, Callable[[Spot], tuple[Item, ...]]] = {
    What.STATEMENT: text_items,
    What.VALUE: text_items,
    What.PICTURE: picture_items,
    What.WRITING: writing_items,
    What.TICKS: tick_items,
    What.RULE: rule_items,
}
"""Who composes each kind of field that stands alone, but for codes."""

FLOWING = (What.FLOW, What.TABLE)
"""Kinds of field whose document flows: `flow_items` composes them, a chain at a time."""

_Key = tuple[str, str, int, str, str]
"""Face, piece, card, area, field."""

_Words = tuple[str | int, ...]
"""Place and words of a field, by identity: layout and loads live as long as the desk."""


def compose(layout: Layout, sheets: tuple[SheetLoad, ...], state: State) -> Artwork:
    """The artwork of all sheets: pages in the order sheet 1 front, sheet 1 back, sheet 2 front…

    The draft mark stands in its areas unless `state` is ``made``. The layout's title goes into
    the file's metadata.

    Raises ArtworkRefused with every field that can't be set, said or encoded: layout file,
    place, field, what it needs and by how much it is over.
    """
    desk = _Desk(layout, marked=state != "made")
    pages = [page for sheet in sheets for page in desk.sheet(sheet)]
    if desk.faults:
        raise ArtworkRefused(_merged(desk.faults))
    loads = [load for sheet in sheets for load in sheet.pieces]
    for_patient = layout.kind in (Kind.SLEEVE, Kind.LEAFLET)
    voice = loads[0].patient if for_patient else loads[0].pharmacy
    return Artwork(
        kind=layout.kind.value,
        title=layout.title,
        language=voice.language,
        pages=_pages(layout, pages),
        tagged=layout.kind is Kind.LEAFLET,
        duplex=len(layout.faces) > 1,
        flip=layout.flip,
    )


def _merged(faults: list[Fault]) -> Iterator[Fault]:
    """One fault for a field that is refused for the same reason in many places (20 cells)."""
    places: defaultdict[tuple[str, str], list[Fault]] = defaultdict(list)
    for fault in faults:
        places[fault.field, fault.wrong].append(fault)
    for alike in places.values():
        more = f", and {len(alike) - 1} more places" if len(alike) > 1 else ""
        yield replace(alike[0], where=alike[0].where + more)


def _pages(layout: Layout, items: list[tuple[Item, ...]]) -> tuple[Page, ...]:
    """Pages with what is common to each face's pages hoisted; tagged pages share nothing (a
    form with marked content may be painted only once: ISO 32000-1, 14.6.2)."""
    stock, faces = layout.stock, len(layout.faces)
    pages = [Page(stock.width_mm, stock.height_mm, own) for own in items]
    if layout.kind is Kind.LEAFLET:
        return tuple(pages)
    for face in range(faces):
        pages[face::faces] = [
            Page(stock.width_mm, stock.height_mm, own, shared)
            for shared, own in hoisted(items[face::faces])
        ]
    return tuple(pages)


class _Desk:
    """Composes sheet after sheet, and remembers what it had to refuse."""

    def __init__(self, layout: Layout, marked: bool) -> None:
        self.layout = layout
        self.marked = marked
        self.faults: list[Fault] = []
        self._known: dict[_Words, tuple[Item, ...]] = {}
        self._fields: dict[tuple[int, Callable[[Box], Field]], Field] = {}
        self._keys = {
            face.id: [
                polygon(key.points, Origin("layout", field="orientation-key")) for key in face.keys
            ]
            for face in layout.faces
        }
        self._marks = {face.id: tuple(mark_items(face)) for face in layout.faces}
        self._flowing = [
            (face, piece, area, field)
            for face in layout.faces
            for piece in face.pieces
            for area in piece.areas
            for field in area.fields
            if field.what in FLOWING
        ]

    def sheet(self, sheet: SheetLoad) -> Iterator[tuple[Item, ...]]:
        """The items of each face of one sheet."""
        flowed: dict[_Key, tuple[Item, ...]] = {}
        for load in sheet.pieces:
            for chain in self._chains(load):
                flowed.update(self._flowed(chain))
        for face in self.layout.faces:
            yield tuple(self._face(face, sheet, flowed))

    def _face(
        self, face: Face, sheet: SheetLoad, flowed: dict[_Key, tuple[Item, ...]]
    ) -> Iterator[Item]:
        gone = [piece.outline for piece in face.pieces if piece.card <= sheet.taken]
        for key in self._keys[face.id]:
            if not any(outline.overlaps(key.box) for outline in gone):
                yield key
        yield from self._marks[face.id]
        for piece in face.pieces:
            if piece.card <= sheet.taken:
                continue
            load, areas = sheet.of(piece.id, piece.card), piece.areas
            if load is None:
                # No tablet lies under this piece: its cells say so, and nothing else stands on it.
                load, areas = unused(piece, sheet), piece.cells
            for area in areas:
                for spot in self._spots(face, piece, area, load):
                    if spot.field.what in FLOWING:
                        yield from flowed.get(_key(spot), ())
                    else:
                        yield from self._items(spot)

    def _spots(self, face: Face, piece: Piece, area: Area, load: PieceLoad) -> Iterator[Spot]:
        """The area's fields as they apply to this load: an empty cell has none of its own."""
        cells = {cell.number: cell for cell in load.cells}
        cell = cells.get(area.number) if area.kind is AreaKind.CELL else None
        fields: tuple[Field, ...] = area.fields
        if area.kind is AreaKind.DRAFT:
            fields = (self._own(area, draft_field),) if self.marked else ()
        elif area.kind is AreaKind.CELL and (cell is None or not cell.used):
            fields = (self._own(area, empty_field),)
        for field in fields:
            if load.prints(field):
                yield Spot(self.layout, face, piece, area, field, load, cell)

    def _own(self, area: Area, make: Callable[[Box], Field]) -> Field:
        """The field that an area has in place of the layout's, made once."""
        key = (id(area), make)
        if key not in self._fields:
            self._fields[key] = make(area.box)
        return self._fields[key]

    def _items(self, spot: Spot) -> tuple[Item, ...]:
        """The items of a field; those of equal words at the same place are made once."""
        try:
            if spot.field.what is What.CODE:
                return code_items(spot)
            key = self._words(spot)
            if key not in self._known:
                self._known[key] = self._made(spot)
            return self._known[key]
        except Refused as refused:
            self._refuse(spot, refused)
            return ()

    def _words(self, spot: Spot) -> _Words:
        """The key of a field's items. Raises ArtworkRefused for an unreadable expression."""
        serial = ""
        try:
            if spot.cell is not None and spot.field.what is What.VALUE:
                serial = spot.cell.serial if "serial" in names_in(spot.field.arg) else ""
            return serial, id(spot.area), *spot.load.said_key(spot.field)
        except ValueError as error:
            mend = "write facts in double braces, and nothing else"
            raise ArtworkRefused([spot.fault(str(error), mend)]) from error

    def _made(self, spot: Spot) -> tuple[Item, ...]:
        if spot.area.kind is AreaKind.DRAFT:
            return draft_items(spot)
        if spot.area.kind is AreaKind.CELL and spot.field.arg == EMPTY_CELL:
            return empty_items(spot)
        return ITEMS[spot.field.what](spot)

    def _chains(self, load: PieceLoad) -> Iterator[list[Spot]]:
        """The chains of areas that the load's documents flow through; a table is one alone."""
        chains: defaultdict[str, list[Spot]] = defaultdict(list)
        for face, piece, area, field in self._flowing:
            if (piece.id, piece.card) != (load.piece, load.card) or not load.prints(field):
                continue
            spot = Spot(self.layout, face, piece, area, field, load)
            if field.what is What.FLOW:
                chains[field.arg].append(spot)
            elif field.arg in load.documents:
                yield [spot]
        # The panels of a folded sheet are read in their own order, not in that of the faces.
        yield from (sorted(chain, key=lambda spot: spot.area.number) for chain in chains.values())

    def _flowed(self, chain: list[Spot]) -> dict[_Key, tuple[Item, ...]]:
        try:
            return dict(zip(map(_key, chain), flow_items(chain), strict=True))
        except Refused as refused:
            self._refuse(chain[0], refused)
            return {}

    def _refuse(self, spot: Spot, refused: Refused) -> None:
        """Keep the faults; those of a lower floor, which knows no field, as this field's."""
        for fault in refused.faults:
            known = fault.file == self.layout.file
            self.faults.append(fault if known else spot.relocated(fault))


def _key(spot: Spot) -> _Key:
    piece = spot.piece
    return spot.face.id, piece.id, piece.card, spot.area.id, spot.field.id
