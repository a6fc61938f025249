"""What each kind of file holds: the rules' decisions, laid on a layout's sheets."""

from collections.abc import Mapping
from dataclasses import dataclass

from labelkit.artwork.pad_text import pad_text
from labelkit.geometry.model import Layout
from labelkit.jobs.desk import Desk
from labelkit.manifest.loading import leaflet_sheets, lidding_sheets, pad_sheets, sleeve_sheets
from labelkit.manifest.loads import SheetLoad
from labelkit.records.model import Lot, Prescription
from labelkit.rules.beyond_use import beyond_use_of
from labelkit.rules.model import Fill, Requirement
from labelkit.rules.packing import card_kind, plan_cards
from labelkit.rules.particulars import required
from labelkit.wording.text_edition import as_text

Fills = Mapping[str, tuple[Prescription, Fill]]
"""Prescription number → prescription and its fill, for all that the rules let pass."""


@dataclass(frozen=True)
class Contents:
    """Sheets on a layout, and what must be found on them."""

    layout: Layout
    sheets: tuple[SheetLoad, ...]
    requirements: tuple[Requirement, ...]
    records: tuple[str, ...]
    secrets: tuple[str, ...] = ()
    """What the file's metadata must not hold."""
    text: str = ""
    """Text edition (``.txt``), empty where the artwork has none."""


def stock_lidding(desk: Desk, lot: Lot, fills: Fills) -> Contents:
    """Stock lids of a lot: a piece for each pack that is due, and what is left on whole cards.

    Where the call is for this lot alone (`fills` empty), all usable tablets go on whole cards.
    """
    layout = desk.layout("lidding")
    kind = card_kind(layout)
    due = [one for _, one in fills.values() if one.lot == lot.number]
    stock = [one for one in due if fills[one.rx][0].lidding == "stock"]
    owners = {
        number: f"{rx.patient.name} {rx.patient.born_on.isoformat()}"
        for number, (rx, _) in fills.items()
    }
    taken = sum(pack.tablets for one in due for pack in one.packs)
    left = lot.model_copy(update={"retained": lot.retained + taken})
    cards = (*plan_cards(stock, [kind], owners), *plan_cards(left, [kind]))
    source = desk.source(lot.preparation, lot.strength)
    return Contents(
        layout=layout,
        sheets=lidding_sheets(
            source,
            lot,
            beyond_use_of(desk.workspace, lot),
            cards,
            layout,
            desk.wish.first_serial,
        ),
        requirements=required(desk.workspace, "lidding", source.preparation, None),
        records=(f"lot {lot.number}",),
    )


def patient_lidding(desk: Desk, rx: Prescription, one: Fill) -> Contents:
    """Lids for one fill, the patient and the prescription number in each header band."""
    layout = desk.layout("lidding")
    source = desk.source(rx.preparation, rx.strength, rx.patient.language)
    sheets = lidding_sheets(
        source,
        desk.workspace.lot(one.lot),
        one.beyond_use,
        plan_cards([one], [card_kind(layout)]),
        layout,
        desk.wish.first_serial,
        {rx.number: (rx, one)},
    )
    return _for_patient(desk, "lidding", rx, one, sheets)


def sleeve(desk: Desk, rx: Prescription, one: Fill) -> Contents:
    """A sleeve for each pack of one fill."""
    source = desk.source(rx.preparation, rx.strength, rx.patient.language)
    sheets = sleeve_sheets(source, rx, one, desk.layout("sleeve"))
    return _for_patient(desk, "sleeve", rx, one, sheets)


def leaflet(desk: Desk, rx: Prescription, one: Fill) -> Contents:
    """The leaflet of one fill, with its text edition."""
    source = desk.source(rx.preparation, rx.strength, rx.patient.language)
    sheets = leaflet_sheets(source, rx, one, desk.layout("leaflet"))
    document = sheets[0].pieces[0].documents["leaflet"][source.patient.language]
    return _for_patient(desk, "leaflet", rx, one, sheets, as_text(document))


def _for_patient(
    desk: Desk,
    artwork: str,
    rx: Prescription,
    one: Fill,
    sheets: tuple[SheetLoad, ...],
    text: str = "",
) -> Contents:
    preparation = desk.workspace.preparation(rx.preparation)
    return Contents(
        layout=desk.layout(artwork),
        sheets=sheets,
        requirements=required(desk.workspace, artwork, preparation, rx),
        records=(f"prescription {rx.number}", f"lot {one.lot}"),
        secrets=(rx.patient.name, rx.patient.born_on.isoformat(), rx.number),
        text=text,
    )


def pad(desk: Desk, preparation_id: str) -> Contents:
    """A sheet of prescriber pads for a preparation, with its text edition."""
    preparation = desk.workspace.preparation(preparation_id)
    layout = desk.layout("pad")
    source = desk.source(preparation.id, preparation.strengths[0].label)
    sheets = pad_sheets(source, layout)
    return Contents(
        layout=layout,
        sheets=sheets,
        requirements=required(desk.workspace, "pad", preparation, None),
        records=(f"preparation {preparation.id}",),
        text=pad_text(layout, sheets[0].pieces[0]),
    )
