"""A released file to the printer, the same bytes that were checked.

Sends nothing else: a draft, a file that changed since it was checked, one that doesn't pass
the check again now, or one whose records say something else, is refused. It is checked right
before it is sent, from its manifest, and the bytes that were checked are the bytes that go.
"""

import hashlib
import io
from pathlib import Path

import pikepdf

from labelkit.checks.report import NOT_SECOND_CHECKED
from labelkit.ground import door
from labelkit.ground.errors import CheckRefused, Fault
from labelkit.jobs import ipp
from labelkit.jobs.checking import beside, check_beside, checked, read
from labelkit.jobs.comparing import compared
from labelkit.jobs.making import refuse_unless_ok
from labelkit.jobs.manifests import manifest_of
from labelkit.jobs.prints import Print, note
from labelkit.jobs.publishing import MANIFEST, PRINTED
from labelkit.jobs.results import Result
from labelkit.manifest.model import Manifest

SIDES = {
    "/DuplexFlipLongEdge": "two-sided-long-edge",
    "/DuplexFlipShortEdge": "two-sided-short-edge",
}
"""What the file says of its sides (ISO 32000-1, table 150) in IPP's words (RFC 8011, 5.2.8)."""


class Printed(Result):
    """What a printer took."""

    file: str
    to: str
    job: int
    pages: int
    width_mm: float
    height_mm: float
    sides: str
    sha256: str
    made_for: str
    """Aligned printer that the file was made for; empty: none in particular."""
    records: str
    """Whether the records stand behind the file, or that they weren't named."""
    second_check: str = NOT_SECOND_CHECKED


def print_file(pdf: Path, uri: str, records: Path | None = None) -> Printed:
    """Send a released file to an IPP printer: one copy, actual size, on its stock.

    Raises CheckRefused where the file isn't released, isn't the one that was checked, doesn't
    pass now, was taken out of use, or the records in the folder `records` don't stand behind
    it; PrinterRefused where the printer can't do it or says no; OutputRefused where the print
    can't be noted beside the file, which is done before anything is sent.
    """
    ipp.refuse_bad_address(uri)
    data = read(pdf, "name a PDF that is there and may be read")
    manifest = manifest_of(beside(pdf, MANIFEST))
    _refuse_draft(pdf, manifest)
    digest = hashlib.sha256(data).hexdigest()
    made_for = str(check_beside(pdf, digest).get("made_for_printer", ""))
    said = compared(pdf, records)
    refuse_unless_ok(checked(data, manifest), pdf.stem)
    ticket = _ticket(data, manifest)
    dpi = ipp.resolution(uri, pdf.parent, ticket)
    begun = Print(
        at=door.now().isoformat(timespec="seconds"),
        to=ipp.shown(uri),
        sha256=digest,
        pages=len(manifest.pages),
    )
    _noted(pdf, begun)
    job = ipp.send(uri, pdf.parent, data, ticket, dpi)
    _noted(pdf, begun.model_copy(update={"job": job}))
    return Printed(
        file=str(pdf),
        to=begun.to,
        job=job,
        pages=len(manifest.pages),
        width_mm=ticket.width_mm,
        height_mm=ticket.height_mm,
        sides=ticket.sides,
        sha256=digest,
        made_for=made_for,
        records=said,
    )


def _noted(pdf: Path, one: Print) -> None:
    try:
        note(pdf, one)
    except ValueError as error:
        mend = "find out what was printed of it; then move that file away"
        raise CheckRefused([Fault(str(beside(pdf, PRINTED)), "", "", str(error), mend)]) from error


def _refuse_draft(pdf: Path, manifest: Manifest) -> None:
    if manifest.state != "made":
        wrong = f"this is a {manifest.state}, and drafts are never printed"
        mend = "accept its wording (labelkit wording) and make it again"
        raise CheckRefused([Fault(str(pdf), "", "state", wrong, mend)])


def _ticket(data: bytes, manifest: Manifest) -> ipp.Ticket:
    """What the file needs of the printer; all its pages are of one stock."""
    with pikepdf.open(io.BytesIO(data)) as document:
        preferences = document.Root.get("/ViewerPreferences", pikepdf.Dictionary())
        duplex = str(preferences.get("/Duplex", ""))
    width_mm, height_mm = sorted((manifest.pages[0].width_mm, manifest.pages[0].height_mm))
    codes = [code.dpi for page in manifest.pages for code in page.codes]
    return ipp.Ticket(
        name=f"labelkit {manifest.artwork}",
        width_mm=width_mm,
        height_mm=height_mm,
        sides=SIDES.get(duplex, "one-sided"),
        dpi=max(codes, default=0),
    )
