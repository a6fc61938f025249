"""What each piece of each sheet carries, before anything is drawn.

The manifest and the artwork both start from these: the manifest says what must be
found, the artwork draws it, and the checker compares the two on the finished file.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from labelkit.barcodes.model import CodeData
from labelkit.geometry.expressions import names_in
from labelkit.geometry.model import Field, What
from labelkit.wording.model import Document, Said, Voice


@dataclass(frozen=True)
class CellLoad:
    """One cell: a tablet with its codes, or an empty cavity."""

    number: int
    used: bool
    serial: str = ""
    codes: Mapping[str, CodeData] = field(default_factory=dict)
    """By the name a layout field gives (``cell``)."""


@dataclass(frozen=True)
class TickList:
    """Rows with a box to tick, under heads that say what their columns are."""

    heads: tuple[Said, ...]
    rows: tuple[tuple[Said, ...], ...]

    def __post_init__(self) -> None:
        if any(len(row) != len(self.heads) for row in self.rows):
            raise ValueError("a row has another number of columns than the heads")

    @property
    def said(self) -> tuple[Said, ...]:
        """Everything it says, in reading order."""
        return (*self.heads, *(cell for row in self.rows for cell in row))


@dataclass(frozen=True)
class PieceLoad:
    """One piece: what is said on it, in the pharmacy's language and the patient's."""

    piece: str
    """Id of the layout's piece."""
    card: int
    """Card of the sheet."""
    pharmacy: Voice
    patient: Voice
    """The same as `pharmacy` on stock lidding and pads."""
    facts: Mapping[str, Mapping[str, Said]]
    """Language → fact name → said. Holds both voices' languages. A fact that doesn't apply
    (the patient on stock lidding) is absent, and a field that names only absent facts is
    left out."""
    values: Mapping[str, object]
    """Raw values for statements' placeholders (``most_in_24_h``, ``single_dose_tablets``, …)."""
    record: Mapping[str, str] = field(default_factory=dict)
    """Plain record values that the checker parses back out of the print: ``lot``,
    ``beyond_use`` (ISO), ``strength``, ``drug``, ``rx_number``, ``tablets_in_pack``."""
    codes: Mapping[str, CodeData] = field(default_factory=dict)
    """Codes of the piece as a whole (``pack``, ``rx``, ``leaflet``)."""
    cells: tuple[CellLoad, ...] = ()
    documents: Mapping[str, Mapping[str, Document]] = field(default_factory=dict)
    """Document id → language → document."""
    closing: Mapping[str, Document] = field(default_factory=dict)
    """Document id → what follows it in the pharmacy's language, where the patient reads another."""
    lists: Mapping[str, TickList] = field(default_factory=dict)
    """For tick boxes, by the name a layout field gives."""

    def prints(self, field: Field) -> bool:
        """Whether a field applies here: one that goes with a fact or a code that this piece
        doesn't have is left out (the label of a prescription number on stock lidding)."""
        name = field.only_with
        return not name or name in self.codes or any(name in f for f in self.facts.values())

    def said_key(self, field: Field) -> tuple[int, ...]:
        """What a field that isn't a code says here: equal keys, equal words.

        Made of identities, since the pieces of a lot share their facts; so it holds only
        among fields and loads that are all alive.
        """
        key: tuple[int, ...] = (id(field), id(self.pharmacy), id(self.patient), id(self.values))
        if field.what is What.VALUE:
            names = names_in(field.arg)
            said = [id(facts.get(name)) for facts in self.facts.values() for name in names]
            return (*key, *said)
        if field.what is What.TICKS:
            key = (*key, id(self.lists))
        return (*key, self.prints(field))


@dataclass(frozen=True)
class SheetLoad:
    """One sheet: a load for each piece of the layout's front face that is used."""

    pieces: tuple[PieceLoad, ...]
    taken: int = 0
    """Cards 1 to this one were taken off the sheet before: nothing is printed there."""

    def of(self, piece: str, card: int) -> PieceLoad | None:
        """The load of that piece of that card; None where the sheet's place is unused."""
        for load in self.pieces:
            if load.piece == piece and load.card == card:
                return load
        return None
