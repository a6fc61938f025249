"""Two entries that may be one person are told apart, or joined, before anything is made for them.

What one person takes and gets is added up over all of that person's entries; where nobody knows
whether two entries are one person, no sum is right. A named person finds out, and
writes it into ``decisions.toml``.
"""

from collections.abc import Iterator
from datetime import date
from functools import lru_cache

from labelkit.ground.errors import Fault
from labelkit.records.alike import alike
from labelkit.records.model import Patient, Prescription, Workspace
from labelkit.rules.places import of_patient

SOURCE = (
    "common practice, no source: two entries of one birth date and like names are compared by a "
    "person"
)


def judge_persons(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """A fault for each other entry that may be the same person, where nobody decided on it."""
    at = of_patient(rx.patient)
    return tuple(
        at.fault(
            "name",
            f"patient {other.id} has the same birth date and a name that may be the same one",
            "find out, and write [[same_person]] into decisions.toml with ids = "
            f'["{rx.patient.id}", "{other.id}"], same = true or false, by, licence and on',
            "person.undecided",
            SOURCE,
        )
        for other in _like(workspace, rx.patient)
    )


def _like(workspace: Workspace, patient: Patient) -> Iterator[Patient]:
    joined = workspace.person(patient.id)
    for other in _by_birth(_Patients(workspace.patients)).get(patient.born_on, ()):
        if (
            other.id not in joined
            and not workspace.decisions.told_apart(patient.id, other.id)
            and alike(patient.name, other.name)
        ):
            yield other


class _Patients:
    """Patients compared by identity: to hash ten thousand of them each time is slow."""

    def __init__(self, rows: tuple[Patient, ...]) -> None:
        self.rows = rows

    def __hash__(self) -> int:
        return id(self.rows)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Patients) and other.rows is self.rows


@lru_cache(maxsize=4)
def _by_birth(known: _Patients) -> dict[date, list[Patient]]:
    found: dict[date, list[Patient]] = {}
    for patient in known.rows:
        found.setdefault(patient.born_on, []).append(patient)
    return found
