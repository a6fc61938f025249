"""One product with its speakers, and how loads are laid on a layout's places."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from labelkit.geometry.model import Layout, Piece
from labelkit.manifest.loads import PieceLoad, SheetLoad
from labelkit.records.model import (
    Lot,
    Preparation,
    Prescription,
    Workspace,
)
from labelkit.rules.cautions import cautions_for
from labelkit.rules.model import Pack
from labelkit.rules.products import Product
from labelkit.wording.definitions import definition
from labelkit.wording.documents import compose
from labelkit.wording.facts import drug_name, product_values
from labelkit.wording.model import Document, Voice


@dataclass(frozen=True, slots=True)
class Source:
    """One product, and who speaks for it."""

    workspace: Workspace
    product: Product
    pharmacy: Voice
    patient: Voice

    @property
    def voices(self) -> tuple[Voice, ...]:
        """The patient's voice and the pharmacy's, each language once."""
        by_language = {voice.language: voice for voice in (self.patient, self.pharmacy)}
        return tuple(by_language.values())

    @property
    def preparation(self) -> Preparation:
        """What the product is a strength of."""
        return self.product.preparation

    @property
    def gtin(self) -> str | None:
        """The strength's GTIN, where the pharmacy has one."""
        return self.product.strength.gtin

    def raw_values(self, rx: Prescription | None) -> dict[str, object]:
        """Values for statements' placeholders."""
        return product_values(self.workspace, self.product, rx)

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
        cautions = cautions_for(self.preparation, self.workspace, rx)
        return compose(name, self.workspace, self.product, cautions, rx, voice)


def places(layout: Layout) -> tuple[Piece, ...]:
    """The pieces of one sheet in the order in which they are used: card by card."""
    return tuple(sorted(layout.faces[0].pieces, key=lambda p: p.card))


def record(
    source: Source,
    lot: Lot,
    beyond_use: date,
    rx: Prescription | None,
    pack: Pack | None,
) -> dict[str, str]:
    record = {
        "lot": lot.number,
        "beyond_use": beyond_use.isoformat(),
        "strength": source.product.label,
        "drug": drug_name(source.preparation, label=True),
    }
    if rx is not None:
        record["rx_number"] = rx.number
    if pack is not None:
        record["tablets_in_pack"] = str(pack.tablets)
    return record


def laid_out(loads: list[PieceLoad], layout: Layout) -> tuple[SheetLoad, ...]:
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
