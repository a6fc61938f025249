"""The check's answer for people and programs: HTML pages of a job, and JSON.

A job of few files has one page, whole in itself: no script, no font, no picture from
elsewhere. A job of many has a summary, which holds all that wants a decision, and pages with a
line for each file. All print, work with a screen reader, and say 'not second-checked' until
somebody knows better. They don't decide anything.
"""

from base64 import b64encode
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from jinja2 import DictLoader, Environment, StrictUndefined

from labelkit.checks.codes import short_payload
from labelkit.checks.model import CheckReport
from labelkit.ground import door

NOT_SECOND_CHECKED = "not second-checked"
"""What a report says as long as no register says otherwise."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One file of a job."""

    name: str
    """As the reader of the report knows it."""
    report: CheckReport
    proofs: tuple[bytes, ...] = ()
    """PNG of each page; may be empty."""

    @property
    def pictures(self) -> tuple[str, ...]:
        """The proofs as data that can stand in a page."""
        return tuple(b64encode(proof).decode("ascii") for proof in self.proofs)


@dataclass(frozen=True, slots=True)
class Told:
    """What every report tells beside its files."""

    refused: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """What was not made, with the reasons."""
    decisions: tuple[str, ...] = ()
    """What licensed persons decided that the reader must know."""
    required: tuple[tuple[str, ...], ...] = ()
    """Rows of what the artwork had to carry: artwork, part, particular, what meets it, least
    size, source."""
    withdrawn: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Files that were taken out of use, with the reasons and what to do about their paper."""


def as_html(
    title: str,
    files: Iterable[Checked],
    told: Told = Told(),
    second_check: str = NOT_SECOND_CHECKED,
) -> bytes:
    """The report on one job's files as a page of HTML, in UTF-8."""
    listed = tuple(files)
    return _page(
        "report",
        title=title,
        part="",
        files=listed,
        ok=bool(listed) and all(file.report.ok for file in listed),
        findings=sum(len(file.report.findings) for file in listed),
        second_check=second_check,
        **_values(told),
    )


@dataclass(frozen=True, slots=True)
class Line:
    """One file of a job of many: what is told of it on one line."""

    name: str
    """As a link from the report's folder."""
    subject: str
    language: str
    report: CheckReport
    picture: str
    """Proof of its first page, as a link."""
    asked_on: str = ""
    """When the patient's medicines were recorded that it was checked against."""


@dataclass(slots=True)
class Kind:
    """Files of one artwork and state, counted."""

    artwork: str
    state: str
    files: int = 0
    kept: int = 0
    pages: int = 0
    texts: int = 0
    values: int = 0
    codes: int = 0
    findings: int = 0

    def add(self, report: CheckReport, *, kept: bool) -> None:
        """Count one more."""
        self.files += 1
        self.kept += kept
        self.pages += report.counts.pages
        self.texts += report.counts.texts
        self.values += report.counts.values
        self.codes += report.counts.codes
        self.findings += len(report.findings)


@dataclass(frozen=True, slots=True)
class ListPage:
    """A page of lines, as the summary names it."""

    file: str
    first: int
    last: int
    said: str
    """Its first and last file."""


def lines_as_html(
    title: str, lines: Sequence[Line], part: str, summary: str, before: str = "", after: str = ""
) -> bytes:
    """A page with a line for each file; `part` says which, the others are links."""
    return _page(
        "report-files",
        title=title,
        part=f", {part}",
        files=lines,
        ok=all(line.report.ok for line in lines),
        second_check=NOT_SECOND_CHECKED,
        summary=summary,
        before=before,
        after=after,
    )


def summary_as_html(
    title: str, kinds: Sequence[Kind], lists: Sequence[ListPage], told: Told
) -> bytes:
    """The summary of a job of many files: counts, all that was refused, all decisions."""
    findings = sum(kind.findings for kind in kinds)
    return _page(
        "report-summary",
        title=title,
        part="",
        kinds=kinds,
        lists=lists,
        files=sum(kind.files for kind in kinds),
        findings=findings,
        ok=bool(kinds) and not findings,
        second_check=NOT_SECOND_CHECKED,
        **_values(told),
    )


def _values(told: Told) -> dict[str, object]:
    return {
        "refused": told.refused,
        "decisions": told.decisions,
        "required": told.required,
        "withdrawn": told.withdrawn,
    }


def as_json(files: Iterable[Checked]) -> list[dict[str, object]]:
    """The same as plain values, proofs left out."""
    return [{"file": file.name, **file.report.model_dump(mode="json")} for file in files]


def _page(template: str, **values: object) -> bytes:
    return _templates().get_template(f"{template}.html.j2").render(**values).encode("utf-8")


@cache
def _templates() -> Environment:
    folder = Path(__file__).parent
    sources = {
        path.name: door.read_bytes(path).decode("utf-8")
        for path in door.listed(folder, "report*.html.j2")
    }
    environment = Environment(
        loader=DictLoader(sources), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    environment.filters["shown"] = short_payload
    return environment
