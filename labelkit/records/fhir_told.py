"""What an import tells of a bundle: what it couldn't carry over, with what may harm first.

Order is by what follows from overlooking it. An allergy, a medicine that isn't known here or two
reasons that contradict each other stand before a patient's telephone number.
"""

import re
from dataclasses import dataclass
from enum import IntEnum

from labelkit.ground.errors import Fault


class Weight(IntEnum):
    """How much hangs on something that is told; the least stands first."""

    SAFETY = 1
    """May change what is safe for the patient."""
    LOOK = 2
    """Was read in one way, or isn't carried over: to be seen."""
    BLANK = 3
    """A cell that the pharmacy fills in."""


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that is told, and how much hangs on it."""

    weight: Weight
    fault: Fault


_KINDS = frozenset(
    {"AllergyIntolerance", "MedicationStatement", "Medication", "Condition", "DetectedIssue"}
)
_ELEMENTS = re.compile(
    r"(dosageInstruction|medication|reason|note|detectedIssue|priorPrescription|substitution"
    r"|extension|doNotPerform|reportedBoolean|supportingInformation|statusReason|ingredient"
    r"|form\b|link|contained)"
)


def weight_of(kind: str, path: str) -> Weight:
    """How much hangs on an element of that path in a resource of that kind."""
    return Weight.SAFETY if kind in _KINDS or _ELEMENTS.match(path) else Weight.LOOK


def first_things_first(told: list[Told]) -> tuple[Told, ...]:
    """Each once: what may harm first, and within that as it was met."""
    return tuple(sorted(dict.fromkeys(told), key=lambda one: one.weight))
