"""What the checker answers with: findings, counts, and whether the file may be released.

A finding is one thing that is wrong on the finished file, said so that a person can look at
the place and mend it. There are no warnings: what is found is wrong.
"""

from enum import StrEnum

from pydantic import computed_field

from labelkit.manifest.model import Part, Place


class FindingKind(StrEnum):
    """What can be wrong with a finished file."""

    PAGES_DIFFER = "pages-differ"
    PAGE_SIZE = "page-size"
    TEXT_MISSING = "text-missing"
    TEXT_OUTSIDE = "text-outside"
    TEXT_HIDDEN = "text-hidden"
    TEXT_FAINT = "text-faint"
    TEXT_SMALL = "text-small"
    TEXT_DISTORTED = "text-distorted"
    TEXT_CROSSED = "text-crossed"
    TEXT_OTHER_SHAPE = "text-other-shape"
    TEXT_UNJOINED = "text-unjoined"
    TEXT_ORDER = "text-order"
    TEXT_EXTRA = "text-extra"
    NEAR_LINE = "near-line"
    VALUE_MISSING = "value-missing"
    VALUE_WRONG = "value-wrong"
    CODE_MISSING = "code-missing"
    CODE_WRONG = "code-wrong"
    CODE_EXTRA = "code-extra"
    CODE_OUTSIDE = "code-outside"
    CODE_QUIET_ZONE = "code-quiet-zone"
    CODE_SIZE = "code-size"
    INK_OUTSIDE = "ink-outside"
    INK_EXTRA = "ink-extra"
    PICTURE_WRONG = "picture-wrong"
    NOT_EMPTY = "not-empty"
    NOT_BARE = "not-bare"
    MARK_MISSING = "mark-missing"
    DRAFT_MARK_MISSING = "draft-mark-missing"
    DRAFT_MARK_LEFT = "draft-mark-left"
    FONT_NOT_EMBEDDED = "font-not-embedded"
    FONT_WIDTHS = "font-widths"
    ACTIVE_CONTENT = "active-content"
    METADATA = "metadata"
    PRINT_SHIFTED = "print-shifted"
    PRINT_SCALING = "print-scaling"
    PRINTING_ASKED = "printing-asked"
    TITLE_OTHER = "title-other"
    TAGS_WRONG = "tags-wrong"
    SCAN_CROOKED = "scan-crooked"
    SCAN_SCALED = "scan-scaled"


class Finding(Part):
    """One thing that is wrong."""

    kind: FindingKind
    page: int
    """From 1; 0 where the file as a whole is meant."""
    piece: str = ""
    area: str = ""
    expected: str
    found: str
    where: Place | None = None
    """On the page, in millimetres from its top left."""
    sentence: str
    """All of it in one sentence for the person at the screen."""


class ReadCode(Part):
    """A code as it was read back: for proofs, and for whoever doubts the check."""

    page: int
    name: str
    piece: str
    area: str
    where: Place
    """The symbol without its quiet zone."""
    text: str
    """The payload as the reader sends it, separators and all."""
    identifier: str
    """AIM symbology identifier: ``]d2``, ``]C0``, …"""
    x_dots: float
    """X-dimension in dots of the code's printer."""


class Counts(Part):
    """How much was looked at."""

    pages: int
    texts: int
    values: int
    codes: int


class CheckReport(Part):
    """The whole answer for one file."""

    artwork: str
    layout: str
    state: str
    title: str
    counts: Counts
    findings: tuple[Finding, ...]
    codes: tuple[ReadCode, ...]

    @computed_field  # type: ignore[prop-decorator]
    @property
    def ok(self) -> bool:
        """Whether nothing was found wrong. Not the same as released."""
        return not self.findings


class ScannedPage(Part):
    """How one picture of a scan lies to the page it shows."""

    page: int
    """From 1."""
    turned_deg: float
    """Clockwise."""
    scale: float
    shift_x_mm: float
    shift_y_mm: float
    worst_mm: float
    """The farthest of the codes that were aligned by from where the others put it."""
    codes: int
    """Codes it was aligned by."""
    marks: int = 0
    """Registration marks it was aligned by."""


class ScanReport(Part):
    """The answer for a scan of printed sheets."""

    title: str
    pages: tuple[ScannedPage, ...]
    findings: tuple[Finding, ...]
    codes: tuple[ReadCode, ...]

    @computed_field  # type: ignore[prop-decorator]
    @property
    def ok(self) -> bool:
        """Whether pages were recognised and nothing was found wrong on them."""
        return bool(self.pages) and not self.findings


def sentence(
    kind: FindingKind,
    page: int,
    text: str,
    *,
    expected: str = "",
    found: str = "",
    piece: str = "",
    area: str = "",
    where: Place | None = None,
) -> Finding:
    """A finding whose sentence starts with the place: ``Page 1, piece A, cell-3: …``."""
    place = ", ".join(
        part
        for part in (
            f"page {page}" if page else "the file",
            f"piece {piece}" if piece else "",
            area,
        )
        if part
    )
    return Finding(
        kind=kind,
        page=page,
        piece=piece,
        area=area,
        expected=expected,
        found=found,
        where=where,
        sentence=f"{place[0].upper()}{place[1:]}: {text}.",
    )
