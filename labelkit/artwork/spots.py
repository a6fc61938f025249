"""A field's spot: where on which sheet it stands, and for whom it speaks.

Every item's origin and every refusal's place come from here, so that all kinds of field
answer the question "why is this here, and where" in one way.
"""

from dataclasses import dataclass

from labelkit.artwork.page import Origin
from labelkit.geometry.model import Area, Face, Field, Kind, Layout, Piece
from labelkit.ground.box import Box
from labelkit.ground.errors import Fault
from labelkit.ground.quoting import whole
from labelkit.manifest.loads import CellLoad, PieceLoad
from labelkit.wording.model import Said, Voice


@dataclass(frozen=True, slots=True)
class Spot:
    """One field of one area of one piece, with what the piece carries."""

    layout: Layout
    face: Face
    piece: Piece
    area: Area
    field: Field
    load: PieceLoad
    cell: CellLoad | None = None
    """For a cell's fields: the tablet under it."""

    @property
    def box(self) -> Box:
        """The field's box."""
        return self.field.box

    @property
    def voices(self) -> tuple[Voice, ...]:
        """Who speaks in the field: the patient's language first, each language once."""
        pharmacy, patient = self.load.pharmacy, self.load.patient
        if self.field.language == "pharmacy":
            return (pharmacy,)
        if self.field.language == "patient" or patient.language == pharmacy.language:
            return (patient,)
        return (patient, pharmacy)

    @property
    def reader(self) -> Voice:
        """Who the whole piece is made for: the patient on sleeves and leaflets, whatever
        language a single field speaks; else who speaks first in the field."""
        for_patient = self.layout.kind in (Kind.SLEEVE, Kind.LEAFLET)
        return self.load.patient if for_patient else self.voices[0]

    @property
    def rtl(self) -> bool:
        """Whether the piece is read from right to left."""
        return self.reader.rtl

    def facts(self, language: str) -> dict[str, Said]:
        """The piece's facts in that language, with the cell's own serial where it has one."""
        facts = dict(self.load.facts[language])
        if self.cell is not None and self.cell.serial and "lot" in facts:
            serial = self.cell.serial
            state = facts["lot"].state
            facts["serial"] = Said(serial, language, "fact:serial", state, (serial,), whole(serial))
        return facts

    def origin(self, source: str, language: str = "") -> Origin:
        """The origin of an item of this field."""
        return Origin(source, language, self.piece.id, self.area.id, self.field.id)

    def fault(self, wrong: str, mend: str, rule: str = "", source: str = "") -> Fault:
        """A fault of this field: the layout's file, the place on it, the field."""
        where = f"{self.face.id}, piece {self.piece.id}, {self.area.kind.value} {self.area.id}"
        return Fault(self.layout.file, where, self.field.id, wrong, mend, rule, source)

    def relocated(self, fault: Fault) -> Fault:
        """A fault of a lower floor, which doesn't know the field, as a fault of this field."""
        about = ", ".join(part for part in (fault.file, fault.where, fault.field) if part)
        return self.fault(f"{about}: {fault.wrong}", fault.mend, fault.rule, fault.source)
