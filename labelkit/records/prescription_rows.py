"""Reads the rows of ``prescriptions.csv`` or ``prescriptions.json``: one fill each.

Checks form, counts and the order of days within the row. Who the patient is, other rows say;
whether the dose is allowed for this patient is the rules' business.
"""

from collections.abc import Iterable, Mapping
from datetime import date

from labelkit.records.fields import Fields
from labelkit.records.model import (
    ClosureRequest,
    Directions,
    Patient,
    Prescriber,
    Prescription,
    Route,
)
from labelkit.records.pharmacy_file import telephone
from labelkit.records.text import SHORT

COLUMNS = (
    "number",
    "fill",
    "written_on",
    "dispensed_on",
    "patient",
    "prescriber_name",
    "prescriber_registration",
    "prescriber_telephone",
    "preparation",
    "strength",
    "quantity_prescribed",
    "quantity_this_fill",
    "quantity_remaining",
    "refills_left",
    "tablets_per_dose",
    "route",
    "when",
    "reason",
    "least_interval_h",
    "most_in_24_h",
    "renews",
    "replaces",
    "closed_on",
    "handed_over_on",
    "lot",
    "lidding",
    "closure_requested_by",
    "closure_requested_on",
)
OPTIONAL = (
    "fill",
    "renews",
    "replaces",
    "closed_on",
    "handed_over_on",
    "lot",
    "lidding",
    "closure_requested_by",
    "closure_requested_on",
)
LIDDINGS = ("stock", "patient")
REQUESTERS = ("patient", "prescriber")
MOST_REFILLS = 99
_NO_DAY = date(1, 1, 1)


def stands_in(rows: Iterable[Mapping[str, str]], row: Mapping[str, str]) -> bool:
    """Whether a prescription is among the rows: this fill of it, or any where it names no fill."""
    fill = row["fill"]
    same = (one for one in rows if one["number"] == row["number"])
    return bool(row["number"]) and any(not fill or (one.get("fill") or "1") == fill for one in same)


def read_prescription(fields: Fields, patients: Mapping[str, Patient]) -> Prescription | None:
    """The prescription, or None when its row has faults.

    A patient that isn't among `patients` is a stand-in: whether there is such an entry, the
    references say.
    """
    id_ = fields.patient_id("patient")
    rx = Prescription(
        number=fields.prescription_number("number"),
        fill=1 if fields.blank("fill") else fields.whole("fill", 1, MOST_REFILLS + 1),
        written_on=fields.day("written_on"),
        dispensed_on=fields.day("dispensed_on"),
        patient=patients.get(id_) or Patient(id=id_, name="", born_on=_NO_DAY, language=""),
        prescriber=Prescriber(
            name=fields.text("prescriber_name"),
            registration=fields.text("prescriber_registration", SHORT),
            telephone=fields.parsed("prescriber_telephone", "", telephone),
        ),
        preparation=fields.text("preparation"),
        strength=fields.strength("strength"),
        quantity_prescribed=fields.whole("quantity_prescribed", 1),
        quantity_this_fill=fields.whole("quantity_this_fill", 1),
        quantity_remaining=fields.whole("quantity_remaining"),
        refills_left=fields.whole("refills_left", 0, MOST_REFILLS),
        directions=_directions(fields),
        lot=None if fields.blank("lot") else fields.lot_number("lot"),
        lidding="stock" if fields.blank("lidding") else fields.choice("lidding", LIDDINGS),
        closure_request=_closure_request(fields),
        renews=fields.maybe_prescription_number("renews"),
        replaces=fields.maybe_prescription_number("replaces"),
        closed_on=fields.maybe_day("closed_on"),
        handed_over_on=fields.maybe_day("handed_over_on"),
    )
    if fields.sound:
        _check(fields, rx)
    return rx if fields.sound else None


def _directions(fields: Fields) -> Directions:
    return Directions(
        tablets_per_dose=fields.positive("tablets_per_dose"),
        route=Route(fields.choice("route", [r.value for r in Route])),
        when=fields.slug("when"),
        reason=fields.slug("reason"),
        least_interval_h=fields.positive("least_interval_h"),
        most_in_24_h=fields.positive("most_in_24_h"),
    )


def _closure_request(fields: Fields) -> ClosureRequest | None:
    if fields.blank("closure_requested_by") and fields.blank("closure_requested_on"):
        return None
    return ClosureRequest(
        by=fields.choice("closure_requested_by", REQUESTERS),
        on=fields.day("closure_requested_on"),
    )


def _check(fields: Fields, rx: Prescription) -> None:
    requested = rx.closure_request.on if rx.closure_request else None
    for name, value in (("written_on", rx.written_on), ("closure_requested_on", requested)):
        if value is not None and value > rx.dispensed_on:
            fields.fault(
                name,
                f"{value} is later than the day of dispensing, {rx.dispensed_on}",
                "correct the one that is wrong",
            )
    if rx.handed_over_on is not None and rx.handed_over_on < rx.dispensed_on:
        fields.fault(
            "handed_over_on",
            f"{rx.handed_over_on} is before the day of dispensing, {rx.dispensed_on}",
            "correct the one that is wrong",
        )
    if rx.closed_on is not None and rx.closed_on < rx.written_on:
        fields.fault(
            "closed_on",
            f"{rx.closed_on} is before the day of writing, {rx.written_on}",
            "correct the one that is wrong",
        )
    if rx.quantity_this_fill + rx.quantity_remaining > rx.quantity_prescribed:
        fields.fault(
            "quantity_this_fill",
            f"{rx.quantity_this_fill} now and {rx.quantity_remaining} remaining are more than the "
            f"{rx.quantity_prescribed} prescribed",
            "correct the quantities",
        )
