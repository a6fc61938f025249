"""What a call says of the rows that aren't among the records: refused, or waiting.

A row that is wrong is told as refused. One that only isn't finished waits, which is no error,
unless the call asks for it by its number.
"""

import re
from dataclasses import replace

from labelkit.ground.errors import Fault
from labelkit.jobs.discretion import HIDDEN
from labelkit.jobs.results import NotMade, SaidFault
from labelkit.jobs.wishes import Wish
from labelkit.records.model import LeftOut, Workspace

BORN_ON = "born_on"
_QUOTED = re.compile(r"'[^']*'")

Told = tuple[tuple[NotMade, ...], tuple[NotMade, ...]]


def not_read(workspace: Workspace, wish: Wish) -> Told:
    """What the wish asks for and can't have since a row was left out: refused, and pending."""
    refused: list[NotMade] = []
    pending: list[NotMade] = []
    of_prescriptions = {
        fault for row in workspace.left_out if row.kind == "prescription" for fault in row.faults
    }
    for row in workspace.left_out:
        by_name = row.name in (wish.lots if row.kind == "lot" else wish.rx)
        if row.kind in ("patient", "medicine"):
            # Told with the prescriptions that wait for it, unless there are none.
            by_name = False
            if of_prescriptions.issuperset(row.faults):
                continue
        if wish.everything or by_name:
            kept = pending if row.pending and not by_name else refused
            kept.append(_not_made(row))
    return tuple(refused), tuple(pending)


def _not_made(row: LeftOut) -> NotMade:
    return NotMade(
        artwork="lidding" if row.kind == "lot" else "all artwork",
        subject=f"{row.kind} {row.name}" if row.name else row.place,
        faults=tuple(SaidFault.of(_discreet(fault)) for fault in row.faults),
    )


def _discreet(fault: Fault) -> Fault:
    """The fault without the birth date that it quotes: line and field say enough, and reports
    and logs name no patient."""
    if fault.field != BORN_ON:
        return fault
    return replace(fault, wrong=_QUOTED.sub(f"'{HIDDEN}'", fault.wrong))
