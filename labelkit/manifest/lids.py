"""From planned cards to loads: what each piece and each cell of lidding will carry."""

from collections.abc import Iterator, Mapping
from datetime import date

from labelkit.barcodes.data import cell_data
from labelkit.geometry.model import Layout
from labelkit.ground.quoting import whole
from labelkit.manifest.loads import CellLoad, PieceLoad, SheetLoad
from labelkit.manifest.source import Source, places, record
from labelkit.records.model import (
    Lot,
    Prescription,
)
from labelkit.rules.model import Fill, Pack, PlannedCard
from labelkit.wording.facts import (
    fill_facts,
    lot_facts,
)
from labelkit.wording.model import ReviewState, Said


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
                    record=record(source, lot, beyond_use, rx, pack if rx else None),
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
            "code_text": Said(
                text, language, "fact:code_text", ReviewState.ACCEPTED, quoted=whole(text)
            ),
        }
        for language, said in facts.items()
    }
