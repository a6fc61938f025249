"""Where in the workspace a fault of a rule lies, said as a person would look for it."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from labelkit.ground.errors import Fault
from labelkit.records.model import Lot, Patient, Preparation, Prescription, Workspace


@dataclass(frozen=True, slots=True)
class At:
    """A record: its file, its place in it, and the key by which decisions name it."""

    file: str
    where: str
    record: str

    def fault(
        self, field: str, wrong: str, mend: str, rule: str, source: str, about: str = ""
    ) -> Fault:
        """A fault of this record, by a rule with its source."""
        return Fault(self.file, self.where, field, wrong, mend, rule, source, about)


def of_preparation(preparation: Preparation) -> At:
    """The preparation's own file."""
    return At(f"preparations/{preparation.id}.toml", "", preparation.id)


def of_lot(lot: Lot) -> At:
    """The lot's row."""
    return At("lots", f"lot {lot.number}", lot.number)


def of_prescription(rx: Prescription) -> At:
    """The prescription's row."""
    return At("prescriptions", f"prescription {rx.number}", rx.number)


def of_patient(patient: Patient) -> At:
    """The patient's row."""
    return At("patients", f"patient {patient.id}", patient.id)


def of_medicines(rx: Prescription) -> At:
    """The rows of the patient's medicines; decisions name the prescription they are about."""
    return At("medicines", f"patient {rx.patient.id}", rx.number)


def placing(workspace: Workspace) -> Callable[[Fault], Fault]:
    """Gives a fault of a row, or of a file's key, its file and line, where they are known.

    Rules judge records and know no lines; whoever tells their faults adds them. A key that isn't
    there has the line of the table round it; ``strengths`` are written as ``[[strength]]``.
    """
    known = {(table, row): (file, where) for table, row, file, where in workspace.places}

    def placed(fault: Fault) -> Fault:
        if not fault.where:
            keys = (fault.field, fault.field.removesuffix("s"), fault.field.rpartition(".")[0])
            lines = (known[fault.file, key] for key in keys if (fault.file, key) in known)
            return replace(fault, where=next(lines, (fault.file, ""))[1])
        if (fault.file, fault.where) not in known:
            return fault
        file, where = known[fault.file, fault.where]
        return replace(fault, file=file, where=f"{where}, {fault.where}")

    return placed
