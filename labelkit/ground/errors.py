"""How labelkit says no: one `Fault` per thing that is wrong, one `Refused` per job.

A fault names the file, the place in it, the field, what is wrong and what would
mend it. It never holds a traceback, and where a rule decided, it holds the rule
and that rule's source.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing that is wrong, said so that a person can mend it."""

    file: str
    """The file as the user knows it (relative to the workspace), or the artwork's name."""

    where: str
    """Place in the file: ``line 7``, ``row 3``, ``page 2, piece A, cell 4``; may be empty."""

    field: str
    """The field, column or layout item; may be empty when the whole file is meant."""

    wrong: str
    """What is wrong, as a clause that starts in lower case and has no full stop."""

    mend: str
    """What would mend it, in the imperative, without a full stop."""

    rule: str = ""
    """Id of the rule that decided, empty where a plain reading fault is meant."""

    source: str = ""
    """Where that rule comes from: law or standard with section and year, or 'common practice'."""

    about: str = ""
    """Of several things that the rule may be about, the one: a medicine, a word."""

    finding: str = ""
    """What a licensed person may decide on, by name; empty where no decision passes the rule."""

    @property
    def place(self) -> str:
        """File, place in it and field, as far as they are known."""
        return ", ".join(part for part in (self.file, self.where, self.field) if part)

    def __str__(self) -> str:
        said = f"{self.place}: {self.wrong}. To mend: {self.mend}."
        if self.finding:
            said += f" To decide: finding {self.finding}."
        return f"{said} (Rule {self.rule}: {self.source}.)" if self.rule else said


class Refused(Exception):
    """A job that stops, with every fault that was found. Subclasses set the exit status."""

    exit_status = 1

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        if not self.faults:
            raise ValueError("a refusal without a fault says nothing")
        super().__init__("\n".join(str(fault) for fault in self.faults))


class RecordsRefused(Refused):
    """The workspace's own files are wrong: nothing was made. Exit status 2."""

    exit_status = 2


class LayoutRefused(Refused):
    """A layout definition can't be read, or breaks a rule of geometry. Exit status 2."""

    exit_status = 2


class RuleRefused(Refused):
    """A rule forbids this artwork for this record. Exit status 1."""


class WordingRefused(Refused):
    """Something that must be said has no words in the wanted language. Exit status 1."""


class ArtworkRefused(Refused):
    """It can't be said completely and legibly in the room the layout gives. Exit status 1."""


class CodeRefused(Refused):
    """A code's data are invalid, or no symbol of it fits. Exit status 1."""


class CheckRefused(Refused):
    """The finished file, read back, isn't what the manifest asks for. Exit status 1."""
