"""How a file asks to be shown and printed, and what it keeps besides its pages.

Only what a released file holds is let through: other programs' entries in the catalog or on a
page, an older version under the present one, words behind its end are told by name.
"""

import re
from collections.abc import Iterator

import pikepdf

from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.structure import other_size
from labelkit.manifest.model import Manifest

_CATALOG = frozenset(
    (
        *("/Type", "/Version", "/Extensions", "/Pages", "/Metadata", "/Lang"),
        *("/ViewerPreferences", "/MarkInfo", "/StructTreeRoot", "/Outlines"),
        *("/PageMode", "/PageLayout", "/OutputIntents"),
    )
)
"""Entries of the catalog that neither act nor lead anywhere: ISO 32000-1, table 28."""

_PAGE = frozenset(
    (
        *("/Type", "/Parent", "/LastModified", "/Resources", "/Contents", "/Group"),
        *("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox", "/Rotate", "/UserUnit"),
        *("/StructParents", "/Tabs", "/Metadata", "/Annots"),
    )
)
"""The same of a page: ISO 32000-1, table 30. What of them may be wrong is looked at elsewhere."""

_PREFERENCES = frozenset(["/DisplayDocTitle", "/PrintScaling", "/Duplex", "/Direction"])
"""How a released file may ask to be shown and printed: ISO 32000-1, table 150."""

_DUPLEX = {"short-edge": "/DuplexFlipShortEdge", "long-edge": "/DuplexFlipLongEdge"}

_END = re.compile(rb"startxref\s+\d+\s+%%EOF")
_LETTERS = 6
"""Letters from which a secret in the plain bytes of a file is no chance."""


def check_building(pdf: bytes, structure: pikepdf.Pdf, manifest: Manifest) -> list[Finding]:
    """Everything wrong with what a file asks for, and with what it keeps besides its pages."""
    return [
        *_entries(structure),
        *_inks(structure),
        *_outer_boxes(structure, manifest),
        *_asked(structure, manifest),
        *_told(structure, manifest),
        *_kept(pdf, structure, manifest),
    ]


def _entries(structure: pikepdf.Pdf) -> Iterator[Finding]:
    unknown = {f"the catalog's {key}" for key in set(structure.Root.keys()) - _CATALOG}
    for page in structure.pages:
        # An empty transition, as some programs write one, asks for nothing.
        held = {key for key, value in page.obj.items() if value != pikepdf.Dictionary()}
        unknown |= {f"a page's {key}" for key in held - _PAGE}
    for entry in sorted(unknown):
        yield sentence(
            FindingKind.ACTIVE_CONTENT,
            0,
            f"holds {entry}, which no label needs",
            expected="pages and how to print them",
            found=entry,
        )


def _inks(structure: pikepdf.Pdf) -> Iterator[Finding]:
    """Colours that a press prints with a plate of their own, whatever a screen shows."""
    for number, page in enumerate(structure.pages, start=1):
        held = page.obj.get("/Resources", pikepdf.Dictionary())
        for _, space in held.get("/ColorSpace", pikepdf.Dictionary()).items():
            if isinstance(space, pikepdf.Array) and str(space[0]) in ("/Separation", "/DeviceN"):
                yield sentence(
                    FindingKind.INK_EXTRA,
                    number,
                    f"paints in an ink of its own ({space[1]}), which may not be black",
                    expected="one ink",
                    found=str(space[1]),
                )
                return


def _outer_boxes(structure: pikepdf.Pdf, manifest: Manifest) -> Iterator[Finding]:
    for number, (page, wanted) in enumerate(zip(structure.pages, manifest.pages, strict=False)):
        for name in ("/BleedBox", "/ArtBox"):
            if name in page.obj and (off := other_size(number, name[1:], page.obj[name], wanted)):
                yield off


def _asked(structure: pikepdf.Pdf, manifest: Manifest) -> Iterator[Finding]:
    """What a printer is asked besides the actual size."""
    asked = structure.Root.get("/ViewerPreferences", pikepdf.Dictionary())
    found = [key[1:] for key in sorted(set(asked.keys()) - _PREFERENCES)]
    duplex = str(asked.get("/Duplex", "/Simplex"))
    if duplex != _DUPLEX.get(manifest.turned, "/Simplex"):
        found.append(f"Duplex {duplex[1:]}")
    if found:
        wanted = f"turned over its {manifest.turned}" if manifest.turned else "one side"
        yield sentence(
            FindingKind.PRINTING_ASKED,
            0,
            f"asks to be printed otherwise than its layout is made: {', '.join(found)}",
            expected=f"{wanted}, all pages, once",
            found=", ".join(found),
        )


def _told(structure: pikepdf.Pdf, manifest: Manifest) -> Iterator[Finding]:
    """The title and language by which a person and a voice know the file."""
    info = structure.trailer.get("/Info", pikepdf.Dictionary())
    title = str(info.get("/Title", ""))
    if title != manifest.title:
        yield sentence(
            FindingKind.TITLE_OTHER, 0, "has another title", expected=manifest.title, found=title
        )
    language = str(structure.Root.get("/Lang", ""))
    if manifest.language and language.split("-")[0] != manifest.language.split("-")[0]:
        yield sentence(
            FindingKind.TAGS_WRONG,
            0,
            f"says that its language is {language or 'unknown'}: a voice would read it wrongly",
            expected=manifest.language,
            found=language or "none",
        )


def _kept(pdf: bytes, structure: pikepdf.Pdf, manifest: Manifest) -> Iterator[Finding]:
    """What a file holds outside its present pages."""
    ends = list(_END.finditer(pdf))
    if len(ends) > (2 if structure.is_linearized else 1):
        yield sentence(
            FindingKind.METADATA,
            0,
            "holds an older version of itself under the present one",
            expected="one version",
            found=f"{len(ends)} versions",
        )
    if ends and pdf[ends[-1].end() :].strip():
        yield sentence(
            FindingKind.METADATA,
            0,
            "goes on behind its end",
            expected="nothing behind the end",
            found=f"{len(pdf) - ends[-1].end()} bytes",
        )
    for secret in manifest.secrets:
        plain = secret.encode(), secret.encode("utf-16-be")
        if sum(c.isalpha() for c in secret) >= _LETTERS and any(words in pdf for words in plain):
            yield sentence(
                FindingKind.METADATA,
                0,
                "tells something of the patient in its plain bytes",
                expected="metadata without patient data",
                found="a comment or an object of no page",
            )
            return
