"""Takes files out of the artwork folder that mustn't be used any more, and keeps them apart.

A file that was never printed, as far as labelkit knows, goes to ``withdrawn/``; one that was, to
``superseded/``: its paper is about. Each has a folder of its own there, with all its companions and
a note of when, why and for which record. The folder appears whole, in one step, before the file
goes from where it stood, PDF first. A call that is killed in between leaves the file where it was,
to be judged anew by the next one, or gone; never half of it.
"""

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import CheckRefused, Fault
from labelkit.jobs.belonging import Belonging, belonging_of
from labelkit.jobs.discretion import patients_in, unnamed
from labelkit.jobs.manifests import manifest_of
from labelkit.jobs.order import Order, stem
from labelkit.jobs.prints import printed
from labelkit.jobs.publishing import (
    DRAFTS,
    MANIFEST,
    PRINTED,
    SUPERSEDED,
    WITHDRAWN,
    OutputRefused,
    companions,
    remove_file,
    unwritable,
)
from labelkit.jobs.results import Made, NotMade, Withdrawn
from labelkit.jobs.standing import REFUSED, Objection, Standing, against
from labelkit.jobs.wishes import ARTWORKS, Wish
from labelkit.manifest.model import Manifest

NOTE = "withdrawn.json"
"""In the folder of each file that was taken away: when, why, for which record, and what to do."""

REPLACED = "replaced"
WORDING = "wording"
"""Why a file mustn't be used: another was made in its stead, or its words' acceptance changed."""

PAPER = {
    "lidding": "in a drawer, destroy it; on a card that was sealed, take the card out of use",
    "sleeve": "in a drawer, destroy it; with the patient, call the patient",
    "leaflet": "in a drawer, destroy it; with the patient, call the patient",
    "pad": "in a drawer, destroy it; with a prescriber, call the prescriber",
}
"""What is done about paper, by the kind of artwork: common practice, no source."""


def withdraw(out: Path, standing: Standing, wish: Wish) -> Iterator[Withdrawn]:
    """Take away what the records say no to, of all files of this workspace that the call judges.

    Raises OutputRefused.
    """
    others = _others(standing, wish)
    for folder in (out, out / DRAFTS):
        for manifest in door.listed(folder, f"*{MANIFEST}"):
            name = manifest.name.removesuffix(MANIFEST)
            pdf = folder / f"{name}.pdf"
            if name in others or not pdf.exists():
                continue
            file = belonging_of(pdf)
            if standing.knows(file) and standing.asked(file, wish):
                objection = standing.objection(file)
                if objection is not None:
                    yield set_aside(out, pdf, objection, file)


def _others(standing: Standing, wish: Wish) -> frozenset[str]:
    """Names of files that a call for some prescriptions needn't open to know that they are those
    of other records, which are there: the folder may hold very many."""
    if wish.everything or wish.lots:
        return frozenset()
    numbers = {rx.number for rx in standing.workspace.prescriptions} - set(wish.rx)
    return frozenset(stem(artwork, f"rx{n}") for n in numbers for artwork in ARTWORKS)


def after_making(out: Path, order: Order, result: Made | NotMade) -> Iterator[Withdrawn]:
    """Take away what the making of an order's file showed to be out of use: the older file, where
    this one was refused; its draft, where its words were accepted since, and the other way round.

    Raises OutputRefused.
    """
    places = {state: out / folder / f"{order.stem}.pdf" for state, folder in _PLACES.items()}
    if isinstance(result, NotMade):
        if not result.failed:
            objection = against(REFUSED, (said.fault for said in result.faults))
            for pdf in places.values():
                yield from _if_there(out, pdf, objection)
    elif result.state == "draft":
        yield from _if_there(
            out, places["made"], Objection(WORDING, ("its wording isn't accepted any more",))
        )
    else:
        yield from _if_there(
            out, places["draft"], Objection(WORDING, ("its wording was accepted since",))
        )


_PLACES = {"made": "", "draft": DRAFTS}


def supersede_printed(out: Path, pdf: Path) -> tuple[Withdrawn, ...]:
    """Keep a printed file apart before another takes its name. Raises OutputRefused."""
    if not pdf.exists() or not printed(pdf, _sha256(pdf)):
        return ()
    wrong = "it was made anew from the same facts: its words, its layout or labelkit changed"
    return (set_aside(out, pdf, Objection(REPLACED, (wrong,)), belonging_of(pdf)),)


def _if_there(out: Path, pdf: Path, objection: Objection) -> Iterator[Withdrawn]:
    if pdf.exists():
        yield set_aside(out, pdf, objection, belonging_of(pdf))


def set_aside(out: Path, pdf: Path, objection: Objection, file: Belonging) -> Withdrawn:
    """Move one file with its companions out of use. Raises OutputRefused."""
    name = pdf.name.removesuffix(".pdf")
    try:
        sha256 = _sha256(pdf)
        prints = printed(pdf, sha256)
        place = out / (SUPERSEDED if prints else WITHDRAWN)
        kept = _kept(place, pdf)
        manifest = _manifest(pdf)
        told = Withdrawn(
            file=pdf.relative_to(out).as_posix(),
            to=f"{kept.relative_to(out).as_posix()}/{pdf.name}",
            state=place.name,
            artwork=file.artwork,
            subject=subject(file),
            why=objection.why,
            reasons=_discreet(objection.reasons, manifest),
            prints=prints,
            advice=_advice(file.artwork, prints),
        )
        if not kept.exists():
            _keep(kept, pdf, _note(told, sha256, file, manifest))
        remove_file(pdf.parent, name)
        pdf.with_name(name + PRINTED).unlink(missing_ok=True)
    except OSError as error:
        raise OutputRefused([unwritable(pdf, error)]) from error
    return told


def subject(file: Belonging) -> str:
    """Whom or what a file is for, as results say it."""
    kind, name = file.record
    return name if kind == "preparation" else f"{kind} {name}".strip()


def refuse_withdrawn(pdf: Path) -> None:
    """Raise CheckRefused for a file that stands where those do that were taken out of use."""
    path = pdf.with_name(NOTE)
    if not path.exists():
        return
    try:
        stated = json.loads(door.read_bytes(path))
        wrong = f"it is {stated['state']}, since {stated['at']}: {' '.join(stated['reasons'])}"
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        wrong = f"it stands beside a note ({NOTE}) that it was taken out of use"
    raise CheckRefused([_fault(pdf, wrong.rstrip("."))])


def _fault(pdf: Path, wrong: str) -> Fault:
    return Fault(str(pdf), "", "", wrong, "don't use it; make it again from the records")


def _kept(place: Path, pdf: Path) -> Path:
    """A folder for the file: the next number's, or the last one's where the file is in it under a
    second name, as after a call that was killed before it had removed the first."""
    name, number = pdf.name.removesuffix(".pdf"), 1
    while (place / f"{name}.{number}").exists():
        number += 1
    last = place / f"{name}.{number - 1}"
    begun = (last / pdf.name).exists() and pdf.samefile(last / pdf.name)
    return last if begun else place / f"{name}.{number}"


def _keep(kept: Path, pdf: Path, note: bytes) -> None:
    """The file, its companions and the note in a new folder that appears whole."""
    name = pdf.name.removesuffix(".pdf")
    begun = kept.with_name(f"{door.PART}{kept.name}")
    # One by one: what is made on the way to a folder gets no mode of its own.
    door.make_folder(kept.parent)
    door.make_folder(begun)
    try:
        door.write_whole(begun / NOTE, note)
        beside = (*companions(pdf.parent, name), pdf.with_name(name + PRINTED))
        for path in (pdf, *(one for one in beside if one.exists())):
            door.same_file(path, begun / path.name)
        begun.replace(kept)
    except BaseException:
        door.remove_folder(begun)
        raise


def _note(told: Withdrawn, sha256: str, file: Belonging, manifest: Manifest | None) -> bytes:
    serials = manifest.serials if manifest else ()
    stated = {
        "at": door.now().isoformat(timespec="seconds"),
        **told.model_dump(mode="json"),
        "sha256": sha256,
        "records": list(file.records),
        "serials": [serials[0], serials[-1]] if serials else [],
    }
    return json.dumps(stated, indent=1, ensure_ascii=False).encode()


def _advice(artwork: str, prints: tuple[str, ...]) -> str:
    paper = PAPER.get(artwork, "in a drawer, destroy it; with somebody, call them")
    when = "find its paper" if prints else "if it was printed, find the paper"
    return f"{when}: {paper}"


def _discreet(reasons: tuple[str, ...], manifest: Manifest | None) -> tuple[str, ...]:
    known = patients_in(manifest) if manifest else ()
    return tuple(unnamed(reason, known) for reason in reasons)


def _manifest(pdf: Path) -> Manifest | None:
    try:
        return manifest_of(pdf.with_name(pdf.name.removesuffix(".pdf") + MANIFEST))
    except CheckRefused:
        return None


def _sha256(pdf: Path) -> str:
    return hashlib.sha256(door.read_bytes(pdf)).hexdigest()
