"""From fills and preparations to loads: sleeves, leaflets and prescriber pads."""

from collections.abc import Mapping
from dataclasses import replace

from labelkit.barcodes.data import leaflet_data, pack_data, rx_data
from labelkit.barcodes.model import CodeData
from labelkit.geometry.model import AreaKind, Layout
from labelkit.manifest.loads import PieceLoad, SheetLoad, TickList
from labelkit.manifest.source import Source, laid_out, record
from labelkit.records.model import (
    Preparation,
    Prescriber,
    Prescription,
    Workspace,
)
from labelkit.rules.cautions import cautions_for
from labelkit.rules.model import Fill, Pack
from labelkit.rules.products import products
from labelkit.wording.documents import compose
from labelkit.wording.facts import (
    fill_facts,
    preparation_facts,
    prescriber_facts,
    product_facts,
    tablet_limits,
    values,
)
from labelkit.wording.model import Said, Voice


def sleeve_sheets(
    source: Source, rx: Prescription, fill: Fill, layout: Layout
) -> tuple[SheetLoad, ...]:
    """One sleeve for each pack of a fill, as many up as the layout has."""
    codes = {"rx": rx_data(rx.number), "pack": pack_data(fill.lot, fill.beyond_use)}
    whole = _for_patient(source, rx, fill, layout, codes)
    lot = source.workspace.lot(fill.lot)
    loads = [
        replace(
            whole,
            facts=_fill_facts(source, rx, fill, pack),
            record=record(source, lot, fill.beyond_use, rx, pack),
        )
        for pack in fill.packs
    ]
    return laid_out(loads, layout)


def leaflet_sheets(
    source: Source, rx: Prescription, fill: Fill, layout: Layout
) -> tuple[SheetLoad, ...]:
    """One leaflet for the patient of a fill."""
    return laid_out([_for_patient(source, rx, fill, layout, {})], layout)


def _for_patient(
    source: Source, rx: Prescription, fill: Fill, layout: Layout, codes: Mapping[str, CodeData]
) -> PieceLoad:
    """What the papers of one fill share, of no pack in particular and not yet on a sheet."""
    names = _flowing(layout)
    lot = source.workspace.lot(fill.lot)
    return PieceLoad(
        piece="",
        card=0,
        pharmacy=source.pharmacy,
        patient=source.patient,
        facts=_fill_facts(source, rx, fill, None),
        values=source.raw_values(rx),
        record=record(source, lot, fill.beyond_use, rx, None),
        codes={**codes, **_leaflet_code(source.workspace, rx)},
        documents=source.documents(names, rx),
        closing=source.closing(names, rx),
    )


def _fill_facts(
    source: Source, rx: Prescription, fill: Fill, pack: Pack | None
) -> dict[str, dict[str, Said]]:
    return {
        voice.language: fill_facts(source.workspace, rx, fill, pack, voice)
        for voice in source.voices
    }


def pad_sheets(
    workspace: Workspace,
    preparation: Preparation,
    voice: Voice,
    layout: Layout,
    prescriber: Prescriber | None = None,
) -> tuple[SheetLoad, ...]:
    """One sheet of pads for a preparation, all places alike: blank, or one prescriber's.

    It speaks of every strength, so what it says of tablets stands in rows of one strength.
    """
    facts = preparation_facts(workspace, preparation, voice)
    cautions = cautions_for(preparation, workspace)
    load = PieceLoad(
        piece="",
        card=0,
        pharmacy=voice,
        patient=voice,
        facts={voice.language: facts | (prescriber_facts(prescriber, voice) if prescriber else {})},
        values=values(workspace, preparation),
        documents={
            name: {voice.language: compose(name, workspace, preparation, cautions, None, voice)}
            for name in _flowing(layout)
        },
        lists={"strengths": _strengths(workspace, preparation, voice)},
    )
    return laid_out([load] * len(layout.faces[0].pieces), layout)


def _strengths(workspace: Workspace, preparation: Preparation, voice: Voice) -> TickList:
    """The strengths sold, in ascending order, each with its own limits in tablets and amount."""
    heads = ("pad.tick-strength", "limit.column.single-dose", "limit.column.in-24-h")
    return TickList(
        heads=tuple(voice.say(head) for head in heads),
        rows=tuple(
            (
                product_facts(workspace, product, voice)["strength"],
                *tablet_limits(workspace, product, None, voice).values(),
            )
            for product in products(preparation)
        ),
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
