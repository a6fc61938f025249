"""What a job did: files made, and what was refused and why. Serialises to JSON."""

from datetime import date

from pydantic import BaseModel, ConfigDict

from labelkit.ground.errors import Fault
from labelkit.rules.deciding import Decided


class Result(BaseModel):
    """Base: frozen."""

    model_config = ConfigDict(frozen=True, defer_build=True)


class SaidFault(Result):
    """A fault as JSON shows it."""

    file: str
    where: str
    field: str
    wrong: str
    mend: str
    rule: str
    source: str
    finding: str = ""
    """What a licensed person may decide on, by name; empty where no decision passes the rule."""

    @classmethod
    def of(cls, fault: Fault) -> "SaidFault":
        """The same fault, field by field."""
        return cls(
            file=fault.file,
            where=fault.where,
            field=fault.field,
            wrong=fault.wrong,
            mend=fault.mend,
            rule=fault.rule,
            source=fault.source,
            finding=fault.finding,
        )

    @property
    def fault(self) -> Fault:
        """The fault itself again, which knows its place and its sentence."""
        return Fault(**self.model_dump())


class DecisionUsed(Result):
    """A licensed person's decision that let something pass; whatever speaks of it says so."""

    rule: str
    record: str
    finding: str
    passed: tuple[str, ...]
    """What the rule found wrong."""
    by: str
    licence: str
    second_by: str
    second_licence: str
    reason: str
    first: date
    until: date
    said: str
    """All of it in a sentence."""

    @classmethod
    def of(cls, decided: Decided) -> "DecisionUsed":
        """The same as plain values."""
        one = decided.decision
        return cls(
            rule=one.rule,
            record=one.record,
            finding=one.finding,
            passed=tuple(fault.wrong for fault in decided.passed),
            by=one.by,
            licence=one.licence,
            second_by=one.second_by,
            second_licence=one.second_licence,
            reason=one.reason,
            first=one.first,
            until=one.until,
            said=str(decided),
        )


class Note(Result):
    """What blocks nothing, and is told at the hand-over."""

    subject: str
    fault: SaidFault

    def __str__(self) -> str:
        return f"{self.subject[:1].upper()}{self.subject[1:]}: {self.fault.fault}"


class Grade(Result):
    """The school grade (United States) of what an English leaflet tells to do and to avoid."""

    coleman_liau: float


class Withdrawn(Result):
    """One file that was taken out of use, since the records don't stand behind it any more."""

    file: str
    """Where it stood in the output folder."""
    to: str
    """Where it stands now."""
    state: str
    """``withdrawn``, or ``superseded`` where it had been printed."""
    artwork: str
    subject: str
    why: str
    """``refused``, ``changed``, ``without-record``, ``not-finished``, ``wording``, ``replaced``."""
    reasons: tuple[str, ...]
    prints: tuple[str, ...] = ()
    """When and where it was printed, as far as labelkit printed it."""
    advice: str
    """What to do about paper that may be about."""


class Made(Result):
    """One file that was made, read back, and put in place."""

    file: str
    artwork: str
    layout: str
    subject: str
    """Whom or what it is for: ``lot TV2611``, ``prescription 10432``, ``tadalafil``."""
    language: str
    state: str
    pages: int
    texts: int
    """Required texts found."""
    codes: int
    """Codes decoded and compared."""
    sha256: str
    reading_grade: Grade | None = None
    """Of an English leaflet; other languages and labels aren't measured."""
    kept: bool = False
    """It was there already, made from the same records by the same labelkit, and is untouched."""
    decided: tuple[DecisionUsed, ...] = ()
    """Decisions without which it would have been refused."""
    superseded: tuple[Withdrawn, ...] = ()
    """The file of that name that had been printed, and was set aside for this one."""


class NotMade(Result):
    """One file that was refused."""

    artwork: str
    subject: str
    faults: tuple[SaidFault, ...]
    failed: bool = False
    """labelkit, its worker or the disk failed: nothing is said against the records."""


class Outcome(Result):
    """Everything one call did, in the order asked for."""

    workspace: str
    out: str
    made: tuple[Made, ...]
    refused: tuple[NotMade, ...]
    pending: tuple[NotMade, ...] = ()
    """What waits for a row that isn't finished; no error."""
    notes: tuple[Note, ...] = ()
    withdrawn: tuple[Withdrawn, ...] = ()
    """Files that were there, and were taken out of use."""

    @property
    def decided(self) -> tuple[DecisionUsed, ...]:
        """Every decision that was used for what was made, once."""
        return tuple(dict.fromkeys(one for made in self.made for one in made.decided))

    @property
    def exit_status(self) -> int:
        """0 when everything asked for was made, else 1."""
        return 1 if self.refused else 0
