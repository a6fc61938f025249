"""What was dispensed, out as one FHIR R4 bundle: all that was asked for, or nothing is written."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from labelkit.ground.errors import Fault, RuleRefused, WordingRefused
from labelkit.jobs import desk
from labelkit.jobs.orders import orders
from labelkit.jobs.results import Result
from labelkit.jobs.tables import write_table
from labelkit.jobs.wishes import Wish
from labelkit.records.fhir_export import NOT_EXPORTED, Dispensed, dispense_bundle
from labelkit.records.model import Prescription, Workspace
from labelkit.records.reading import read_workspace
from labelkit.rules.model import Fill
from labelkit.wording.directions import sentence
from labelkit.wording.model import ReviewState

TABLE = "prescriptions.csv"


class Exported(Result):
    """What an export wrote."""

    file: str
    prescriptions: tuple[str, ...]
    completed: tuple[str, ...]
    """Those that somebody handed over; the others are in progress."""
    lots_not_kept: tuple[str, ...]
    """Prescriptions whose lot was worked out: nobody wrote down that it was used."""
    not_exported: tuple[str, ...]
    """Fields of a prescription that the bundle doesn't hold."""


def export_dispensed(
    folder: Path, rx: Sequence[str], out: Path, handed_over_on: date | None = None
) -> Exported:
    """Write what was dispensed for these prescriptions as a bundle of MedicationDispense.

    Raises RecordsRefused, RuleRefused when one of them can't be filled, WordingRefused and
    OutputRefused; nothing is written then.
    """
    workspace = desk.held(read_workspace(folder))
    wanted = orders(workspace, Wish(rx=tuple(dict.fromkeys(rx)), only=frozenset({"sleeve"})))
    if wanted.refused:
        raise RuleRefused(
            Fault(**fault.model_dump()) for one in wanted.refused for fault in one.faults
        )
    fills = [
        (rx, order.fill)
        for order in wanted.orders
        if order.fill
        for rx in order.workspace.prescriptions
    ]
    dispensed = [_dispensed(workspace, *one, handed_over_on) for one in fills]
    write_table(out, dispense_bundle(workspace.pharmacy, dispensed))
    return Exported(
        file=str(out),
        prescriptions=tuple(rx.number for rx, _ in fills),
        completed=tuple(one.rx.number for one in dispensed if one.handed_over_on),
        lots_not_kept=tuple(rx.number for rx, _ in fills if rx.lot is None),
        not_exported=NOT_EXPORTED,
    )


def _dispensed(
    workspace: Workspace, rx: Prescription, one: Fill, handed_over_on: date | None
) -> Dispensed:
    said = sentence(rx.directions, desk.voice(workspace, rx.patient.language))
    if said.state is not ReviewState.ACCEPTED:
        wrong = f"nobody accepted the {rx.patient.language} wording of the directions"
        mend = "accept the wording that was dispensed with: labelkit wording"
        raise WordingRefused([Fault(TABLE, f"prescription {rx.number}", "", wrong, mend)])
    return Dispensed(
        rx=rx,
        preparation=workspace.preparation(rx.preparation),
        lot=workspace.lot(one.lot),
        beyond_use=one.beyond_use,
        directions=said.text,
        handed_over_on=handed_over_on or rx.handed_over_on,
    )
