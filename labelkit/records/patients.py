"""The person a medicine is for: who it is, and what must be known before it is given.

Unknown is a value of its own everywhere here: `None`, or the empty member of an enumeration,
means that nobody asked. A rule stops there, or asks; it never reads it as 'no'.
"""

from datetime import date
from decimal import Decimal
from enum import StrEnum

from labelkit.records.base import Record


class MedicineStatus(StrEnum):
    """Whether a patient takes a medicine."""

    TAKES = "takes"
    WHEN_NEEDED = "when-needed"
    STOPPED = "stopped"


class Medicine(Record):
    """One medicine that a patient takes or took, as it was written down."""

    written: str
    """The entry to its last character: what it means, the rules read."""
    status: MedicineStatus
    stopped_on: date | None = None
    """The day on which it ended, of a stopped one alone."""
    confirmed_by: str
    """Who asked, and wrote down the answer."""
    confirmed_on: date


class Kidney(StrEnum):
    """How well the kidneys work; empty: nobody asked."""

    UNKNOWN = ""
    NORMAL = "normal"
    MILD = "mild"
    MODERATE = "moderate"
    SEVERE = "severe"
    DIALYSIS = "dialysis"


class Liver(StrEnum):
    """How well the liver works; empty: nobody asked."""

    UNKNOWN = ""
    NORMAL = "normal"
    MILD = "mild"
    MODERATE = "moderate"
    SEVERE = "severe"


class Pregnancy(StrEnum):
    """Whether the patient is pregnant or breast-feeding; empty: nobody asked."""

    UNKNOWN = ""
    NO = "no"
    FIRST_12_WEEKS = "pregnant-1st-12-weeks"
    PREGNANT = "pregnant"
    BREAST_FEEDING = "breast-feeding"


class Patient(Record):
    """The person a medicine is for: a row of the patients' table with its medicines."""

    id: str
    """By which prescriptions name the patient: the pharmacy's own, never printed."""
    name: str
    born_on: date
    language: str
    """BCP 47 tag of the language the patient reads."""
    allergies: tuple[str, ...] | None = None
    """None: nobody asked. Empty: the answer was 'none'."""
    kidney: Kidney = Kidney.UNKNOWN
    liver: Liver = Liver.UNKNOWN
    pregnancy: Pregnancy = Pregnancy.UNKNOWN
    weight_kg: Decimal | None = None
    medicines: tuple[Medicine, ...] | None = None
    """None: nobody asked. Empty: the answer was 'none'."""
    medicines_asked_on: date | None = None
    """The oldest day on which an answer that still counts was confirmed: of the medicines that
    are taken, or of the answer 'none'. None: no such answer."""

    @property
    def taken(self) -> tuple[Medicine, ...]:
        """The medicines that weren't stopped."""
        return tuple(
            one for one in self.medicines or () if one.status is not MedicineStatus.STOPPED
        )
