"""Check a file that came from anywhere against its manifest."""

import hashlib
import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from labelkit.checks.model import CheckReport, ScanReport
from labelkit.checks.reading_back import check
from labelkit.checks.scanning import check_scan
from labelkit.ground import door
from labelkit.ground.apart import Died, TookTooLong, TookTooMuch, apart
from labelkit.ground.errors import CheckRefused, Fault
from labelkit.jobs.comparing import compared
from labelkit.jobs.discretion import discreet
from labelkit.jobs.manifests import manifest_of
from labelkit.jobs.publishing import CHECK, MANIFEST
from labelkit.manifest.model import Manifest

SECONDS = 7
"""Processor time that a file may take, and further time for each page that its manifest has:
a page of a finished file takes a tenth of that."""

SECONDS_A_PAGE = 0.5

MORE_BYTES = 800 * 1024 * 1024
"""Memory that looking at a file may take beyond labelkit's own, which is about 100 MB."""

T = TypeVar("T")


SAME_BYTES = "the same bytes as when it was made"
BYTES_UNKNOWN = "no check stands beside it, so nobody can tell whether its bytes are those made"


class FileReport(CheckReport):
    """The answer for one file, with what is known of its bytes and its records."""

    digest: str
    """Whether its bytes are those that its own check was made on, or that nobody can tell."""
    records: str
    """Whether the records stand behind it, or that they weren't named."""


def check_file(pdf: Path, manifest: Path | None = None, records: Path | None = None) -> FileReport:
    """The report on a PDF. `manifest` is the one beside it unless said; `records` the folder of
    records that it is compared with.

    Raises CheckRefused when a file can't be read, isn't a manifest, or was built to
    exhaust who looks at it; when its bytes aren't those of the check beside it; and when
    it was taken out of use or the records don't stand behind it (`jobs.comparing`).
    """
    data = read(pdf, "name a PDF that is there and may be read")
    wanted = manifest_of(manifest or beside(pdf, MANIFEST))
    known = BYTES_UNKNOWN
    if beside(pdf, CHECK).exists():
        check_beside(pdf, hashlib.sha256(data).hexdigest())
        known = SAME_BYTES
    said = compared(pdf, records)
    report = checked(data, wanted)
    return FileReport(**report.model_dump(exclude={"ok"}), digest=known, records=said)


def check_beside(pdf: Path, digest: str) -> dict[str, Any]:
    """What the check beside a file states.

    Raises CheckRefused unless that check is of these very bytes, and found nothing wrong.
    """
    path = beside(pdf, CHECK)
    mend = "make the file again; use only what labelkit made and checked, unchanged"
    try:
        stated = json.loads(read(path, mend))
    except (ValueError, RecursionError) as error:
        raise CheckRefused([Fault(str(path), "", "", "isn't JSON", mend)]) from error
    if not isinstance(stated, dict) or stated.get("sha256") != digest:
        wrong = "the file has changed since it was checked"
        raise CheckRefused([Fault(str(pdf), "", "sha256", wrong, mend)])
    if stated.get("ok") is not True:
        wrong = "its check didn't find it right"
        raise CheckRefused([Fault(str(path), "", "ok", wrong, mend)])
    return stated


def checked(pdf: bytes, manifest: Manifest) -> CheckReport:
    """The report on a PDF, within bounds, that names no patient. Raises CheckRefused."""
    return discreet(bounded(partial(check, pdf, manifest), manifest), manifest)


class ScannedReport(ScanReport):
    """The answer for a scan, with what is known of the records of the file that was printed."""

    records: str
    """Whether the records stand behind that file, or that they weren't named."""


def check_scanned(scan: Path, manifest: Path, records: Path | None = None) -> ScannedReport:
    """The report on a printed and scanned sheet (PNG, or PDF of pictures, at 300 dpi).

    Where the check of the file that was printed stands beside its manifest, it helps to align
    sheets of few codes. Raises CheckRefused when a file can't be read, is no scan, or when the
    file that was printed was taken out of use or the records don't stand behind it.
    """
    data = read(scan, "name a PNG or PDF of the sheet, scanned at 300 dpi")
    said = compared(manifest.with_name(manifest.name.removesuffix(MANIFEST) + ".pdf"), records)
    made = report_in(manifest.with_name(manifest.name.removesuffix(MANIFEST) + CHECK))
    wanted = manifest_of(manifest)
    report = bounded(partial(check_scan, data, wanted, made), wanted)
    return ScannedReport(**report.model_dump(exclude={"ok"}), records=said)


def bounded(work: Callable[[], T], manifest: Manifest) -> T:
    """What `work` gives, in the time and memory that a file of that manifest may take.

    `work` can be pickled, as `apart` asks. Raises CheckRefused where it takes more, or brings the
    library down that looks at it.
    """
    seconds = SECONDS + SECONDS_A_PAGE * len(manifest.pages)
    try:
        return apart(work, seconds, MORE_BYTES)
    except TookTooLong:
        wrong = f"takes more than {seconds:g} s to look at"
    except TookTooMuch:
        wrong = f"takes more than {MORE_BYTES >> 20} MB of memory to look at"
    except Died:
        wrong = "brings the library down that reads it, or fills the memory"
    raise CheckRefused([Fault("the file", "", "", wrong, "don't print it; make it again")])


def report_in(path: Path) -> CheckReport | None:
    """The report that stands in a check's file; None where there is none, or a damaged one."""
    try:
        return report_of(json.loads(door.read_bytes(path)))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def report_of(stated: dict[str, Any]) -> CheckReport:
    """The report among all that a check's file states. Raises KeyError and ValidationError."""
    return CheckReport.model_validate({name: stated[name] for name in CheckReport.model_fields})


def beside(pdf: Path, suffix: str) -> Path:
    """The companion of a PDF that ends in `suffix`."""
    return pdf.with_name(pdf.name.removesuffix(".pdf") + suffix)


def read(path: Path, mend: str) -> bytes:
    """A file's bytes. Raises CheckRefused with `mend`."""
    try:
        return door.read_bytes(path)
    except OSError as error:
        raise CheckRefused(
            [Fault(str(path), "", "", f"can't be read ({error.strerror or error})", mend)]
        ) from error
