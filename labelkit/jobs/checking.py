"""Check a file that came from anywhere against its manifest."""

import json
from pathlib import Path

from pydantic import ValidationError

from labelkit.checks.model import CheckReport, ScanReport
from labelkit.checks.reading_back import check
from labelkit.checks.scanning import check_scan
from labelkit.ground import door
from labelkit.ground.errors import CheckRefused, Fault
from labelkit.jobs.publishing import CHECK, MANIFEST
from labelkit.manifest.model import Manifest


def check_file(pdf: Path, manifest: Path | None = None) -> CheckReport:
    """The report on a PDF. `manifest` is the one beside it unless said.

    Raises CheckRefused when a file can't be read, or isn't a manifest.
    """
    data = read(pdf, "name a PDF that is there and may be read")
    return check(data, manifest_of(manifest or beside(pdf, MANIFEST)))


def check_scanned(scan: Path, manifest: Path) -> ScanReport:
    """The report on a printed and scanned sheet (PNG, or PDF of pictures, at 300 dpi).

    Where the check of the file that was printed stands beside its manifest, it helps to align
    sheets of few codes. Raises CheckRefused when a file can't be read, or is no scan.
    """
    data = read(scan, "name a PNG or PDF of the sheet, scanned at 300 dpi")
    made = manifest.with_name(manifest.name.removesuffix(MANIFEST) + CHECK)
    return check_scan(data, manifest_of(manifest), report_in(made))


def report_in(path: Path) -> CheckReport | None:
    """The report that stands in a check's file; None where there is none, or a damaged one."""
    try:
        stated = json.loads(door.read_bytes(path))
        return CheckReport.model_validate({k: stated[k] for k in CheckReport.model_fields})
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def beside(pdf: Path, suffix: str) -> Path:
    """The companion of a PDF that ends in `suffix`."""
    return pdf.with_name(pdf.name.removesuffix(".pdf") + suffix)


def manifest_of(path: Path) -> Manifest:
    """The manifest in a file. Raises CheckRefused."""
    stated = read(path, "give the manifest that was written with it: --manifest FILE")
    try:
        return Manifest.model_validate_json(stated)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise CheckRefused(
            [
                Fault(
                    str(path),
                    "",
                    place,
                    f"this isn't a manifest of labelkit's: {first['msg']}",
                    "give the manifest that was written with the PDF, unchanged",
                )
            ]
        ) from error


def read(path: Path, mend: str) -> bytes:
    """A file's bytes. Raises CheckRefused with `mend`."""
    try:
        return door.read_bytes(path)
    except OSError as error:
        raise CheckRefused(
            [Fault(str(path), "", "", f"can't be read ({error.strerror or error})", mend)]
        ) from error
