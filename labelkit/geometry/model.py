"""A layout, expanded: every box absolute on its sheet, in millimetres from the top left.

`labelkit.geometry.reading` turns a layout file into a `Layout`; later floors read only this.
"""

from dataclasses import dataclass
from enum import StrEnum

from labelkit.ground.box import Box


class Kind(StrEnum):
    """What a layout makes."""

    LIDDING = "lidding"
    SLEEVE = "sleeve"
    LEAFLET = "leaflet"
    PAD = "pad"


class LineKind(StrEnum):
    """What happens along a line of the sheet."""

    CUT = "cut"
    FOLD = "fold"
    PERFORATION = "perforation"
    KISS_CUT = "kiss-cut"


class AreaKind(StrEnum):
    """What a part of a piece is."""

    BAND = "band"
    """Header band: no peel removes it."""
    CELL = "cell"
    """Over one cavity: peeling destroys it."""
    PANEL = "panel"
    """A panel of a sleeve, leaflet or pad, bounded by folds and edges."""
    DRAFT = "draft"
    """Reserved for the draft mark; empty on released artwork."""


@dataclass(frozen=True, slots=True)
class Stock:
    """The sheet in the printer."""

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float
    """Unprintable edge."""
    dpi: int
    tolerance_mm: float
    """How far print may land from the die: nothing required comes nearer to a cut or fold."""


@dataclass(frozen=True, slots=True)
class Line:
    """A cut, fold, perforation or kiss cut from one point to another."""

    kind: LineKind
    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float


class What(StrEnum):
    """What a field holds."""

    STATEMENT = "statement"
    """`arg` is a statement id; it is said in the field's language."""
    VALUE = "value"
    """`arg` is a Jinja2 expression over the facts, e.g. ``{{ drug }} {{ strength }}``."""
    CODE = "code"
    """`arg` names a code: ``cell``, ``pack``, ``rx``, ``leaflet``."""
    PICTURE = "picture"
    """`arg` names a drawing: ``peel-steps``, …; ``peel-arrow`` points away from its cell's tab
    (drawn for a tab on the left, mirrored for one on the right)."""
    FLOW = "flow"
    """`arg` names a document (``leaflet``, ``pad-back``); its text flows from field to field by
    the areas' numbers; where these are equal, in the order of faces, areas and fields."""
    WRITING = "writing"
    """A line to write on; `arg` is the statement id of its label."""
    TICKS = "ticks"
    """Boxes to tick; `arg` names the list (``strengths``)."""
    TABLE = "table"
    """`arg` names the table (``comparison``)."""
    RULE = "rule"
    """A thin line across the box; `arg` unused."""


@dataclass(frozen=True, slots=True)
class Field:
    """One thing printed in an area, with the room it has."""

    id: str
    what: What
    arg: str
    box: Box
    align: str = "start"
    """``start``, ``centre`` or ``end``; start is the right side in right-to-left languages."""
    valign: str = "top"
    """``top``, ``middle`` or ``bottom``."""
    wanted_pt: float = 8.0
    least_pt: float = 6.0
    weight: str = "regular"
    """``regular`` or ``bold``."""
    family: str = "sans"
    """``sans``, or ``mono`` where I and l, O and 0 must differ (lots, serials)."""
    language: str = "pharmacy"
    """``pharmacy``, ``patient``, or ``both`` (patient's first, then pharmacy's if another)."""
    beside_pt: float = 0.0
    """Size of the pharmacy's words where they stand after a patient's of another language (both,
    or a flow's closing document); never larger than the patient's. 0: as large as these."""
    turn: int = 0
    """Degrees clockwise: 0, 90 or 270 (a spine)."""
    importance: int = 2
    """1 is the one thing seen first; 3 is fine print."""
    alternative: str = ""
    """Statement id said instead where the first doesn't fit at its least size; may be empty."""
    only_with: str = ""
    """Name of a fact or code of the piece: where it is absent this field is left out too (the
    label of a prescription number on stock lidding). Empty: always printed."""


@dataclass(frozen=True, slots=True)
class Tab:
    """The corner or edge strip by which a cell is peeled."""

    box: Box
    edge: str
    """The piece's free edge it reaches: ``left``, ``right``, ``top`` or ``bottom``."""


@dataclass(frozen=True, slots=True)
class Area:
    """A header band, cell, panel or draft band with its fields."""

    kind: AreaKind
    id: str
    box: Box
    fields: tuple[Field, ...] = ()
    number: int = 0
    """Cells: place in the loading order of their piece, from 1. Panels through which a document
    flows: place in the reading order, where it isn't that of the faces. Else 0."""
    tab: Tab | None = None
    cavity: Box | None = None
    """Bounding box of the cavity's opening below a cell."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What the cutter makes: a run of cells with its header band, a sleeve, a leaf of a pad."""

    id: str
    card: int
    """Which card of the sheet it is cut from, from 1."""
    outline: Box
    areas: tuple[Area, ...]

    @property
    def cells(self) -> tuple[Area, ...]:
        """The cells in loading order."""
        return tuple(
            sorted((a for a in self.areas if a.kind is AreaKind.CELL), key=lambda a: a.number)
        )


@dataclass(frozen=True, slots=True)
class Key:
    """An orientation key: the filled corner mark that card and lid share."""

    points: tuple[tuple[float, float], ...]


MARK_ARM_MM = 2.0
"""From the middle of a registration mark to the end of each of its arms."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A registration mark: a cross at one point of the sheet on both its sides, on the back with
    a ring about it. Held against the light, the front's crossing must lie in the back's ring."""

    x_mm: float
    y_mm: float
    ring_mm: float = 0.0
    """Radius of the ring: how far front and back may lie apart. 0 on the front."""

    @property
    def box(self) -> Box:
        """The room it takes."""
        side = 2 * MARK_ARM_MM
        return Box(self.x_mm - MARK_ARM_MM, self.y_mm - MARK_ARM_MM, side, side)


@dataclass(frozen=True, slots=True)
class Face:
    """One printed side of a sheet: one page of the PDF."""

    id: str
    """``front`` or ``back``."""
    pieces: tuple[Piece, ...]
    lines: tuple[Line, ...]
    keys: tuple[Key, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """A whole layout: stock, faces, and what each code on it must keep."""

    name: str
    title: str
    kind: Kind
    stock: Stock
    faces: tuple[Face, ...]
    cards: int
    """Cards (lidding), sleeves, leaflets or pads on one sheet."""
    serial_per: str
    """``cell``, ``piece`` or ``none``: what gets a serial of its own."""
    file: str
    """Where it was read from, for messages."""
    flip: str = ""
    """How the sheet is turned over to print its back: ``long-edge``, ``short-edge``, or empty
    where there is no back."""

    @property
    def cavities(self) -> int:
        """Cavities of one card; 0 where the layout isn't lidding."""
        return sum(len(p.cells) for p in self.faces[0].pieces if p.card == 1)
