"""The report of one job: what was made and read back, what was refused, what was decided.

One page of HTML beside the artwork, whole in itself. It is written for the person who has
to decide whether to release, and says 'not second-checked' since no register says otherwise.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from labelkit.checks.model import CheckReport
from labelkit.checks.report import Checked, as_html
from labelkit.ground import door
from labelkit.jobs.explaining import Reason
from labelkit.jobs.publishing import CHECK, OutputRefused, unwritable
from labelkit.jobs.results import Made, Outcome
from labelkit.records.model import Workspace

FILE = "report.html"

MOST_PICTURED = 60
"""Files whose proofs stand in the report: more make a page that no browser likes."""


def report(outcome: Outcome, workspace: Workspace) -> Path:
    """Write the report into the output folder. Raises OutputRefused."""
    out = Path(outcome.out)
    pictured = len(outcome.made) <= MOST_PICTURED
    files: list[Checked] = []
    required: set[tuple[str, ...]] = set()
    for made in outcome.made:
        stated = json.loads(door.read_bytes(out / (_stem(made) + CHECK)))
        files.append(_checked(out, made, stated, pictured))
        required.update(_required(stated))
    page = as_html(
        f"{workspace.pharmacy.name}: artwork",
        files,
        refused=tuple(_refused(outcome)),
        decisions=tuple(_decisions(workspace, outcome)),
        required=sorted(required),
    )
    path = out / FILE
    try:
        door.write_whole(path, page)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error
    return path


def forget_report(out: Path) -> None:
    """Remove the report of an earlier call: a call that is stopped leaves none, so that none is
    taken for its own."""
    (out / FILE).unlink(missing_ok=True)


def _stem(made: Made) -> str:
    return made.file.removesuffix(".pdf")


def _checked(out: Path, made: Made, stated: dict[str, Any], pictured: bool) -> Checked:
    fields = {name: stated[name] for name in CheckReport.model_fields}
    proofs = (out / f"{_stem(made)}.proof-{n}.png" for n in range(1, made.pages + 1))
    return Checked(
        name=made.file,
        report=CheckReport.model_validate(fields),
        proofs=tuple(door.read_bytes(proof) for proof in proofs) if pictured else (),
    )


def _refused(outcome: Outcome) -> Iterator[tuple[str, tuple[str, ...]]]:
    for refused in outcome.refused:
        sentences = tuple(str(said.fault) for said in refused.faults)
        yield f"{refused.artwork} for {refused.subject}", sentences


def _required(stated: dict[str, Any]) -> Iterator[tuple[str, ...]]:
    """What a file had to carry: artwork, part, particular, what met it, least size and source,
    so that what stands on many files is told once."""
    for reason in (Reason.model_validate(one) for one in stated["required"]):
        met = reason.met_by.replace(":", " ", 1)
        row = (reason.artwork, reason.place, reason.particular, met)
        yield (*row, reason.least_size, reason.source)


def _decisions(workspace: Workspace, outcome: Outcome) -> Iterator[str]:
    """What licensed persons decided beyond the rules: every report prints it."""
    for o in workspace.decisions.overrides:
        yield (
            f"Rule {o.rule} overridden for {o.record} by {o.by}, licence {o.licence}, "
            f"{o.at.isoformat()}: {o.reason}"
        )
    for r in workspace.decisions.removed_particulars:
        yield (
            f"Particular {r.id} left out of the {r.artwork} by {r.by}, licence {r.licence}, "
            f"{r.on.isoformat()}: {r.reason}"
        )
    subjects = {made.subject for made in outcome.made}
    for rx in workspace.prescriptions:
        medicines = rx.patient.medicines
        if medicines is not None and f"prescription {rx.number}" in subjects:
            yield (
                f"Prescription {rx.number}: checked against the medicines recorded on "
                f"{medicines.asked_on.isoformat()}"
            )
