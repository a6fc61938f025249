"""What a job did: files made, and what was refused and why. Serialises to JSON."""

from pydantic import BaseModel, ConfigDict

from labelkit.ground.errors import Fault


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
        )

    @property
    def fault(self) -> Fault:
        """The fault itself again, which knows its place and its sentence."""
        return Fault(**self.model_dump())


class Grade(Result):
    """The school grade (United States) of what an English leaflet tells to do and to avoid."""

    coleman_liau: float


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


class NotMade(Result):
    """One file that was refused."""

    artwork: str
    subject: str
    faults: tuple[SaidFault, ...]


class Outcome(Result):
    """Everything one call did, in the order asked for."""

    workspace: str
    out: str
    made: tuple[Made, ...]
    refused: tuple[NotMade, ...]
    pending: tuple[NotMade, ...] = ()
    """What waits for a row that isn't finished; no error."""

    @property
    def exit_status(self) -> int:
        """0 when everything asked for was made, else 1."""
        return 1 if self.refused else 0
