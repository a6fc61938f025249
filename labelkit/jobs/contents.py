"""What each kind of file holds: the rules' decisions, laid on a layout's sheets."""

from collections.abc import Callable
from dataclasses import dataclass

from labelkit.artwork.mirroring import mirrored
from labelkit.artwork.pad_text import pad_text
from labelkit.artwork.shortening import shortened
from labelkit.geometry.model import Layout
from labelkit.jobs import desk
from labelkit.jobs.order import Order
from labelkit.manifest.lids import lidding_sheets
from labelkit.manifest.loads import SheetLoad
from labelkit.manifest.papers import leaflet_sheets, pad_sheets, sleeve_sheets
from labelkit.manifest.source import Source
from labelkit.records.model import Prescription
from labelkit.rules.beyond_use import beyond_use_of
from labelkit.rules.model import Fill, Requirement
from labelkit.rules.particulars import required
from labelkit.wording.catalogs import SOURCE_LANGUAGE, base_of
from labelkit.wording.reading_grade import reading_grade
from labelkit.wording.text_edition import as_text

SIDES = 2
"""Sides of a sheet: a layout with more is for as many sheets as the text needs."""


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
    reading_grade: float | None = None
    """Of an English leaflet's advice; no other language is measured, and no label."""


def contents(order: Order) -> Contents:
    """What an order's file holds. Raises Refused: a rule, a language or a layout says no."""
    if order.fill is None:
        return {"lidding": _stock_lidding, "pad": _pad}[order.artwork](order)
    (rx,) = order.workspace.prescriptions
    makers: dict[str, Callable[[Order, Source, Prescription, Fill], _Sheets]] = {
        "lidding": _patient_lidding,
        "sleeve": _sleeve,
        "leaflet": _leaflet,
    }
    source = desk.source(order.workspace, rx.preparation, rx.strength, rx.patient.language)
    made = makers[order.artwork](order, source, rx, order.fill)
    layout, sheets = order.layout, made.sheets
    layout = mirrored(layout) if source.patient.rtl else layout
    if len(layout.faces) > SIDES:
        layout, sheets = shortened(layout, sheets)
    return Contents(
        layout=layout,
        sheets=sheets,
        requirements=required(order.workspace, order.artwork, source.preparation, rx),
        records=(f"prescription {rx.number}", f"lot {order.fill.lot}"),
        secrets=(rx.patient.name, rx.patient.born_on.isoformat(), rx.number),
        text=made.text,
        reading_grade=made.reading_grade,
    )


@dataclass(frozen=True)
class _Sheets:
    sheets: tuple[SheetLoad, ...]
    text: str = ""
    reading_grade: float | None = None


def _stock_lidding(order: Order) -> Contents:
    (lot,) = order.workspace.lots
    layout = order.layout
    source = desk.source(order.workspace, lot.preparation, lot.strength)
    beyond_use = beyond_use_of(order.workspace, lot)
    return Contents(
        layout=mirrored(layout) if source.patient.rtl else layout,
        sheets=lidding_sheets(
            source,
            lot,
            beyond_use,
            order.cards,
            layout,
            order.first_serial,
            start_at=order.start_at,
        ),
        requirements=required(order.workspace, "lidding", source.preparation, None),
        records=(f"lot {lot.number}",),
    )


def _patient_lidding(order: Order, source: Source, rx: Prescription, fill: Fill) -> _Sheets:
    return _Sheets(
        lidding_sheets(
            source,
            order.workspace.lot(fill.lot),
            fill.beyond_use,
            order.cards,
            order.layout,
            order.first_serial,
            {rx.number: (rx, fill)},
            order.start_at,
        )
    )


def _sleeve(order: Order, source: Source, rx: Prescription, fill: Fill) -> _Sheets:
    return _Sheets(sleeve_sheets(source, rx, fill, order.layout))


def _leaflet(order: Order, source: Source, rx: Prescription, fill: Fill) -> _Sheets:
    sheets = leaflet_sheets(source, rx, fill, order.layout)
    load = sheets[0].pieces[0]
    document = load.documents["leaflet"][source.patient.language]
    grade = None
    if base_of(document.language) == SOURCE_LANGUAGE:
        drug = load.facts[document.language]["drug"].text
        grade = reading_grade(
            document, desk.voice(order.workspace, document.language).statements, drug
        )
    said = [document, *load.closing.values()]
    return _Sheets(sheets, "\n".join(as_text(one) for one in said), grade)


def _pad(order: Order) -> Contents:
    (preparation,) = order.workspace.preparations
    layout = order.layout
    voice = desk.voice(order.workspace, order.workspace.pharmacy.language)
    one = pad_sheets(order.workspace, preparation, voice, layout, order.prescriber)
    sheets = one * order.copies
    return Contents(
        layout=layout,
        sheets=sheets,
        requirements=required(order.workspace, "pad", preparation, None),
        records=(f"preparation {preparation.id}",),
        text=pad_text(layout, sheets[0].pieces[0]),
    )
