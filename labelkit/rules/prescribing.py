"""How old a prescription may be when it is dispensed: what the country profile says.

A prescription of years ago says nothing of what the patient needs today. Each profile has its
own limit, with its source; where none is known, a year.
"""

import calendar
from datetime import date

from labelkit.ground.errors import Fault
from labelkit.records.model import Prescription, Workspace
from labelkit.rules.particulars import Validity, profile_of, profiles
from labelkit.rules.places import of_prescription


def judge_validity(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """A fault where the prescription had run out on the day of dispensing.

    Nothing is said where there is no profile: that is a fault of the preparation's already.
    """
    if workspace.pharmacy.country not in profiles():
        return ()
    limit = validity_of(workspace.pharmacy.country)
    last = months_after(rx.written_on, limit.months)
    if rx.dispensed_on <= last:
        return ()
    return (
        of_prescription(rx).fault(
            "written_on",
            f"written on {rx.written_on.isoformat()}, it could be dispensed until "
            f"{last.isoformat()} ({limit.months} months), and it is {rx.dispensed_on.isoformat()}",
            "ask the prescriber for a new prescription",
            "prescription.validity",
            limit.source,
        ),
    )


def validity_of(country: str) -> Validity:
    """The profile's limit; of a profile that includes others, the shortest of theirs.

    Raises RuleRefused for a country without a profile.
    """
    profile = profile_of(country)
    found = [profile.validity] if profile.validity else []
    found += [validity_of(other) for other in profile.includes]
    return min(found, key=lambda one: one.months)


def months_after(day: date, months: int) -> date:
    """The same day of a later month, or that month's last day."""
    year, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + year, month + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
