"""The report of one job: what was made and read back, what was refused, what was decided.

It is written for the person who has to decide whether to release, and says 'not
second-checked' since no register says otherwise. Few files have one page of HTML beside the
artwork, with their pictures. Many have a summary, with all that was refused and decided, and
pages of a line for each file: a page of 10,000 files with everything on it would help nobody,
nor be held in memory.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from labelkit.checks.report import (
    Checked,
    Kind,
    Line,
    ListPage,
    Told,
    as_html,
    lines_as_html,
    summary_as_html,
)
from labelkit.ground import door
from labelkit.jobs.checking import report_of
from labelkit.jobs.explaining import Reason
from labelkit.jobs.publishing import CHECK, OutputRefused, unwritable
from labelkit.jobs.results import Made, Outcome
from labelkit.records.model import Workspace

FILE = "report.html"
LIST = "report-files-{}.html"

MOST_PICTURED = 60
"""Files that stand in one report with their proofs: more make a page that no browser likes."""

A_LIST = 500
"""Files on one page of lines: about a dozen sheets when printed."""


def forget_report(out: Path) -> None:
    """Remove the report of an earlier call: a call that is stopped leaves none, so that none is
    taken for its own. Raises OutputRefused."""
    try:
        for path in (out / FILE, *door.listed(out, LIST.format("*"))):
            path.unlink(missing_ok=True)
    except OSError as error:
        raise OutputRefused([unwritable(out / FILE, error)]) from error


def report(outcome: Outcome, workspace: Workspace) -> Path:
    """Write the report into the output folder. Raises OutputRefused."""
    few = len(outcome.made) <= MOST_PICTURED
    path = Path(outcome.out) / FILE
    title = f"{workspace.pharmacy.name}: artwork"
    try:
        page = _whole(title, outcome, workspace) if few else _many(title, outcome, workspace)
        door.write_whole(path, page)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error
    return path


def _whole(title: str, outcome: Outcome, workspace: Workspace) -> bytes:
    """One page with everything."""
    out = Path(outcome.out)
    files: list[Checked] = []
    required: set[tuple[str, ...]] = set()
    for made in outcome.made:
        stated = _stated(out, made)
        proofs = (out / f"{_stem(made)}.proof-{n}.png" for n in range(1, made.pages + 1))
        pictures = tuple(door.read_bytes(proof) for proof in proofs)
        files.append(Checked(made.file, report_of(stated), pictures))
        required.update(_required(stated))
    subjects = {made.subject for made in outcome.made}
    asked = (
        f"Prescription {number}: checked against the medicines recorded on {day}"
        for number, day in _asked_on(workspace).items()
        if f"prescription {number}" in subjects
    )
    decisions = (*_decisions(outcome, workspace), *asked)
    return as_html(title, files, _told(outcome, decisions, required))


def _many(title: str, outcome: Outcome, workspace: Workspace) -> bytes:
    """Pages of lines, written one after the other, and their summary."""
    out = Path(outcome.out)
    asked_on = _asked_on(workspace)
    kinds: dict[tuple[str, str], Kind] = {}
    required: set[tuple[str, ...]] = set()
    lists: list[ListPage] = []
    pages = -(-len(outcome.made) // A_LIST)
    for number in range(1, pages + 1):
        some = outcome.made[(number - 1) * A_LIST : number * A_LIST]
        lines: list[Line] = []
        for made in some:
            stated = _stated(out, made)
            checked = report_of(stated)
            required.update(_required(stated))
            kind = kinds.setdefault((made.artwork, made.state), Kind(made.artwork, made.state))
            kind.add(checked, kept=made.kept)
            day = asked_on.get(made.subject.removeprefix("prescription "), "")
            proof = f"{_stem(made)}.proof-1.png"
            lines.append(Line(made.file, made.subject, made.language, checked, proof, day))
        first = (number - 1) * A_LIST + 1
        listed = ListPage(
            LIST.format(number), first, first + len(some) - 1, f"{some[0].file} to {some[-1].file}"
        )
        lists.append(listed)
        page = lines_as_html(
            title,
            lines,
            f"files {listed.first:,} to {listed.last:,}",
            FILE,
            LIST.format(number - 1) if number > 1 else "",
            LIST.format(number + 1) if number < pages else "",
        )
        door.write_whole(out / listed.file, page)
    told = _told(outcome, tuple(_decisions(outcome, workspace)), required)
    return summary_as_html(title, tuple(kinds.values()), lists, told)


def _stem(made: Made) -> str:
    return made.file.removesuffix(".pdf")


def _stated(out: Path, made: Made) -> dict[str, Any]:
    stated: dict[str, Any] = json.loads(door.read_bytes(out / (_stem(made) + CHECK)))
    return stated


def _told(outcome: Outcome, decisions: tuple[str, ...], required: set[tuple[str, ...]]) -> Told:
    refused, required_rows = tuple(_refused(outcome)), tuple(sorted(required))
    return Told(refused, decisions, required_rows, tuple(_withdrawn(outcome)))


def _withdrawn(outcome: Outcome) -> Iterator[tuple[str, tuple[str, ...]]]:
    for one in outcome.withdrawn:
        told = (*one.reasons, *one.prints, f"Paper: {one.advice}.", f"It stands in {one.to}.")
        yield f"{one.file} for {one.subject}: {one.state} ({one.why})", told


def _refused(outcome: Outcome) -> Iterator[tuple[str, tuple[str, ...]]]:
    for refused in outcome.refused:
        sentences = tuple(str(said.fault) for said in refused.faults)
        yield f"{refused.artwork} for {refused.subject}", sentences
    for waiting in outcome.pending:
        sentences = tuple(str(said.fault) for said in waiting.faults)
        yield f"{waiting.artwork} for {waiting.subject}: not finished, so it waits", sentences


def _required(stated: dict[str, Any]) -> Iterator[tuple[str, ...]]:
    """What a file had to carry: artwork, part, particular, what met it, least size and source,
    so that what stands on many files is told once."""
    for reason in (Reason.model_validate(one) for one in stated["required"]):
        met = reason.met_by.replace(":", " ", 1)
        row = (reason.artwork, reason.place, reason.particular, met)
        yield (*row, reason.least_size, reason.source)


def _asked_on(workspace: Workspace) -> dict[str, str]:
    """Prescription number → day on which the patient's medicines were recorded."""
    return {
        rx.number: rx.patient.medicines_asked_on.isoformat()
        for rx in workspace.latest_fills
        if rx.patient.medicines_asked_on is not None
    }


def _decisions(outcome: Outcome, workspace: Workspace) -> Iterator[str]:
    """Decisions that were used, what is told at the hand-over, particulars that are left out."""
    yield from (one.said for one in outcome.decided)
    yield from (f"To be told. {note}" for note in outcome.notes)
    for r in workspace.decisions.removed_particulars:
        yield (
            f"Particular {r.id} left out of the {r.artwork} by {r.by}, licence {r.licence}, "
            f"{r.on.isoformat()}: {r.reason}"
        )
