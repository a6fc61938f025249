"""Reads a manifest that came from anywhere, and refuses what no finished file has.

Its numbers decide how large pages are drawn and how much is looked for, so each is in the range
of what is printed before anything is done with it.
"""

import json
from collections.abc import Iterator
from math import isfinite
from pathlib import Path

from pydantic import ValidationError

from labelkit.checks.opening import MOST_PAGES, MOST_SIDE_PT
from labelkit.ground import door
from labelkit.ground.errors import CheckRefused, Fault
from labelkit.ground.units import MM_PER_INCH, pt_to_mm
from labelkit.manifest.model import Manifest

MOST_BYTES = 64 * 1024 * 1024
"""Of a manifest's file: 500 sheets of a lot have 8 MB."""

MOST_PARTS = 2_000_000
"""Names, values and list entries in all: 500 sheets have under 600,000."""

MOST_ON_PAGE = 10_000
"""Of one kind on one page: a sheet of 30 cells has 230 texts."""

MOST_NUMBER = 100_000
"""No length in millimetres, size, count or resolution comes near it."""

MOST_SIDE_MM = pt_to_mm(MOST_SIDE_PT)
"""Longest side of a page, as of a file that is checked."""

MOST_PIXELS = 150_000_000
"""Of a page at the resolution of its codes: Letter and A4 at 1,200 dpi have 140 million."""

MEND = "give the manifest that was written with the PDF, unchanged: --manifest FILE"


def manifest_of(path: Path) -> Manifest:
    """The manifest in a file. Raises CheckRefused."""
    try:
        stated = door.read_bytes(path, MOST_BYTES)
    except OSError as error:
        raise _refusal(path, "", f"can't be read ({error.strerror or error})") from error
    try:
        tree = json.loads(stated)
    except (ValueError, RecursionError) as error:
        raise _refusal(path, "", f"this is no JSON: {_first_line(error)}") from error
    _refuse_wild(path, tree)
    try:
        manifest = Manifest.model_validate(tree)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        wrong = f"this isn't a manifest of labelkit's: {first['msg']}"
        raise _refusal(path, place, wrong) from error
    _refuse_outsize(path, manifest)
    return manifest


def _refusal(path: Path, field: str, wrong: str) -> CheckRefused:
    return CheckRefused([Fault(str(path), "", field[:200], wrong, MEND)])


def _first_line(error: Exception) -> str:
    first = next(iter(str(error).splitlines()), type(error).__name__)
    return "lists stand too deep in one another" if isinstance(error, RecursionError) else first


def _refuse_wild(path: Path, tree: object) -> None:
    """Refuse more parts than any file has, and numbers that are no length, size or count."""
    parts, stack = 0, [tree]
    while stack:
        value = stack.pop()
        if isinstance(value, dict | list):
            parts += len(value)
            if parts > MOST_PARTS:
                raise _refusal(path, "", f"it holds more than {MOST_PARTS:,} parts")
            stack.extend(value.values() if isinstance(value, dict) else value)
        elif isinstance(value, int | float) and not -MOST_NUMBER <= value <= MOST_NUMBER:
            shown = f"{value:g}" if isinstance(value, float) else "so large a whole number"
            raise _refusal(path, "", f"{shown} is no length, size or count that is printed")


def _refuse_outsize(path: Path, manifest: Manifest) -> None:
    for field, wrong in _outsize(manifest):
        raise _refusal(path, field, wrong)


def _outsize(manifest: Manifest) -> Iterator[tuple[str, str]]:
    """What no page is: place and what is wrong."""
    if not 0 < len(manifest.pages) <= MOST_PAGES:
        yield "pages", f"it has {len(manifest.pages)} pages, not 1 to {MOST_PAGES:,}"
    for number, page in enumerate(manifest.pages):
        place = f"pages.{number}"
        sides = (page.width_mm, page.height_mm)
        if not all(isfinite(side) and 0 < side <= MOST_SIDE_MM for side in sides):
            yield place, f"the page is {sides[0]:g} by {sides[1]:g} mm"
        for name in ("texts", "values", "codes", "empty", "bare", "cuts", "marks", "drawn"):
            if len(getattr(page, name)) > MOST_ON_PAGE:
                yield f"{place}.{name}", f"there are more than {MOST_ON_PAGE:,} on one page"
        for dpi in {code.dpi for code in page.codes}:
            if not dpi >= 72 or sides[0] * sides[1] * (dpi / MM_PER_INCH) ** 2 > MOST_PIXELS:
                yield f"{place}.codes", f"{dpi} dpi is no resolution that this page is printed at"
    for flow in manifest.flows:
        if len(flow.texts) > MOST_ON_PAGE or len(flow.chain) > MOST_ON_PAGE:
            yield "flows", f"there are more than {MOST_ON_PAGE:,} texts or places in one document"
        if any(not 0 <= link.page < len(manifest.pages) for link in flow.chain):
            yield "flows", "a document flows onto a page that there isn't"
