"""`Page`: the one data structure in the middle, a display list in millimetres.

Everything that decides comes before a page; one backend draws it to PDF. Boxes are
measured from the top left of the sheet, y downwards. Items are drawn in their order.
"""

from dataclasses import dataclass

from labelkit.barcodes.model import Symbol
from labelkit.ground.box import Box
from labelkit.typeset.model import TextLine


@dataclass(frozen=True, slots=True)
class Origin:
    """Where an item comes from, so that a person can ask why it is there."""

    source: str
    """``statement:ID``, ``fact:NAME`` (``fact:A,B`` for several), ``code:NAME``,
    ``picture:NAME``, ``ticks:NAME`` or ``layout``."""
    language: str = ""
    """BCP 47 tag for text."""
    piece: str = ""
    area: str = ""
    field: str = ""


@dataclass(frozen=True, slots=True)
class Tag:
    """Place in the document's structure (ISO 32000-1, 14.8); absent for label artwork."""

    role: str
    """``H1``, ``H2``, ``P``, ``LI``, ``TH``, ``TD``, ``Figure``, …"""
    group: str = ""
    """Items of one element share it (a paragraph that goes on in the next panel: ``b3.0``), and
    those of one list or table row its beginning: ``l1/i4``, ``t5/r2``."""
    alt: str = ""
    """Alternative text of a figure."""
    order: int = 0
    """Place in the document's reading order, which on a folded sheet isn't that of its pages:
    elements are read by it, and those of one number in the order of pages and items."""


@dataclass(frozen=True, slots=True)
class TextItem:
    """Set lines in a box."""

    box: Box
    lines: tuple[TextLine, ...]
    origin: Origin
    tag: Tag | None = None
    turn: int = 0
    """Degrees clockwise about the box's centre, 0, 90 or 270; `lines` are set in the box as it
    lies before turning (a box of w × h turned by 90 takes lines of width h)."""
    colour: str = "#000000"


@dataclass(frozen=True, slots=True)
class CodeItem:
    """A symbol; its box is the symbol with its quiet zone. The backend snaps it to dots."""

    box: Box
    symbol: Symbol
    origin: Origin


@dataclass(frozen=True, slots=True)
class StrokeItem:
    """An open or closed line through points, with a width; filled where asked."""

    box: Box
    path: tuple[tuple[str, tuple[float, ...]], ...]
    """``("M", (x, y))``, ``("L", (x, y))``, ``("C", (x1, y1, x2, y2, x, y))``, ``("Z", ())``,
    absolute millimetres."""
    width_mm: float
    origin: Origin
    fill: str = ""
    """``#rrggbb``, or empty for none."""
    stroke: str = "#000000"
    """``#rrggbb``, or empty for none."""
    dash_mm: tuple[float, ...] = ()
    tag: Tag | None = None
    """On the first stroke of a drawing only; the others of its group share the figure."""


Item = TextItem | CodeItem | StrokeItem


@dataclass(frozen=True, slots=True)
class Page:
    """One side of one sheet."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    shared: tuple[Item, ...] = ()
    """Items equal on many pages of a file (the common text of a lot): drawn once, as one
    form, under `items`. Pages of one file that have equal `shared` tuples share the form."""


@dataclass(frozen=True, slots=True)
class Artwork:
    """A file to be: its pages and what its metadata may say (nothing of a patient)."""

    kind: str
    title: str
    language: str
    pages: tuple[Page, ...]
    tagged: bool = False
    duplex: bool = False
    flip: str = ""
    """Duplex: the edge of the sheet about which it is turned, ``long-edge`` or ``short-edge``."""
