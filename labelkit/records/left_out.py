"""Rows of the tables that aren't among the records: wrong, or not finished yet.

A row that is left out costs what depends on it, and nothing else: the patient's other papers
where it belongs to a patient, the fills from it where it is a lot.
"""

from labelkit.ground.errors import Fault
from labelkit.records.base import Record


class LeftOut(Record):
    """One row, with why it can't be used."""

    kind: str
    """``prescription``, ``lot``, ``patient`` or ``medicine``."""
    name: str
    """The number or id that stands in it; of a medicine the patient's; empty where it has none."""
    patient: str = ""
    """Id of the patient it belongs to, as far as it can be told."""
    place: str
    """File and line (or entry) of the row."""
    faults: tuple[Fault, ...]
    """Its own faults; without any, those of the rows that it depends on."""
    pending: bool
    """Nothing is wrong: cells that are needed are still blank, here or in a row it depends on."""
