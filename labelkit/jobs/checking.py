"""Check a file that came from anywhere against its manifest."""

from pathlib import Path

from pydantic import ValidationError

from labelkit.checks.model import CheckReport
from labelkit.checks.reading_back import check
from labelkit.ground import door
from labelkit.ground.errors import CheckRefused, Fault
from labelkit.jobs.publishing import MANIFEST
from labelkit.manifest.model import Manifest


def check_file(pdf: Path, manifest: Path | None = None) -> CheckReport:
    """The report on a PDF. `manifest` is the one beside it unless said.

    Raises CheckRefused when a file can't be read, or isn't a manifest.
    """
    beside = manifest or pdf.with_name(pdf.name.removesuffix(".pdf") + MANIFEST)
    data = _read(pdf, "name a PDF that is there and may be read")
    stated = _read(beside, "give the manifest that was written with it: --manifest FILE")
    try:
        parsed = Manifest.model_validate_json(stated)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise CheckRefused(
            [
                Fault(
                    str(beside),
                    "",
                    place,
                    f"this isn't a manifest of labelkit's: {first['msg']}",
                    "give the manifest that was written with the PDF, unchanged",
                )
            ]
        ) from error
    return check(data, parsed)


def _read(path: Path, mend: str) -> bytes:
    try:
        return door.read_bytes(path)
    except OSError as error:
        raise CheckRefused(
            [Fault(str(path), "", "", f"can't be read ({error.strerror or error})", mend)]
        ) from error
