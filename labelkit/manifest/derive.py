"""From layout, loads and requirements to the manifest. Reads no page and no PDF.

Refuses, before anything is drawn, a layout that has no field for a particular that the
rules require: the sheet would be illegal however well it printed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from labelkit.barcodes.model import CodeData
from labelkit.barcodes.ranges import x_range_mm
from labelkit.geometry.expressions import names_in
from labelkit.geometry.model import Area, AreaKind, Face, Field, Kind, Layout, Piece, What
from labelkit.geometry.names import IN_FULL
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused
from labelkit.manifest.flowing import flows
from labelkit.manifest.loads import CellLoad, PieceLoad, SheetLoad
from labelkit.manifest.model import (
    Cut,
    DraftMark,
    EmptyPlace,
    Manifest,
    ManifestPage,
    RequiredCode,
    RequiredFlow,
    RequiredText,
    RequiredValue,
    place,
)
from labelkit.manifest.paper import bare_places, drawn_places, empty_text, marks
from labelkit.manifest.pictures import Pictures
from labelkit.manifest.saying import Saying, instead, languages_of, quotations, sayings
from labelkit.rules.model import Requirement
from labelkit.rules.separability import judge_separability
from labelkit.wording.model import Said

DRAFT = "draft"
"""State of a file some of whose words nobody answers for."""

DRAFT_MARKS = ("draft.mark", "draft.short")
"""Statements that the draft mark may be, the first that fits its place."""

QUIET_MODULES = {"data-matrix": 1, "code-128": 10, "qr": 4}
"""Clear modules round a symbol: ISO/IEC 16022 (1), ISO/IEC 15417 (10), ISO/IEC 18004 (4)."""

PARSED = {
    "lot": "lot",
    "beyond_use": "date",
    "strength": "strength",
    "drug": "drug",
    "rx_number": "rx",
    "tablets_in_pack": "tablets",
}
"""Facts whose value the checker parses out of the print, and as what."""


@dataclass(frozen=True, slots=True)
class Heading:
    """What the manifest says of the file as a whole."""

    state: str
    title: str
    records: tuple[str, ...]
    secrets: tuple[str, ...] = ()


def derive(
    layout: Layout,
    sheets: tuple[SheetLoad, ...],
    requirements: Iterable[Requirement],
    heading: Heading,
) -> Manifest:
    """The manifest of a file with one page for each sheet and face, faces within sheets.

    Raises ArtworkRefused when a required particular has no place on the layout.
    """
    required = tuple(requirements)
    refuse_without_place(layout, sheets, required)
    pages: list[ManifestPage] = []
    flowing: list[RequiredFlow] = []
    said, pictures = _Said(required, heading.state), Pictures()
    for number, sheet in enumerate(sheets):
        first = number * len(layout.faces)
        pages.extend(_page(layout, face, sheet, said, pictures) for face in layout.faces)
        flowing.extend(flows(layout, sheet, first))
    loads = [load for sheet in sheets for load in sheet.pieces]
    for_patient = layout.kind in (Kind.SLEEVE, Kind.LEAFLET)
    languages = {voice.language for load in loads for voice in (load.pharmacy, load.patient)}
    return Manifest(
        artwork=layout.kind.value,
        layout=layout.name,
        state=heading.state,
        title=heading.title,
        languages=tuple(sorted(languages)),
        records=heading.records,
        serials=tuple(c.serial for load in loads for c in load.cells if c.serial),
        secrets=heading.secrets,
        pages=tuple(pages),
        flows=tuple(flowing),
        language=(loads[0].patient if for_patient else loads[0].pharmacy).language,
        turned=(layout.flip or "long-edge") if len(layout.faces) > 1 else "",
    )


def refuse_without_place(
    layout: Layout, sheets: tuple[SheetLoad, ...], required: tuple[Requirement, ...]
) -> None:
    """Raise ArtworkRefused with every required particular that some piece doesn't carry whole."""
    loads = [load for sheet in sheets for load in sheet.pieces]
    in_documents = {
        said.origin
        for load in loads
        for by_language in load.documents.values()
        for document in by_language.values()
        for block in document.blocks
        for said in block.said
    }
    pictured = {
        f"picture:{name}"
        for load in loads
        for by_language in load.documents.values()
        for document in by_language.values()
        for block in document.blocks
        for name in block.pictures
    }
    faults = judge_separability(layout, required, in_documents | pictured)
    if faults:
        raise ArtworkRefused(faults)


def _page(
    layout: Layout, face: Face, sheet: SheetLoad, said: "_Said", pictures: Pictures
) -> ManifestPage:
    texts: list[RequiredText] = []
    values: list[RequiredValue] = []
    codes: list[RequiredCode] = []
    empty: list[EmptyPlace] = []
    bare: list[EmptyPlace] = []
    drafts: list[DraftMark] = []
    for piece in face.pieces:
        load = sheet.of(piece.id, piece.card)
        if load is None:
            if piece.card > sheet.taken:
                empty.append(EmptyPlace(within=place(piece.outline), piece=piece.id, area=""))
                texts.extend(said.empty(piece, area, sheet) for area in piece.cells)
            bare.extend(bare_places(piece, sheet))
            continue
        cells = {cell.number: cell for cell in load.cells}
        for area in piece.areas:
            cell = cells.get(area.number) if area.kind is AreaKind.CELL else None
            if area.kind is AreaKind.DRAFT:
                drafts.append(said.draft(area, load))
            elif area.kind is AreaKind.CELL and (cell is None or not cell.used):
                empty.append(EmptyPlace(within=place(area.box), piece=piece.id, area=area.id))
                texts.append(said.empty(piece, area, sheet))
            else:
                texts.extend(said.texts(piece, area, load))
                values.extend(said.values(piece, area, load))
                codes.extend(_codes(layout, piece, area, load, cell))
    stock = layout.stock
    sheet_box = Box(0, 0, stock.width_mm, stock.height_mm)
    return ManifestPage(
        width_mm=stock.width_mm,
        height_mm=stock.height_mm,
        safe=place(sheet_box.inset(stock.margin_mm)),
        texts=tuple(texts),
        values=tuple(values),
        codes=tuple(codes),
        empty=tuple(empty),
        cuts=said.cuts(face, stock.tolerance_mm),
        draft_marks=tuple(drafts),
        bare=tuple(bare),
        marks=marks(face),
        drawn=drawn_places(face, sheet),
        pictures=tuple(pictures.of(layout, face, sheet)),
    )


class _Said:
    """What areas and faces require; what is equal at the same place is made once."""

    def __init__(self, required: tuple[Requirement, ...], state: str) -> None:
        self._required = required
        self._state = state
        self._known: dict[tuple[int, ...], tuple[RequiredText, ...]] = {}
        self._values: dict[tuple[int | str | None, ...], tuple[RequiredValue, ...]] = {}
        self._cuts: dict[int, tuple[Cut, ...]] = {}

    def texts(self, piece: Piece, area: Area, load: PieceLoad) -> tuple[RequiredText, ...]:
        """What must be read in an area of a piece."""
        key = (id(area), *(part for field in area.fields for part in load.said_key(field)))
        if key not in self._known:
            self._known[key] = tuple(_texts(piece, area, load, self._required))
        return self._known[key]

    def values(self, piece: Piece, area: Area, load: PieceLoad) -> tuple[RequiredValue, ...]:
        """What must be parsed back in an area of a piece."""
        key = (id(area), *(load.record.get(fact) for fact in PARSED))
        if key not in self._values:
            self._values[key] = tuple(_values(piece, area, load))
        return self._values[key]

    def cuts(self, face: Face, clear_mm: float) -> tuple[Cut, ...]:
        """The lines of a face."""
        if id(face) not in self._cuts:
            self._cuts[id(face)] = tuple(
                Cut(
                    kind=line.kind.value,
                    x1_mm=line.x1_mm,
                    y1_mm=line.y1_mm,
                    x2_mm=line.x2_mm,
                    y2_mm=line.y2_mm,
                    clear_mm=clear_mm,
                )
                for line in face.lines
            )
        return self._cuts[id(face)]

    def draft(self, area: Area, load: PieceLoad) -> DraftMark:
        """The draft mark's place, and on a draft its words."""
        if self._state != DRAFT:
            return DraftMark(within=place(area.box))
        voices = {voice.language: voice for voice in (load.patient, load.pharmacy)}
        return DraftMark(
            within=place(area.box),
            words=tuple(
                tuple(voice.say(statement).text for voice in voices.values())
                for statement in DRAFT_MARKS
            ),
        )

    def empty(self, piece: Piece, area: Area, sheet: SheetLoad) -> RequiredText:
        """What a cell over an empty cavity says."""
        voice = sheet.pieces[0].pharmacy
        key = (id(area), id(voice))
        if key not in self._known:
            self._known[key] = (empty_text(piece, area, voice),)
        return self._known[key][0]


def _texts(
    piece: Piece, area: Area, load: PieceLoad, required: tuple[Requirement, ...]
) -> Iterator[RequiredText]:
    """Everything that the area's fields say, with the strictest least size."""
    for field in area.fields:
        if field.what is What.TICKS:
            continue  # its rows are read one after another, as documents are: see `flowing`
        for saying in sayings(field, load):
            asked = [r for part in saying.parts for r in required if r.satisfied_by == part.origin]
            # What the rules ask for is in the patient's words; the pharmacy's stand beside them.
            beside = field.beside_pt and saying.language != languages_of(field, load)[0]
            yield RequiredText(
                id=", ".join(dict.fromkeys(_id(part, asked) for part in saying.parts)),
                origin=_origin(saying),
                text=saying.text,
                language=saying.language,
                within=place(field.box),
                piece=piece.id,
                area=area.id,
                least_pt=field.beside_pt
                if beside
                else max([field.least_pt, *(r.least_pt for r in asked)]),
                least_x_height_mm=0.0
                if beside
                else max([0.0, *(r.least_x_height_mm for r in asked)]),
                source="; ".join(dict.fromkeys(r.source for r in asked))
                or f"layout field {field.id}",
                instead="".join(s.text for s in instead(field, load, saying.language)),
                facts={_name(part): part.text for part in saying.parts}
                if len(saying.parts) > 1
                else {},
                quoted=quotations(*saying.parts, *instead(field, load, saying.language)),
            )


def _id(part: Said, asked: list[Requirement]) -> str:
    """The particular that a fact or statement answers; its own name where none is asked for."""
    return next((r.id for r in asked if r.satisfied_by == part.origin), _name(part))


def _name(part: Said) -> str:
    return part.origin.partition(":")[2]


def _origin(saying: Saying) -> str:
    kind = saying.parts[0].origin.partition(":")[0] if saying.parts else "fact"
    return f"{kind}:{','.join(_name(part) for part in saying.parts)}"


def _values(piece: Piece, area: Area, load: PieceLoad) -> Iterator[RequiredValue]:
    values = [field for field in area.fields if field.what is What.VALUE]
    named = {IN_FULL.get(name, name) for field in values for name in names_in(field.arg)}
    for fact, kind in PARSED.items():
        if fact in named and fact in load.record:
            yield RequiredValue(
                kind=kind,
                value=load.record[fact],
                within=place(area.box),
                piece=piece.id,
                area=area.id,
            )


def _codes(
    layout: Layout, piece: Piece, area: Area, load: PieceLoad, cell: CellLoad | None
) -> Iterator[RequiredCode]:
    codes = cell.codes if cell is not None else load.codes
    for field in area.fields:
        if field.what is What.CODE and field.arg in codes:
            yield _code(layout, piece, area, field, codes[field.arg])


def _code(layout: Layout, piece: Piece, area: Area, field: Field, data: CodeData) -> RequiredCode:
    least, most = x_range_mm(data)
    return RequiredCode(
        name=field.arg,
        symbology=data.symbology.value,
        fields=dict(data.fields),
        gs1=data.gs1,
        within=place(field.box),
        piece=piece.id,
        area=area.id,
        dpi=layout.stock.dpi,
        least_x_mm=least,
        most_x_mm=most,
        quiet_modules=QUIET_MODULES[data.symbology.value],
    )
