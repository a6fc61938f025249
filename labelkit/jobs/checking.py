"""Check a file that came from anywhere against its manifest."""

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


def check_file(pdf: Path, manifest: Path | None = None) -> CheckReport:
    """The report on a PDF. `manifest` is the one beside it unless said.

    Raises CheckRefused when a file can't be read, isn't a manifest, or was built to
    exhaust who looks at it.
    """
    data = read(pdf, "name a PDF that is there and may be read")
    wanted = manifest_of(manifest or beside(pdf, MANIFEST))
    return checked(data, wanted)


def checked(pdf: bytes, manifest: Manifest) -> CheckReport:
    """The report on a PDF, within bounds, that names no patient. Raises CheckRefused."""
    return discreet(bounded(partial(check, pdf, manifest), manifest), manifest)


def check_scanned(scan: Path, manifest: Path) -> ScanReport:
    """The report on a printed and scanned sheet (PNG, or PDF of pictures, at 300 dpi).

    Where the check of the file that was printed stands beside its manifest, it helps to align
    sheets of few codes. Raises CheckRefused when a file can't be read, or is no scan.
    """
    data = read(scan, "name a PNG or PDF of the sheet, scanned at 300 dpi")
    made = report_in(manifest.with_name(manifest.name.removesuffix(MANIFEST) + CHECK))
    wanted = manifest_of(manifest)
    return bounded(partial(check_scan, data, wanted, made), wanted)


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
