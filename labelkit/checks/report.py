"""The check's answer for people and programs: one HTML page per job, and JSON.

The page is whole in itself: no script, no font, no picture from elsewhere. It prints, works
with a screen reader, and says 'not second-checked' until somebody knows better. It doesn't
decide anything.
"""

from base64 import b64encode
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from jinja2 import Environment, StrictUndefined, Template

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


def as_html(
    title: str,
    files: Iterable[Checked],
    second_check: str = NOT_SECOND_CHECKED,
    *,
    refused: Iterable[tuple[str, Iterable[str]]] = (),
    decisions: Iterable[str] = (),
    required: Iterable[tuple[str, ...]] = (),
) -> bytes:
    """The report on one job's files as a page of HTML, in UTF-8.

    `refused` names what was not made, with the reasons; `decisions` is what licensed persons
    decided that the reader must know; `required` are rows of what the artwork had to carry:
    artwork, part, particular, what meets it, least size, source.
    """
    listed = tuple(files)
    page = _template().render(
        title=title,
        files=listed,
        ok=bool(listed) and all(file.report.ok for file in listed),
        findings=sum(len(file.report.findings) for file in listed),
        second_check=second_check,
        refused=tuple(refused),
        decisions=tuple(decisions),
        required=tuple(required),
    )
    return page.encode("utf-8")


def as_json(files: Iterable[Checked]) -> list[dict[str, object]]:
    """The same as plain values, proofs left out."""
    return [{"file": file.name, **file.report.model_dump(mode="json")} for file in files]


@cache
def _template() -> Template:
    source = door.read_bytes(Path(__file__).with_name("report.html.j2")).decode("utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    environment.filters["shown"] = short_payload
    return environment.from_string(source)
