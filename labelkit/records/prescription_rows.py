"""Reads the rows of ``prescriptions.csv`` or ``prescriptions.json``: one fill each.

Checks form, counts and the order of days. Blank medicines mean that nobody asked, never
'none'. Whether the dose is allowed for this patient is the rules' business.
"""

from datetime import date, timedelta

from labelkit.records.faultbook import Unreadable
from labelkit.records.fields import Fields
from labelkit.records.model import (
    ClosureRequest,
    Directions,
    Medicines,
    Patient,
    Prescriber,
    Prescription,
    Route,
)
from labelkit.records.pharmacy_file import language_tag, telephone
from labelkit.records.text import NAME, SHORT, clean

COLUMNS = (
    "number",
    "written_on",
    "dispensed_on",
    "patient_name",
    "patient_born_on",
    "patient_language",
    "patient_medicines",
    "patient_medicines_asked_on",
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
    "lot",
    "lidding",
    "closure_requested_by",
    "closure_requested_on",
)
OPTIONAL = ("lot", "lidding", "closure_requested_by", "closure_requested_on")
NONE = "none"
"""The word that says: asked, and there are none."""
LIDDINGS = ("stock", "patient")
REQUESTERS = ("patient", "prescriber")
MOST_REFILLS = 99
OLDEST = timedelta(days=366 * 125)
"""No patient is taken to be older. Our own bound, above the oldest age on record."""


def read_prescription(fields: Fields) -> Prescription | None:
    """The prescription, or None when its row has faults."""
    rx = Prescription(
        number=fields.prescription_number("number"),
        written_on=fields.day("written_on"),
        dispensed_on=fields.day("dispensed_on"),
        patient=Patient(
            name=fields.text("patient_name"),
            born_on=fields.day("patient_born_on"),
            language=fields.parsed("patient_language", "", language_tag),
            medicines=_medicines(fields),
        ),
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
    )
    if fields.sound:
        _check(fields, rx)
    return rx if fields.sound else None


def medicine_names(text: str) -> tuple[str, ...]:
    """Names between ``;`` or ``|`` or line breaks; the one word ``none`` is an empty tuple.

    Raises Unreadable.
    """
    for mark in ("|", "\r", "\n"):
        text = text.replace(mark, ";")
    names = tuple(clean(part, NAME) for part in text.split(";") if part.strip())
    if not names:
        raise Unreadable("names no medicine", f"write the names, or the word '{NONE}'")
    if len(names) == 1 and names[0].casefold() == NONE:
        return ()
    if any(name.casefold() == NONE for name in names):
        raise Unreadable(f"says '{NONE}' beside a medicine", "leave the one that is true")
    return names


def _medicines(fields: Fields) -> Medicines | None:
    asked = "patient_medicines_asked_on"
    if fields.blank("patient_medicines"):
        if not fields.blank(asked):
            fields.fault(
                "patient_medicines",
                "is empty although a date says that the patient was asked",
                f"write the medicines, or the word '{NONE}'; or take the date out",
            )
        return None
    return Medicines(
        names=fields.parsed("patient_medicines", (), medicine_names), asked_on=fields.day(asked)
    )


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
    days: list[tuple[str, date | None]] = [
        ("written_on", rx.written_on),
        (
            "patient_medicines_asked_on",
            rx.patient.medicines.asked_on if rx.patient.medicines else None,
        ),
        ("closure_requested_on", rx.closure_request.on if rx.closure_request else None),
    ]
    for name, value in days:
        if value is None:
            continue
        if value > rx.dispensed_on:
            fields.fault(
                name,
                f"{value} is later than the day of dispensing, {rx.dispensed_on}",
                "correct the one that is wrong",
            )
        if value < rx.patient.born_on:
            fields.fault(
                name,
                f"{value} is earlier than the patient's birth, {rx.patient.born_on}",
                "correct the one that is wrong",
            )
    if rx.dispensed_on - rx.patient.born_on > OLDEST:
        fields.fault(
            "patient_born_on", f"{rx.patient.born_on} is too long ago", "check the year of birth"
        )
    if rx.quantity_this_fill + rx.quantity_remaining > rx.quantity_prescribed:
        fields.fault(
            "quantity_this_fill",
            f"{rx.quantity_this_fill} now and {rx.quantity_remaining} remaining are more than the "
            f"{rx.quantity_prescribed} prescribed",
            "correct the quantities",
        )
