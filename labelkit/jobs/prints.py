"""What was printed of a file: kept beside it, since paper outlives files.

A print is noted before a byte is sent, and the printer's number for it afterwards: where the one
is there without the other, paper may be about as well.
"""

import json
from pathlib import Path

from pydantic import ValidationError

from labelkit.ground import door
from labelkit.jobs.publishing import PRINTED, OutputRefused, unwritable
from labelkit.jobs.results import Result


class Print(Result):
    """One time that a file was sent to a printer."""

    at: str
    """ISO 8601, in UTC."""
    to: str
    """The printer's address, without a name or password in it."""
    sha256: str
    pages: int
    job: int | None = None
    """The printer's number for it; none where the printer didn't confirm that it took it."""

    @property
    def sentence(self) -> str:
        """When and where, for a person who looks for the paper."""
        sure = f"as job {self.job}" if self.job is not None else "and wasn't confirmed there"
        return f"sent to {self.to} on {self.at}, {sure}, {self.pages} pages"


UNREAD = "its record of prints can't be read, so it may have been printed"


def prints_of(pdf: Path) -> tuple[Print, ...]:
    """All prints that are noted beside a file, oldest first. Raises ValueError where what is
    there can't be read."""
    path = _beside(pdf)
    if not path.exists():
        return ()
    try:
        return tuple(Print.model_validate(one) for one in json.loads(door.read_bytes(path)))
    except (OSError, TypeError, ValueError, RecursionError, ValidationError) as error:
        raise ValueError(UNREAD) from error


def printed(pdf: Path, sha256: str) -> tuple[str, ...]:
    """A sentence for each print of the very file with that digest; one where they can't be told."""
    try:
        return tuple(one.sentence for one in prints_of(pdf) if one.sha256 == sha256)
    except ValueError as error:
        return (str(error),)


def note(pdf: Path, one: Print) -> None:
    """Note a print, in the place of the last one where that is the same and was only begun.

    Raises OutputRefused where it can't be noted, ValueError where what is noted can't be read.
    """
    known = list(prints_of(pdf))
    if known and known[-1] == one.model_copy(update={"job": None}):
        known.pop()
    stated = [print_.model_dump(mode="json") for print_ in (*known, one)]
    path = _beside(pdf)
    try:
        door.write_whole(path, json.dumps(stated, indent=1, ensure_ascii=False).encode())
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error


def _beside(pdf: Path) -> Path:
    return pdf.with_name(pdf.name.removesuffix(".pdf") + PRINTED)
