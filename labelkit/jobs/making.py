"""One file: from an order to a PDF that was read back and put in place.

The order of work is the promise: manifest first, from the records; then the drawing; then
the finished bytes read back by other people's code and compared with that manifest. A file
that differs is not released, and nothing of it appears in the output folder.
"""

import hashlib
import json
import traceback
from dataclasses import replace
from pathlib import Path

from labelkit.artwork.bare import die_lines
from labelkit.artwork.composing import State, compose
from labelkit.checks.model import CheckReport
from labelkit.checks.proof import proofs
from labelkit.checks.reading_back import check
from labelkit.checks.report import NOT_SECOND_CHECKED
from labelkit.ground.errors import CheckRefused, Fault, Refused
from labelkit.jobs.aligning import aligned
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.discretion import discreet_fault, patients_of
from labelkit.jobs.explaining import reasons
from labelkit.jobs.keeping import digest_if_kept, kept_for, made_from, ordered_from
from labelkit.jobs.order import Order
from labelkit.jobs.own_fonts import with_own_fonts
from labelkit.jobs.publishing import CHECK, DIE_LINES, DRAFTS, MANIFEST, publish
from labelkit.jobs.results import Grade, Made, NotMade, SaidFault
from labelkit.manifest.derive import Heading, derive
from labelkit.manifest.file import written
from labelkit.manifest.model import Manifest
from labelkit.manifest.saying import everything_said
from labelkit.output.pdf import write
from labelkit.wording.model import ReviewState


def make_one(order: Order, out: Path) -> Made | NotMade:
    """Make the file of one order, or say why not; a refusal is a value, so a batch goes on.

    A file that is there already, made from the same records by the same code and untouched
    since, is kept: that is how a batch goes on after it was stopped. A defect of labelkit's own
    refuses the file it meets, and no other.
    """
    try:
        with with_own_fonts(order.workspace):
            return kept_for(order, out) or _made(order, out)
    except Refused as refused:
        faults = refused.faults
    except Exception as error:
        faults = (_defect(order, error),)
    return NotMade(
        artwork=order.artwork,
        subject=order.subject,
        faults=tuple(SaidFault.of(discreet_fault(f, patients_of(order))) for f in faults),
    )


def _made(order: Order, out: Path) -> Made:
    nominal = contents(order)
    held = replace(nominal, layout=aligned(nominal.layout, order.printer))
    state = state_of(held)
    heading = Heading(state, held.layout.title, held.records, held.secrets)
    manifest = derive(held.layout, held.sheets, held.requirements, heading)
    folder = out if state == "made" else out / DRAFTS
    path = folder / f"{order.stem}.pdf"
    made = Made(
        file=path.relative_to(out).as_posix(),
        artwork=order.artwork,
        layout=held.layout.name,
        subject=order.subject,
        language=order.language,
        state=state,
        pages=len(manifest.pages),
        texts=sum(len(p.texts) for p in manifest.pages) + sum(len(f.texts) for f in manifest.flows),
        codes=sum(len(page.codes) for page in manifest.pages),
        sha256="",
        reading_grade=_grade(held),
    )
    stated = written(manifest)
    wanted = made_from(held, stated, order)
    if kept := digest_if_kept(path, wanted):
        return made.model_copy(update={"sha256": kept, "kept": True})
    pdf = write(compose(held.layout, held.sheets, state))
    report = check(pdf, manifest)
    refuse_unless_ok(report, order.stem)
    made = made.model_copy(update={"sha256": hashlib.sha256(pdf).hexdigest()})
    companions = {MANIFEST: stated, **_companions(held, manifest, report, pdf)}
    companions[CHECK] = _check(made, wanted, held, manifest, report, order)
    if order.die_lines:
        companions[DIE_LINES] = write(die_lines(nominal.layout))
    publish(folder, order.stem, pdf, companions)
    return made


def _defect(order: Order, error: Exception) -> Fault:
    """What is said of a defect: its kind and place in the code, never what it was about, which
    may be a patient's."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if "labelkit" in Path(frame.filename).parts] or frames
    where = f"{Path(ours[-1].filename).name}, line {ours[-1].lineno}" if ours else ""
    return Fault(
        f"{order.stem}.pdf",
        "",
        "",
        f"labelkit itself failed while making it ({type(error).__name__} in {where})",
        "tell whoever looks after labelkit; the other files aren't touched by it",
    )


def _grade(held: Contents) -> Grade | None:
    found = held.reading_grade
    return None if found is None else Grade(coleman_liau=found)


def state_of(held: Contents) -> State:
    """``made`` when everything said is accepted wording, else ``draft``."""
    said = everything_said(held.layout, held.sheets)
    return "made" if all(s.state is ReviewState.ACCEPTED for s in said) else "draft"


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
    held: Contents, manifest: Manifest, report: CheckReport, pdf: bytes
) -> dict[str, bytes]:
    pictures = enumerate(proofs(pdf, manifest, report), start=1)
    companions = {f".proof-{number}.png": picture for number, picture in pictures}
    if held.text:
        companions[".txt"] = _text(held, manifest.state).encode()
    return companions


def _check(
    made: Made,
    wanted: str,
    held: Contents,
    manifest: Manifest,
    report: CheckReport,
    order: Order,
) -> bytes:
    checked = {
        "sha256": made.sha256,
        "made_from": wanted,
        "ordered_from": ordered_from(order),
        "made": made.model_dump(mode="json"),
        "second_check": NOT_SECOND_CHECKED,
        "required": [reason.model_dump() for reason in reasons(held, manifest)],
        "made_for_printer": order.printer[0].printer if order.printer else "",
        **report.model_dump(mode="json"),
    }
    return json.dumps(checked, indent=1, ensure_ascii=False).encode()


def _text(held: Contents, state: str) -> str:
    """The text edition, with the draft mark in both languages above it where it is a draft."""
    if state != "draft":
        return held.text
    load = held.sheets[0].pieces[0]
    marks = dict.fromkeys(voice.say("draft.mark").text for voice in (load.patient, load.pharmacy))
    return "\n".join((*marks, "", held.text))
