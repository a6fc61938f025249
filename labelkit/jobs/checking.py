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
    data = read(pdf, "name a PDF that is there and may be read")
    return check(data, manifest_of(manifest or beside(pdf, MANIFEST)))


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
