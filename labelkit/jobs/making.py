"""One file: from an order to a PDF that was read back and put in place.

The order of work is the promise: manifest first, from the records; then the drawing; then
the finished bytes read back by other people's code and compared with that manifest. A file
that differs is not released, and nothing of it appears in the output folder.
"""

import hashlib
import json
from pathlib import Path

from labelkit.artwork.composing import State, compose
from labelkit.checks.model import CheckReport
from labelkit.checks.proof import proofs
from labelkit.checks.reading_back import check
from labelkit.ground.errors import CheckRefused, Fault, Refused
from labelkit.jobs.contents import Contents
from labelkit.jobs.orders import Order
from labelkit.jobs.publishing import MANIFEST, publish
from labelkit.jobs.results import Made, NotMade, SaidFault
from labelkit.manifest.derive import Heading, derive, everything_said
from labelkit.manifest.model import Manifest
from labelkit.output.pdf import write
from labelkit.wording.model import ReviewState

DRAFTS = "drafts"
"""Folder, inside the output folder, of artwork whose wording nobody accepted."""


def state_of(contents: Contents) -> State:
    """``made`` when everything said is accepted wording, else ``draft``."""
    said = everything_said(contents.layout, contents.sheets)
    return "made" if all(s.state is ReviewState.ACCEPTED for s in said) else "draft"


def make_one(order: Order, out: Path) -> Made | NotMade:
    """Make the file of one order, or say why not; a refusal is a value, so a batch goes on."""
    try:
        contents = order.contents()
        state = state_of(contents)
        manifest = derive(
            contents.layout,
            contents.sheets,
            contents.requirements,
            Heading(state, contents.layout.title, contents.records, contents.secrets),
        )
        pdf = write(compose(contents.layout, contents.sheets, state))
        report = check(pdf, manifest)
        refuse_unless_ok(report, order.stem)
        folder = out if state == "made" else out / DRAFTS
        path = publish(folder, order.stem, pdf, _companions(contents, manifest, report, pdf))
    except Refused as refused:
        return NotMade(
            artwork=order.artwork,
            subject=order.subject,
            faults=tuple(SaidFault.of(fault) for fault in refused.faults),
        )
    return Made(
        file=str(path.relative_to(out)),
        artwork=order.artwork,
        layout=contents.layout.name,
        subject=order.subject,
        language=order.language,
        state=state,
        pages=len(manifest.pages),
        texts=report.counts.texts,
        codes=report.counts.codes,
        sha256=hashlib.sha256(pdf).hexdigest(),
    )


def refuse_unless_ok(report: CheckReport, file: str) -> None:
    """Raise CheckRefused with every finding of a report that isn't clean."""
    if report.ok:
        return
    raise CheckRefused(
        Fault(
            f"{file}.pdf",
            "",
            finding.kind.value,
            finding.sentence.rstrip("."),
            "don't print it; mend the record or layout named, and make it again",
        )
        for finding in report.findings
    )


def _companions(
    contents: Contents, manifest: Manifest, report: CheckReport, pdf: bytes
) -> dict[str, bytes]:
    checked = {
        "sha256": hashlib.sha256(pdf).hexdigest(),
        "second_check": "not second-checked",
        **report.model_dump(mode="json"),
    }
    companions = {
        MANIFEST: manifest.model_dump_json(indent=1).encode(),
        ".check.json": json.dumps(checked, indent=1, ensure_ascii=False).encode(),
    }
    for number, picture in enumerate(proofs(pdf, manifest, report), start=1):
        companions[f".proof-{number}.png"] = picture
    if contents.text:
        companions[".txt"] = contents.text.encode()
    return companions
