"""Prescriptions from a FHIR R4 bundle, as rows of the pharmacy's tables.

`MedicationRequest` with the `Patient`, `Practitioner` and `Medication` it refers to, the allergies
and other medicines of that patient, and the fills that this pharmacy itself dispensed. Every
element that couldn't be mapped is named, none is dropped unseen; a cell that the bundle
doesn't fill stays blank. It never assumes that a patient takes no medicines, that a fill is
whole, or that oral means on the tongue.

The elements are read one by one rather than through a library of FHIR models: such a model
accepts what it isn't asked about, and here what nobody asked about must be told.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from labelkit.records import dates, patient_rows
from labelkit.records.faultbook import Unreadable
from labelkit.records.fhir_bundle import REQUEST, Bundle, read_resources
from labelkit.records.fhir_dispensed import DISPENSE, dispensed_from, fill_cells
from labelkit.records.fhir_dosage import dosage_cells, plain, tablets, the_reason
from labelkit.records.fhir_elements import Resource
from labelkit.records.fhir_history import allergies, is_when_needed, medicine_row, statements
from labelkit.records.fhir_medication import Medicine, medicine, unmatched
from labelkit.records.fhir_people import patient_cells, prescriber_cells
from labelkit.records.fhir_terms import ORDER_INTENTS
from labelkit.records.fhir_told import Told, Weight
from labelkit.records.model import Pharmacy, Preparation
from labelkit.records.prescription_rows import COLUMNS, OPTIONAL
from labelkit.records.text import shown

OURS = ("dispensed_on", "quantity_this_fill", "quantity_remaining")
"""Columns that only the pharmacy can fill: no prescription holds them."""

Row = dict[str, str]


@dataclass(frozen=True, slots=True)
class Incoming:
    """One request to dispense (or one fill of it), with what is told of it."""

    source: str
    """The resource it came from."""
    row: Row
    """Of the prescriptions' table."""
    asked_for: str
    """What the medicine is called there."""
    told: tuple[Told, ...] = ()

    @property
    def blank(self) -> tuple[str, ...]:
        """Columns that must be filled and aren't."""
        return tuple(c for c, cell in self.row.items() if not cell and c not in OPTIONAL)


@dataclass(frozen=True, slots=True)
class Imported:
    """Rows for the tables, and all that couldn't be carried into them."""

    requests: tuple[Incoming, ...]
    patients: tuple[Row, ...]
    """Of the patients' table, each once."""
    medicines: tuple[Row, ...]
    """Of the medicines' table: what else the bundle says that these patients take."""
    told: tuple[Told, ...]
    """Everything that was told, what may harm first."""


def read_bundle(
    data: bytes, name: str, pharmacy: Pharmacy, preparations: Sequence[Preparation]
) -> Imported:
    """Rows for every request to dispense in the bundle, and what couldn't be mapped.

    Raises RecordsRefused when the file is no R4 bundle in JSON, or holds a modifier that
    labelkit doesn't understand.
    """
    return _Reading(read_resources(data, name), pharmacy, preparations).all()


class _Reading:
    """One bundle, being read for one pharmacy."""

    def __init__(
        self, bundle: Bundle, pharmacy: Pharmacy, preparations: Sequence[Preparation]
    ) -> None:
        self.bundle = bundle
        self.pharmacy = pharmacy
        self.preparations = preparations
        self.patients: dict[str, Row] = {}
        self.owners: dict[int, str] = {}
        """Id of each Patient resource that requests refer to."""
        self.medicines: list[Row] = []

    def all(self) -> Imported:
        """The whole of it."""
        requests = [r for r in self.bundle.resources if r.kind == REQUEST]
        orders = [r for r in requests if _is_order(r) or self._was_filled(r)]
        for request in requests:
            self._find_patient(request)
        incoming = [one for request in orders for one in self._order(request)]
        for request in requests:
            if request not in orders:
                self._other(request)
        self._history()
        self.bundle.tell_what_is_left()
        told = self.bundle.told
        return Imported(
            requests=tuple(replace(one, told=self._told_of(one)) for one in incoming),
            patients=tuple(self.patients.values()),
            medicines=tuple({tuple(row.items()): row for row in self.medicines}.values()),
            told=told,
        )

    def _told_of(self, one: Incoming) -> tuple[Told, ...]:
        """What is told of the request, and what may harm of all that isn't another patient's."""
        others = {r.key for r in self.bundle.resources if self._is_about_another(r, one)}
        return tuple(
            t
            for t in self.bundle.told
            if t.fault.where == one.source
            or (t.weight is Weight.SAFETY and t.fault.where not in others)
        )

    def _is_about_another(self, resource: Resource, one: Incoming) -> bool:
        """Whether a resource is another order, or names another patient."""
        if resource.kind == REQUEST and _is_order(resource):
            return resource.key != one.source
        for name in ("subject", "patient"):
            reference = resource.values.get(name)
            if isinstance(reference, dict):
                named = str(reference.get("reference", ""))
                found = self.bundle.find(resource, named, "Patient")
                return found is None or self.owners.get(id(found)) != one.row["patient"]
        return False

    def _was_filled(self, request: Resource) -> bool:
        """Whether it is an order that is complete because this pharmacy filled it."""
        values = request.values
        ordered = str(values.get("intent")) in ORDER_INTENTS
        complete = ordered and values.get("status") == "completed"
        return complete and bool(dispensed_from(self.bundle, request, self.pharmacy))

    def _find_patient(self, request: Resource) -> None:
        found = self.bundle.follow(request, request.child("subject"), "Patient")
        if found is None or id(found) in self.owners:
            return
        row = dict.fromkeys(patient_rows.COLUMNS, "")
        row |= patient_cells(found, self.pharmacy.languages)
        self.owners[id(found)] = row["id"]
        if row["id"]:
            self.patients.setdefault(row["id"], row)

    def _patient_of(self, request: Resource) -> str:
        reference = request.child("subject").text("reference")
        found = self.bundle.find(request, reference, "Patient")
        return "" if found is None else self.owners[id(found)]

    def _order(self, request: Resource) -> Iterator[Incoming]:
        """The rows of an order: one for each fill that was dispensed here, or the order alone."""
        for name in ("status", "intent"):
            request.text(name)
        if request.values.get("doNotPerform") is False:
            request.flag("doNotPerform")
        row = dict.fromkeys(COLUMNS, "")
        row["number"] = _number(request)
        row["written_on"] = _written_on(request)
        row["patient"] = self._patient_of(request)
        row |= prescriber_cells(self.bundle, request)
        asked = medicine(self.bundle, request, self.preparations)
        unmatched(self.bundle, request, asked)
        row |= asked.cells
        row |= self._supply(request)
        row |= {c: cell for c, cell in self._directions(request).items() if cell}
        if not asked.cells and asked.names and row["patient"]:
            self._takes(request, asked, row["patient"])
        fills = dispensed_from(self.bundle, request, self.pharmacy)
        for dispense in fills:
            reference = str(request.child("medicationReference").values.get("reference", ""))
            filled = row | fill_cells(self.bundle, dispense, request, reference)
            yield self._incoming(request, filled, asked)
        if fills and len(request.children("dosageInstruction")) == 1:
            # What stands on the label, in words that were made of these very cells.
            request.children("dosageInstruction")[0].text("text")
        if not fills:
            yield self._incoming(request, row, asked)

    def _incoming(self, request: Resource, row: Row, asked: Medicine) -> Incoming:
        one = Incoming(request.key, row, asked.written)
        for column in one.blank:
            ours = column in OURS
            wrong = "is the pharmacy's to say" if ours else "couldn't be taken from the bundle"
            self.bundle.tell(request, column, wrong, "fill it in", Weight.BLANK)
        return one

    def _directions(self, request: Resource) -> Row:
        def tell(path: str, wrong: str, mend: str) -> None:
            self.bundle.tell(request, path, wrong, mend)

        dosages = request.children("dosageInstruction")
        reasons = request.children("reasonCode")
        if len(dosages) == 1:
            return dosage_cells(dosages[0], reasons, tell)
        if len(dosages) > 1:
            wrong = "says how to take it in several parts, which one row can't hold"
            tell("dosageInstruction", wrong, "ask which one is meant, and fill it in")
        return {"reason": the_reason(reasons, tell)}

    def _supply(self, request: Resource) -> Row:
        supply = request.child("dispenseRequest")
        repeats = supply.number("numberOfRepeatsAllowed")
        before = request.child("priorPrescription")
        replaced = before.child("identifier").text("value")
        if before and (set(before.values) != {"identifier"} or not replaced):
            before.put_back()
            replaced = ""
        return {
            "quantity_prescribed": tablets(supply.child("quantity")),
            "refills_left": "" if repeats is None else plain(repeats),
            "replaces": replaced,
        }

    def _takes(self, request: Resource, asked: Medicine, patient: str) -> None:
        """What isn't for this pharmacy to make is a medicine that the patient may take."""
        needed = is_when_needed(request.children("dosageInstruction"))
        for dosage in request.children("dosageInstruction"):
            if dosage.untouched:
                dosage.put_back()
        self.medicines.append(medicine_row(patient, asked, needed=needed))

    def _other(self, request: Resource) -> None:
        """A request that isn't an order to dispense: told whole, and its medicine with it."""
        status, intent = request.text("status"), request.text("intent")
        asked = medicine(self.bundle, request, ())
        patient = self._patient_of(request)
        negative = bool(request.flag("doNotPerform"))
        self.bundle.closed.append(request)
        what = shown(asked.written or "no medicine by name", 300)
        known = {"status", "intent", "medicationCodeableConcept", "medicationReference", "subject"}
        more = sorted(set(request.values) - known - {"resourceType", "id", "meta", "text"})
        self.bundle.tell(
            request,
            "",
            f"isn't an order to dispense now ({what}; status {shown(status)}, intent "
            f"{shown(intent)}{', not to be given' if negative else ''}), so no row is made of it; "
            f"it also holds {', '.join(more) or 'nothing else'}",
            "ask the patient whether it is taken, and the prescriber if it was to be dispensed",
        )
        reported = request.values.get("reportedBoolean") is True
        taken = status == "active" and (reported or intent in ("plan", *ORDER_INTENTS))
        if taken and not negative and patient and asked.names:
            needed = is_when_needed(request.children("dosageInstruction"))
            self.medicines.append(medicine_row(patient, asked, needed=needed))

    def _history(self) -> None:
        for id_, names in allergies(self.bundle, self.owners).items():
            if id_ in self.patients:
                self.patients[id_]["allergies"] = "; ".join(dict.fromkeys(names))
        self.medicines += [one.row for one in statements(self.bundle, self.owners)]
        for resource in self.bundle.resources:
            if resource.kind == DISPENSE and resource.untouched:
                named = medicine(self.bundle, resource, ()).written
                resource.put_back()
                wrong = (
                    f"was dispensed elsewhere, or for no order of this bundle: {shown(named, 300)}"
                )
                mend = "ask the patient whether it is taken, and write it into medicines.csv"
                self.bundle.tell(resource, "", wrong, mend)
        for id_, row in self.patients.items():
            for column, cell in row.items():
                if not cell and column not in patient_rows.OPTIONAL:
                    self._tell_patient(id_, column)

    def _tell_patient(self, id_: str, column: str) -> None:
        for resource in self.bundle.resources:
            if self.owners.get(id(resource)) == id_:
                wrong = "couldn't be taken from the bundle"
                self.bundle.tell(resource, column, wrong, "fill it in", Weight.BLANK)


def _is_order(request: Resource) -> bool:
    values = request.values
    return (
        values.get("status") == "active"
        and str(values.get("intent")) in ORDER_INTENTS
        and not values.get("doNotPerform")
        and values.get("reportedBoolean") is not True
        and "reportedReference" not in values
    )


def _number(request: Resource) -> str:
    identifiers = request.children("identifier")
    if len(identifiers) != 1:
        return ""
    identifiers[0].text("use")
    identifiers[0].text("system")
    return identifiers[0].text("value")


def _written_on(request: Resource) -> str:
    """The day of `authoredOn`, as its own offset has it."""
    written = request.values.get("authoredOn")
    try:
        day = dates.day(str(written)[:10]).isoformat()
    except Unreadable:
        return ""
    request.text("authoredOn")
    return day
