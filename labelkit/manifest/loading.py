"""From records to loads: what each piece of each sheet of one file will carry.

One function for each kind of artwork. Each takes what rules decided (fills, cards, limits,
cautions) and what wording says, and lays it on the layout's pieces in their order.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from labelkit.barcodes.data import cell_data, leaflet_data, pack_data, rx_data
from labelkit.barcodes.model import CodeData
from labelkit.geometry.model import AreaKind, Layout, Piece
from labelkit.manifest.loads import CellLoad, PieceLoad, SheetLoad
from labelkit.records.model import (
    Lot,
    Preparation,
    Prescriber,
    Prescription,
    Strength,
    Workspace,
)
from labelkit.rules.amounts import in_mg
from labelkit.rules.cautions import cautions_for
from labelkit.rules.limits import dose_limits
from labelkit.rules.model import Fill, Pack, PlannedCard
from labelkit.wording.definitions import definition
from labelkit.wording.documents import compose
from labelkit.wording.facts import (
    drug_name,
    fill_facts,
    lot_facts,
    preparation_facts,
    prescriber_facts,
    values,
)
from labelkit.wording.model import Document, ReviewState, Said, Voice

"""Language → its voice."""


@dataclass(frozen=True, slots=True)
class Source:
    """One preparation and strength, and who speaks for it."""

    workspace: Workspace
    preparation: Preparation
    strength: str
    pharmacy: Voice
    patient: Voice

    @property
    def voices(self) -> tuple[Voice, ...]:
        """The patient's voice and the pharmacy's, each language once."""
        by_language = {voice.language: voice for voice in (self.patient, self.pharmacy)}
        return tuple(by_language.values())

    @property
    def gtin(self) -> str | None:
        """The strength's GTIN, where the pharmacy has one."""
        return self._strength().gtin

    def _strength(self) -> Strength:
        return {s.label: s for s in self.preparation.strengths}[self.strength]

    def raw_values(self, rx: Prescription | None) -> dict[str, object]:
        """Values for statements' placeholders."""
        limits = dose_limits(self.preparation, self.strength)
        return values(self.workspace, self.preparation, self.strength, limits, rx)

    def documents(
        self, wanted: Iterable[str], rx: Prescription | None
    ) -> dict[str, dict[str, Document]]:
        """The documents of that name, in each voice."""
        return {
            name: {voice.language: self._document(name, rx, voice) for voice in self.voices}
            for name in wanted
        }

    def closing(self, wanted: Iterable[str], rx: Prescription | None) -> dict[str, Document]:
        """What follows the documents of that name in the pharmacy's voice; nothing where the
        patient reads the pharmacy's language."""
        if self.patient.language == self.pharmacy.language:
            return {}
        after = {name: definition(name).then for name in wanted}
        return {
            name: self._document(then, rx, self.pharmacy) for name, then in after.items() if then
        }

    def _document(self, name: str, rx: Prescription | None, voice: Voice) -> Document:
        limits = dose_limits(self.preparation, self.strength)
        cautions = cautions_for(self.preparation, self.workspace, rx)
        return compose(
            name, self.workspace, self.preparation, self.strength, cautions, limits, rx, voice
        )


def places(layout: Layout) -> tuple[Piece, ...]:
    """The pieces of one sheet in the order in which they are used: card by card."""
    return tuple(sorted(layout.faces[0].pieces, key=lambda p: p.card))


def lidding_sheets(
    source: Source,
    lot: Lot,
    beyond_use: date,
    cards: tuple[PlannedCard, ...],
    layout: Layout,
    first_serial: int,
    fills: Mapping[str, tuple[Prescription, Fill]] | None = None,
    start_at: int = 1,
) -> tuple[SheetLoad, ...]:
    """Lids for the planned cards, a unique serial for each filled cell.

    The first lid goes on card `start_at` of the first sheet, whose earlier ones are used up.

    `fills` (prescription number → prescription and its fill) makes it patient lidding: the
    header band of a piece planned for one of them carries patient and prescription number.
    """
    serials = _serials(lot.number, first_serial)
    said_of = _LidFacts(source, lot, beyond_use, fills or {})
    loads: list[list[PieceLoad]] = []
    for number, card in enumerate(cards, start=start_at - 1):
        on_sheet = number % layout.cards
        if on_sheet == 0 or not loads:
            loads.append([])
        pieces = [p for p in places(layout) if p.card == on_sheet + 1]
        for piece, planned in zip(pieces, card.pieces, strict=True):
            if planned.filled == 0:
                continue
            cells = tuple(
                _cell(area.number, planned.filled, lot, beyond_use, serials, source.gtin)
                for area in piece.cells
            )
            pack = planned.pack
            facts, raw, rx = said_of.piece(pack)
            loads[-1].append(
                PieceLoad(
                    piece=piece.id,
                    card=piece.card,
                    pharmacy=source.pharmacy,
                    patient=source.patient,
                    facts=_with_code_text(facts, cells),
                    values=raw,
                    record=_record(source, lot, beyond_use, rx, pack if rx else None),
                    cells=cells,
                )
            )
    taken = [start_at - 1, *[0] * len(loads)]
    return tuple(SheetLoad(tuple(pieces), used) for pieces, used in zip(loads, taken, strict=False))


def _serials(lot: str, first: int) -> Iterator[str]:
    number = first
    while True:
        yield f"{lot}-{number:04d}"
        number += 1


def _cell(
    number: int,
    filled: int,
    lot: Lot,
    beyond_use: date,
    serials: Iterator[str],
    gtin: str | None,
) -> CellLoad:
    if number > filled:
        return CellLoad(number=number, used=False)
    serial = next(serials)
    return CellLoad(
        number=number,
        used=True,
        serial=serial,
        codes={
            "cell": cell_data(lot.number, beyond_use, serial, gtin, printed_in=lot.made_on.year)
        },
    )


_Facts = dict[str, dict[str, Said]]
_Told = tuple[_Facts, dict[str, object], Prescription | None]


class _LidFacts:
    """What is said on the pieces of one lot: the same objects on all stock pieces, so that
    what is made of them is made once."""

    def __init__(
        self,
        source: Source,
        lot: Lot,
        beyond_use: date,
        fills: Mapping[str, tuple[Prescription, Fill]],
    ) -> None:
        self._source, self._lot, self._beyond_use = source, lot, beyond_use
        self._fills = fills
        self._stock: _Told | None = None

    def piece(self, pack: Pack | None) -> _Told:
        """Facts and raw values of a piece, and the prescription it is made out to, if any."""
        named = self._fills.get(pack.rx) if pack else None
        if named is None:
            if self._stock is None:
                self._stock = (
                    {
                        voice.language: lot_facts(
                            self._source.workspace, self._lot, self._beyond_use, voice
                        )
                        for voice in self._source.voices
                    },
                    self._source.raw_values(None),
                    None,
                )
            return self._stock
        rx, fill = named
        facts = {
            voice.language: fill_facts(self._source.workspace, rx, fill, pack, voice)
            for voice in self._source.voices
        }
        return facts, self._source.raw_values(rx), rx


def _with_code_text(
    facts: Mapping[str, dict[str, Said]], cells: tuple[CellLoad, ...]
) -> dict[str, dict[str, Said]]:
    """The facts with what the piece's codes say, in full, for people: first to last serial."""
    codes = [cell.codes["cell"] for cell in cells if cell.used]
    # A space before each element: a line of the header band may be broken there.
    first = codes[0].human.replace("(", " (").strip()
    last = dict(codes[-1].fields)["serial"]
    counted = last.rpartition("-")[2]
    text = first if len(codes) == 1 else f"{first}\N{NO-BREAK SPACE}–\N{NO-BREAK SPACE}{counted}"
    return {
        language: said
        | {
            "code_text": Said(text, language, "fact:code_text", ReviewState.ACCEPTED),
        }
        for language, said in facts.items()
    }


def _record(
    source: Source,
    lot: Lot,
    beyond_use: date,
    rx: Prescription | None,
    pack: Pack | None,
) -> dict[str, str]:
    record = {
        "lot": lot.number,
        "beyond_use": beyond_use.isoformat(),
        "strength": source.strength,
        "drug": drug_name(source.preparation, label=True),
    }
    if rx is not None:
        record["rx_number"] = rx.number
    if pack is not None:
        record["tablets_in_pack"] = str(pack.tablets)
    return record


def sleeve_sheets(
    source: Source, rx: Prescription, fill: Fill, layout: Layout
) -> tuple[SheetLoad, ...]:
    """One sleeve for each pack of a fill, as many up as the layout has."""
    lot = source.workspace.lot(fill.lot)
    codes: dict[str, CodeData] = {
        "rx": rx_data(rx.number),
        "pack": pack_data(fill.lot, fill.beyond_use),
    }
    codes.update(_leaflet_code(source.workspace, rx))
    documents = source.documents(_flowing(layout), rx)
    closing = source.closing(_flowing(layout), rx)
    loads = [
        PieceLoad(
            piece="",
            card=0,
            pharmacy=source.pharmacy,
            patient=source.patient,
            facts={
                voice.language: fill_facts(source.workspace, rx, fill, pack, voice)
                for voice in source.voices
            },
            values=source.raw_values(rx),
            record=_record(source, lot, fill.beyond_use, rx, pack),
            codes=codes,
            documents=documents,
            closing=closing,
        )
        for pack in fill.packs
    ]
    return _laid_out(loads, layout)


def leaflet_sheets(
    source: Source, rx: Prescription, fill: Fill, layout: Layout
) -> tuple[SheetLoad, ...]:
    """One leaflet for the patient of a fill."""
    lot = source.workspace.lot(fill.lot)
    load = PieceLoad(
        piece="",
        card=0,
        pharmacy=source.pharmacy,
        patient=source.patient,
        facts={
            voice.language: fill_facts(source.workspace, rx, fill, None, voice)
            for voice in source.voices
        },
        values=source.raw_values(rx),
        record=_record(source, lot, fill.beyond_use, rx, None),
        codes=_leaflet_code(source.workspace, rx),
        documents=source.documents(_flowing(layout), rx),
        closing=source.closing(_flowing(layout), rx),
    )
    return _laid_out([load], layout)


def pad_sheets(
    source: Source, layout: Layout, prescriber: Prescriber | None = None
) -> tuple[SheetLoad, ...]:
    """One sheet of pads for a preparation, all places alike: blank, or one prescriber's."""
    facts = {
        voice.language: preparation_facts(source.workspace, source.preparation, voice)
        | (prescriber_facts(prescriber, voice) if prescriber else {})
        for voice in source.voices
    }
    load = PieceLoad(
        piece="",
        card=0,
        pharmacy=source.pharmacy,
        patient=source.patient,
        facts=facts,
        values=source.raw_values(None),
        documents=source.documents(_flowing(layout), None),
        lists={"strengths": _strengths(source)},
    )
    return _laid_out([load] * len(layout.faces[0].pieces), layout)


def _strengths(source: Source) -> tuple[Said, ...]:
    """The strengths sold, in ascending order of their ingredients' amounts."""
    ordered = sorted(
        source.preparation.strengths, key=lambda s: [in_mg(amount) for amount in s.amounts]
    )
    return tuple(
        preparation_facts(source.workspace, source.preparation, source.pharmacy, s.label)[
            "strength"
        ]
        for s in ordered
    )


def _leaflet_code(workspace: Workspace, rx: Prescription) -> dict[str, CodeData]:
    address = workspace.pharmacy.leaflet_address
    if not address:
        return {}
    secrets = (rx.patient.name, rx.patient.born_on.isoformat(), rx.number)
    return {"leaflet": leaflet_data(address, secrets)}


def _flowing(layout: Layout) -> tuple[str, ...]:
    """The documents that the layout's areas hold."""
    return tuple(
        dict.fromkeys(
            field.arg
            for face in layout.faces
            for piece in face.pieces
            for area in piece.areas
            if area.kind is AreaKind.PANEL
            for field in area.fields
            if field.what.value == "flow"
        )
    )


def _laid_out(loads: list[PieceLoad], layout: Layout) -> tuple[SheetLoad, ...]:
    """The loads on the layout's places, sheet after sheet; a last sheet may be part-used."""
    spots = places(layout)
    return tuple(
        SheetLoad(
            tuple(
                _at(load, spot)
                for load, spot in zip(loads[start : start + len(spots)], spots, strict=False)
            )
        )
        for start in range(0, len(loads), len(spots))
    )


def _at(load: PieceLoad, spot: Piece) -> PieceLoad:
    return PieceLoad(**{**load.__dict__, "piece": spot.id, "card": spot.card})
