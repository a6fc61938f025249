"""One file to be made, with only the records it needs, so that any process can make it."""

from dataclasses import dataclass

from labelkit.records.model import Workspace
from labelkit.rules.model import Fill, PlannedCard


@dataclass(frozen=True)
class Order:
    """One file of at most `MOST_SHEETS` sheets. Plain data: it may travel to another process."""

    stem: str
    artwork: str
    subject: str
    language: str
    layout: str
    """Name or path."""
    workspace: Workspace
    """The pharmacy, its decisions and acceptances, and the records of this file alone."""
    first_serial: int = 1
    fill: Fill | None = None
    """For one prescription; None: stock lidding or a pad."""
    cards: tuple[PlannedCard, ...] = ()
    """Lidding: the cards to print."""


MOST_SHEETS = 500
"""Sheets in one file: a printer's queue takes it, and a damaged file costs no more than that."""
