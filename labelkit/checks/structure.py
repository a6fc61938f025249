"""How the file is built: page boxes, what could act or hide, metadata, printing.

Looks at every object of the file, reachable or not: what is only hidden is still handed on
with the file.
"""

import re
from collections.abc import Iterable, Iterator
from typing import SupportsFloat
from unicodedata import combining, normalize

import pikepdf

from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.opening import refusal
from labelkit.ground.units import pt_to_mm
from labelkit.manifest.model import Manifest, ManifestPage

SIZE_SLACK_MM = 0.1
"""How far a page's box may be from the stock: a tenth of what a printer's feed varies."""

_ACTIVE = {
    "/JavaScript": "a script",
    "/Launch": "an action that starts a program",
    "/URI": "a link to the web",
    "/GoToR": "a link to another file",
    "/GoToE": "a link to an embedded file",
    "/SubmitForm": "a form that sends data",
    "/ImportData": "an action that reads data",
    "/Rendition": "a multimedia action",
    "/Sound": "a sound",
    "/Movie": "a film",
}
"""Action types: ISO 32000-1, table 198."""

_FORBIDDEN_KEYS = {
    "/AcroForm": "a form",
    "/OCProperties": "layers that can be switched off",
    "/AA": "actions on opening or closing",
    "/EmbeddedFiles": "attachments",
    "/JavaScript": "scripts",
    "/Collection": "a collection of files",
    "/AF": "associated files",
    "/XFA": "a form",
    "/JS": "a script",
}


_SUSPECT = re.compile(
    "|".join(
        rf"{name}\b" for name in (*_ACTIVE, *_FORBIDDEN_KEYS, "/Annots", "/Metadata", "/Filespec")
    ).encode()
)

_MALFORMED = (TypeError, ValueError, KeyError, IndexError, AttributeError, ArithmeticError)
"""What asking a broken object for what it should have brings."""

MOST_METADATA = 200_000
"""Bytes of compressed metadata that are read; released files have some hundreds."""

MOST_NESTED = 50
"""How deep dictionaries and arrays written inside one object may nest."""


SHORT_SECRET = 8
"""Letters and digits under which a secret is looked for as words, not inside others."""


def check_structure(structure: pikepdf.Pdf, manifest: Manifest) -> list[Finding]:
    """Everything wrong with how the file is built.

    Raises CheckRefused where an object isn't of the kind its place asks for: such a file is
    broken, and different programs mend it differently.
    """
    try:
        return _checked(structure, manifest)
    except _MALFORMED as error:
        raise refusal(
            f"holds an object of the wrong kind ({type(error).__name__})", "make it again"
        ) from error


def _checked(structure: pikepdf.Pdf, manifest: Manifest) -> list[Finding]:
    findings = [f for n, page in enumerate(structure.pages) for f in _boxes(page, n, manifest)]
    findings += _objects(structure, manifest)
    findings += _document_information(structure, manifest)
    preferences = structure.Root.get("/ViewerPreferences", pikepdf.Dictionary())
    if str(preferences.get("/PrintScaling", "")) != "/None":
        findings.append(
            sentence(
                FindingKind.PRINT_SCALING,
                0,
                "doesn't ask to be printed at its actual size",
                expected="/PrintScaling /None",
                found=str(preferences.get("/PrintScaling", "nothing")),
            )
        )
    return findings


def other_size(
    number: int, name: str, box: Iterable[SupportsFloat], wanted: ManifestPage
) -> Finding | None:
    """The finding for a box (left, bottom, right, top in points) of another size than the stock."""
    left, bottom, right, top = (float(side) for side in box)
    width, height = pt_to_mm(right - left), pt_to_mm(top - bottom)
    if max(abs(width - wanted.width_mm), abs(height - wanted.height_mm)) <= SIZE_SLACK_MM:
        return None
    return sentence(
        FindingKind.PAGE_SIZE,
        number + 1,
        f"its {name} is {width:.1f} by {height:.1f} mm, not the stock's "
        f"{wanted.width_mm:.1f} by {wanted.height_mm:.1f} mm",
        expected=f"{wanted.width_mm:.1f} x {wanted.height_mm:.1f} mm",
        found=f"{width:.1f} x {height:.1f} mm",
    )


def _boxes(page: pikepdf.Page, number: int, manifest: Manifest) -> Iterator[Finding]:
    if number >= len(manifest.pages):
        return
    wanted = manifest.pages[number]
    for name in ("mediabox", "cropbox", "trimbox"):
        if off := other_size(number, name, getattr(page, name), wanted):
            yield off
            return
    turned, unit = page.obj.get("/Rotate", 0), page.obj.get("/UserUnit", 1)
    if int(turned) % 360 or float(unit) != 1:
        yield sentence(
            FindingKind.PAGE_SIZE,
            number + 1,
            f"is turned by {turned} degrees or has its own unit ({unit})",
            expected="not turned",
            found=f"Rotate {turned}, UserUnit {unit}",
        )


def _objects(structure: pikepdf.Pdf, manifest: Manifest) -> Iterator[Finding]:
    """Findings in each object of the file, each kind of thing told once.

    An object's text is searched first, as qpdf writes it with all escapes undone: a file of
    500 sheets has ten thousand objects, and hardly one that needs a closer look.
    """
    told: set[str] = set()
    for found in structure.objects:
        if not isinstance(found, (pikepdf.Dictionary, pikepdf.Stream, pikepdf.Array)):
            continue
        shell = found.stream_dict if isinstance(found, pikepdf.Stream) else found
        if not _SUSPECT.search(shell.unparse(resolved=True)):
            continue
        for finding in _object(found, manifest, MOST_NESTED):
            if finding.sentence not in told:
                told.add(finding.sentence)
                yield finding


def _object(found: pikepdf.Object, manifest: Manifest, deep: int) -> Iterator[Finding]:
    """Findings in one object and in what is written directly inside it."""
    if isinstance(found, pikepdf.Array):
        children = list(found)
    elif isinstance(found, (pikepdf.Dictionary, pikepdf.Stream)):
        yield from _dictionary(found, manifest)
        children = [value for _, value in found.items()]
    else:
        return
    if not deep:
        yield _active("objects nested deeper than anything printable needs")
        return
    for child in children:
        if isinstance(child, pikepdf.Object) and not child.is_indirect:
            yield from _object(child, manifest, deep - 1)


def _dictionary(found: pikepdf.Object, manifest: Manifest) -> Iterator[Finding]:
    keys = set(found.keys())
    for key in sorted(keys & _FORBIDDEN_KEYS.keys()):
        yield _active(_FORBIDDEN_KEYS[key])
    if str(found.get("/S", "")) in _ACTIVE:
        yield _active(_ACTIVE[str(found["/S"])])
    if "/Annots" in keys and len(found["/Annots"]):
        yield _active("links or comments on a page")
    match str(found.get("/Type", "")):
        case "/Metadata" if isinstance(found, pikepdf.Stream):
            if len(found.read_raw_bytes()) > MOST_METADATA:
                yield _active("metadata too large to be read")
            else:
                text = bytes(found.read_bytes()).decode("utf-8", "replace")
                yield from _secrets("the XMP metadata", text, manifest)
        case "/Filespec" | "/EmbeddedFile":
            yield _active("attachments")


def _active(what: str) -> Finding:
    return sentence(
        FindingKind.ACTIVE_CONTENT,
        0,
        f"holds {what}",
        expected="nothing that acts, hides or leads elsewhere",
        found=what,
    )


def _document_information(structure: pikepdf.Pdf, manifest: Manifest) -> Iterator[Finding]:
    info = structure.trailer.get("/Info", pikepdf.Dictionary())
    for key, value in info.items():
        yield from _secrets(f"the document information ({key})", str(value), manifest)
    bookmarks = list(structure.open_outline().root)
    for item in bookmarks:
        yield from _secrets("a bookmark", item.title, manifest)
        bookmarks += item.children


def _secrets(place: str, text: str, manifest: Manifest) -> Iterator[Finding]:
    told = re.sub(r"<[^>]*>", " ", text)
    for secret in manifest.secrets:
        if _tells(told, secret):
            yield sentence(
                FindingKind.METADATA,
                0,
                f"tells something of the patient in {place}",
                expected="metadata without patient data",
                found=place,
            )
            return


def _tells(text: str, secret: str) -> bool:
    """Whether a text holds a secret in any spelling. A number, or a name as short as Bo Li, only
    as words of its own: an identifier may hold any digits, and a title any few letters."""
    if secret.isdigit() or len(_bare(secret)) < SHORT_SECRET:
        return f" {_words(secret)} " in f" {_words(text)} "
    return _bare(secret) in _bare(text)


def _words(text: str) -> str:
    """The words alone, without accents, case and signs, one space between."""
    kept = normalize("NFKD", text).casefold()
    return " ".join("".join(c if c.isalnum() else " " for c in kept if not combining(c)).split())


def _bare(text: str) -> str:
    """Letters and digits alone, without accents and case."""
    return "".join(c for c in normalize("NFKD", text).casefold() if c.isalnum())
