"""One file to be made, with only the records it needs, so that any process can make it."""

from dataclasses import dataclass
from urllib.parse import quote as _quote

from labelkit.geometry.alignment import Alignment
from labelkit.geometry.model import Layout
from labelkit.jobs.results import DecisionUsed
from labelkit.records.model import Prescriber, Workspace
from labelkit.rules.model import Fill, PlannedCard


@dataclass(frozen=True)
class Order:
    """One file of at most `MOST_SHEETS` sheets. Plain data: it may travel to another process."""

    stem: str
    artwork: str
    subject: str
    language: str
    layout: Layout
    """As the call that gave the order read it: whoever makes the file reads no layout again."""
    workspace: Workspace
    """The pharmacy, its acceptances, and the records of this file alone."""
    first_serial: int = 1
    fill: Fill | None = None
    """For one prescription; None: stock lidding or a pad."""
    cards: tuple[PlannedCard, ...] = ()
    """Lidding: the cards to print."""
    start_at: int = 1
    """Lidding: the first card of the first sheet that is printed; the ones before are used up."""
    copies: int = 1
    """Pads: how often each sheet is in the file."""
    die_lines: bool = False
    """Whether the lines of the die are drawn in a file beside it."""
    printer: tuple[Alignment, ...] = ()
    """The printer it is made for, as aligned for each paper; empty: none in particular."""
    prescriber: Prescriber | None = None
    """Whose pads they are; None: blank ones."""
    decided: tuple[DecisionUsed, ...] = ()
    """Decisions that were used when the rules judged its records: who makes it judges none."""


def stem(artwork: str, record: str) -> str:
    """A file's name without its ending: the record's number, made safe for any file system.

    A lot number may hold ``/`` and other signs (GS1 AI 10, character set 82): all but letters,
    digits and hyphens are written as ``%`` and two hexadecimal digits (RFC 3986, 2.1), so two
    records never share a name and none climbs out of the folder.
    """
    kept = "".join(
        c if c.isascii() and (c.isalnum() or c == "-") else _quote(c, safe="") for c in record
    )
    return f"{artwork}-{kept.replace('.', '%2E').replace('_', '%5F').replace('~', '%7E')}"


MOST_SHEETS = 400
"""Sheets in one file: a printer's queue takes it, a damaged file costs no more than that, and
making it and reading it back takes under 400 MB of memory."""
