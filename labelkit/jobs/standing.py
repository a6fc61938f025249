"""Whether a finished file may still be used, as the records stand now.

The records of a workspace are always read whole, so anybody can tell that a file's record is gone.
The rules' answer to each prescription comes from the plan of its fills; what they say of a lot or a
preparation is asked when a file of it is met.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from labelkit.ground.errors import Fault
from labelkit.jobs.belonging import Belonging, Subject, belonging, facts, pharmacy_id
from labelkit.jobs.cards import Fills
from labelkit.jobs.discretion import discreet_fault
from labelkit.jobs.not_read import discreet_fault_of_row
from labelkit.jobs.results import NotMade
from labelkit.jobs.wishes import Wish
from labelkit.records.model import LeftOut, Prescriber, Workspace
from labelkit.rules.beyond_use import beyond_use_of
from labelkit.rules.judging import judge_lot, judge_preparation

REFUSED, CHANGED, GONE, WAITS = "refused", "changed", "without-record", "not-finished"
"""Why a file mustn't be used: what the records say now."""

NOT_TOLD = "it doesn't say what it was made from, so it can't be compared with the records"


@dataclass(frozen=True)
class Objection:
    """Why a file mustn't be used any more."""

    why: str
    reasons: tuple[str, ...]
    """Clauses, none of which names a patient."""
    faults: tuple[Fault, ...] = ()
    """What the records or the rules say against it, where they do, with what mends it."""


@dataclass(frozen=True)
class Standing:
    """What the records of a workspace say now of each thing that files are made for."""

    workspace: Workspace
    fills: Fills
    stopped: Mapping[str, tuple[Fault, ...]]
    """Prescription number → why nothing is made for it."""
    refused: tuple[NotMade, ...] = ()
    """Single papers that the call refused before it drew any."""
    _judged: dict[str, tuple[Fault, ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def knows(self, file: Belonging) -> bool:
        """Whether a file is one of this workspace's: its pharmacy made it, or, where the file
        doesn't tell, it names a record that is here."""
        if file.pharmacy:
            return file.pharmacy == pharmacy_id(self.workspace.pharmacy)
        return self.has(file)

    def has(self, file: Belonging) -> bool:
        """Whether the record that a file was made for is there, in whatever state."""
        kind, name = file.record
        return name in self._names.get(kind, frozenset())

    def asked(self, file: Belonging, wish: Wish) -> bool:
        """Whether a call judges a file: one of its records is asked for, or is gone."""
        if wish.everything or not self.has(file):
            return True
        wanted = {f"prescription {number}" for number in wish.rx}
        wanted |= {f"lot {number}" for number in wish.lots}
        return not wanted.isdisjoint(file.records)

    def objection(self, file: Belonging) -> Objection | None:
        """Why the file mustn't be used as the records stand now; None where it may be."""
        kind, name = file.record
        if not self.has(file):
            return Objection(GONE, (f"there is no {kind} {name} among the records",))
        if rows := self._rows(kind, name):
            said = [discreet_fault_of_row(fault) for row in rows for fault in row.faults]
            waits = all(row.pending for row in rows)
            return against(WAITS if waits else REFUSED, said, self._patients(name))
        if faults := self._faults(file):
            return against(REFUSED, faults, self._patients(name))
        now = self._now(file)
        if now is None:
            wrong = f"no prescription names the prescriber {file.prescriber} any more"
            return Objection(GONE, (wrong,))
        if file.facts == facts(now):
            return None
        if not file.facts:
            return Objection(CHANGED, (NOT_TOLD,))
        names = ", ".join(file.changed_in(belonging(now)))
        return Objection(CHANGED, (f"the records have changed since it was made: {names}",))

    @cached_property
    def _names(self) -> dict[str, frozenset[str]]:
        held = self.workspace
        out = {kind: {r.name for r in held.left_out if r.kind == kind} for kind in _TABLES}
        return {
            "prescription": frozenset(
                {rx.number for rx in held.prescriptions} | out["prescription"]
            ),
            "lot": frozenset({lot.number for lot in held.lots} | out["lot"]),
            "preparation": frozenset(one.id for one in held.preparations),
        }

    def _rows(self, kind: str, name: str) -> list[LeftOut]:
        return [row for row in self.workspace.left_out if (row.kind, row.name) == (kind, name)]

    def _faults(self, file: Belonging) -> tuple[Fault, ...]:
        kind, name = file.record
        if kind == "prescription":
            found = self.stopped.get(name, ())
        else:
            found = self._of_general(kind, name)
        # A preparation is the subject of its pads by its id alone.
        subject = name if kind == "preparation" else f"{kind} {name}"
        said = (one for one in self.refused if one.subject == subject)
        single = [
            fault.fault for one in said if one.artwork == file.artwork for fault in one.faults
        ]
        return (*found, *single)

    def _of_general(self, kind: str, name: str) -> tuple[Fault, ...]:
        key = f"{kind} {name}"
        if key not in self._judged:
            self._judged[key] = (
                judge_lot(self.workspace, self.workspace.lot(name))
                if kind == "lot"
                else judge_preparation(self.workspace, self.workspace.preparation(name))
            )
        return self._judged[key]

    def _now(self, file: Belonging) -> Subject | None:
        """What a file of the same kind and record would be made from now; None where its prescriber
        is gone. The record itself is there, and nothing is said against it."""
        held = self.workspace
        kind, name = file.record
        if kind == "prescription":
            rx, fill = self.fills[name]
            preparation, lot = held.preparation(rx.preparation), held.lot(fill.lot)
            return Subject(held, file.artwork, preparation, lot, fill.beyond_use, rx)
        if kind == "lot":
            lot = held.lot(name)
            day = beyond_use_of(held, lot)
            preparation = held.preparation(lot.preparation)
            return Subject(held, file.artwork, preparation, lot, day)
        whose = newest_prescriber(held, file.prescriber)
        if file.prescriber and whose is None:
            return None
        preparation = held.preparation(name)
        return Subject(held, file.artwork, preparation, prescriber=whose)

    def _patients(self, number: str) -> tuple[str, ...]:
        """Names and birth dates of who a prescription of that number is for."""
        patients = [rx.patient for rx in self.workspace.prescriptions if rx.number == number]
        return tuple(said for one in patients for said in (one.name, one.born_on.isoformat()))


def against(why: str, faults: Iterable[Fault], patients: Iterable[str] = ()) -> Objection:
    """The objection that these faults are, without the names of these patients."""
    known = tuple(patients)
    said = tuple(discreet_fault(fault, known) for fault in faults)
    return Objection(why, tuple(_clause(fault) for fault in said), said)


def _clause(fault: Fault) -> str:
    rule = f" (rule {fault.rule})" if fault.rule else ""
    return f"{fault.place}: {fault.wrong}{rule}"


_TABLES = ("prescription", "lot")


def newest_prescriber(workspace: Workspace, registration: str) -> Prescriber | None:
    """The prescriber of that registration, as the newest prescription of theirs names them."""
    theirs = [rx for rx in workspace.prescriptions if rx.prescriber.registration == registration]
    return max(theirs, key=lambda rx: rx.written_on).prescriber if theirs else None
