"""A layout as a person writes it: the TOML format, as strict pydantic models.

Everything is in millimetres, as a caliper shows it, from the left and the top of the part
that a table describes. A cell is described once, as it lies in the left column; reading
repeats it and mirrors it for the right one. These models say only what a file may hold;
whether the geometry is any good is `labelkit.geometry.judging`'s to say.
"""

from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from labelkit.geometry.model import AreaKind, Kind, LineKind, What

MOST_MM = 2000.0
"""No sheet or part is longer: a slip of the decimal point is caught here."""

MOST_EXPRESSION = 1000
"""Characters of one field's expression; the longest shipped one has a tenth of them."""

MOST_CELLS = 4000
"""Cells on one sheet; more can't be meant."""

SHEET_FACES = ("front", "back")
"""Sides of one sheet."""

FACES = (*SHEET_FACES, "front-2", "back-2", "front-3", "back-3")
"""Sides of up to three sheets, in the order in which they are printed and read."""

Length = Annotated[float, Field(gt=0, le=MOST_MM, allow_inf_nan=False)]
Offset = Annotated[float, Field(ge=-MOST_MM, le=MOST_MM, allow_inf_nan=False)]
Room = Annotated[float, Field(ge=0, le=MOST_MM, allow_inf_nan=False)]
Points = Annotated[float, Field(gt=0, le=144, allow_inf_nan=False)]
Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{0,39}$")]
FourMm = tuple[Offset, Offset, Length, Length]


class Table(BaseModel):
    """Base of every table: nothing unknown, nothing converted."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)


class StockTable(Table):
    """The sheet that lies in the printer."""

    name: str = Field(min_length=1, description="What the pharmacy calls it: Letter, A4.")
    width_mm: Length
    height_mm: Length
    margin_mm: Room = Field(5.0, description="Edge that the printer can't print on.")
    dpi: int = Field(300, ge=150, le=2400, description="Dots in an inch of the printer.")
    tolerance_mm: Room = Field(
        1.0,
        description="How far the print may land from the cut. Nothing comes nearer to a line.",
    )


class SheetTable(Table):
    """How many cards, sleeves, leaflets or leaves stand on one sheet, and where."""

    across: int = Field(1, ge=1, le=40)
    down: int = Field(1, ge=1, le=40)
    gap_x_mm: Room = 0.0
    gap_y_mm: Room = 0.0
    left_mm: Room | None = Field(
        None, description="From the sheet's left edge to the first; left out: centred."
    )
    top_mm: Room | None = Field(
        None, description="From the sheet's top edge to the first; left out: centred."
    )
    marks_mm: tuple[tuple[Room, Room], ...] = Field(
        (),
        max_length=4,
        description="Registration marks: points of the front, printed on both sides.",
    )


class FieldTable(Table):
    """One thing to print: exactly one of the first nine keys says what."""

    statement: str | None = Field(None, min_length=1, description="Id of a statement.")
    value: str | None = Field(
        None,
        min_length=1,
        max_length=MOST_EXPRESSION,
        description="Facts: {{ drug }} {{ strength }}.",
    )
    code: str | None = Field(None, min_length=1, description="cell, pack, rx or leaflet.")
    picture: str | None = Field(None, min_length=1, description="Name of a drawing.")
    flow: str | None = Field(None, min_length=1, description="Name of a document.")
    writing: str | None = Field(None, min_length=1, description="Label of a line to write on.")
    ticks: str | None = Field(None, min_length=1, description="Name of a list of boxes to tick.")
    table: str | None = Field(None, min_length=1, description="Name of a table.")
    rule: Literal[True] | None = Field(None, description="A thin line.")
    box_mm: FourMm = Field(description="x, y, width, height, from the corner of its area.")
    align: Literal["start", "centre", "end"] = "start"
    valign: Literal["top", "middle", "bottom"] = "top"
    size_pt: tuple[Points, Points] = Field(
        (8.0, 6.0), description="Wanted and least size of the type."
    )
    weight: Literal["regular", "bold"] = "regular"
    family: Literal["sans", "mono"] = "sans"
    language: Literal["pharmacy", "patient", "both"] = "pharmacy"
    beside_pt: Annotated[float, Field(ge=0, le=144, allow_inf_nan=False)] = Field(
        0.0, description="Size of the pharmacy's words after the patient's; 0: the same."
    )
    turn: Literal[0, 90, 270] = Field(0, description="Degrees clockwise, for a spine.")
    importance: int = Field(2, ge=1, le=3, description="1: seen first; 3: fine print.")
    instead: str = Field("", description="Statement said where the first doesn't fit.")
    only_with: str = Field(
        "", description="Fact or code without which this isn't printed (a label of its own)."
    )

    @model_validator(mode="after")
    def _one_thing(self) -> Self:
        given = [what.value for what in What if getattr(self, what.value) is not None]
        if len(given) != 1:
            raise ValueError(
                f"names {' and '.join(given) or 'nothing'} to print; name exactly one of "
                + ", ".join(what.value for what in What)
            )
        if self.size_pt[1] > self.size_pt[0]:
            raise ValueError("its least size is larger than its wanted size")
        if self.instead and self.statement is None:
            raise ValueError("'instead' belongs to a statement only")
        return self

    @property
    def what(self) -> What:
        """Which kind of thing it is."""
        return next(what for what in What if getattr(self, what.value) is not None)

    @property
    def arg(self) -> str:
        """What that key says; empty for a rule."""
        said = getattr(self, self.what.value)
        return "" if said is True else str(said)


class TabTable(Table):
    """The tab by which a cell is peeled, as in the left column."""

    box_mm: FourMm = Field(description="x, y, width, height; x is 0: it reaches the free edge.")


class CellTable(Table):
    """A cell over one cavity, as it lies in the left column of its piece."""

    width_mm: Length = Field(description="Pitch across: from one cavity's centre to the next.")
    height_mm: Length = Field(description="Pitch down.")
    cavity_mm: Length = Field(description="Diameter of the cavity's opening.")
    tab: TabTable
    fields: dict[Id, FieldTable] = Field(min_length=1)


class AreaTable(Table):
    """A header band, panel or draft band, from the corner of its piece."""

    kind: Literal["band", "panel", "draft"]
    face: Literal["front", "back", "front-2", "back-2", "front-3", "back-3"] = Field(
        "front", description="Side of the sheet; of the second and third one of a long leaflet."
    )
    box_mm: FourMm
    reading: int = Field(
        0, ge=0, le=99, description="Place in the reading order of a folded sheet's panels."
    )
    fields: dict[Id, FieldTable] = {}

    @property
    def area_kind(self) -> AreaKind:
        """The kind as later floors name it."""
        return AreaKind(self.kind)


class LineTable(Table):
    """A line across a piece, from the corner of the piece."""

    kind: Literal["cut", "fold", "perforation", "kiss-cut"]
    face: Literal["front", "back", "both"] = "both"
    from_mm: tuple[Offset, Offset]
    to_mm: tuple[Offset, Offset]

    @property
    def line_kind(self) -> LineKind:
        """The kind as later floors name it."""
        return LineKind(self.kind)


class CardTable(Table):
    """A lidding card: pieces side by side, each of cells below a header band."""

    pieces: int = Field(ge=1, le=12, description="Pieces side by side; the card is cut between.")
    columns: int = Field(2, ge=1, le=12, description="Columns of cells in a piece.")
    rows: int = Field(5, ge=1, le=40, description="Rows of cells in a piece.")
    band_mm: Length = Field(description="From the card's top edge to the first row of cells.")
    left_mm: Room = Field(0.0, description="Rim left of the first column; its cells reach over.")
    right_mm: Room = Field(0.0, description="Rim right of the last column.")
    foot_mm: Room = Field(0.0, description="Rim below the last row.")
    between: Literal["cut", "perforation"] = "cut"


class PieceTable(Table):
    """The outline of a sleeve's blank, a leaflet or a leaf of a pad."""

    width_mm: Length
    height_mm: Length


class KeyTable(Table):
    """The orientation key: a filled corner, on every piece of a card."""

    x_mm: Offset = Field(description="From the piece's left edge to the key's corner.")
    y_mm: Offset = Field(description="From the piece's top edge to the key's corner.")
    size_mm: Length = Field(description="Length of its two straight sides.")


class LayoutFile(Table):
    """A whole layout file."""

    title: str = Field(min_length=1, max_length=200)
    kind: Literal["lidding", "sleeve", "leaflet", "pad"]
    serial_per: Literal["cell", "piece", "none"] = "none"
    flip: Literal["none", "long-edge", "short-edge"] = Field(
        "none", description="How the sheet is turned over to print its back."
    )
    extends: str = Field("", description="Name of the layout it starts from.")
    stock: StockTable
    sheet: SheetTable = SheetTable()
    card: CardTable | None = Field(None, description="Lidding only.")
    cell: CellTable | None = Field(None, description="Lidding only.")
    piece: PieceTable | None = Field(None, description="Sleeve, leaflet and pad.")
    key: KeyTable | None = None
    areas: dict[Id, AreaTable] = Field(min_length=1)
    lines: tuple[LineTable, ...] = ()

    @model_validator(mode="after")
    def _parts_of_its_kind(self) -> Self:
        lidding = self.kind == Kind.LIDDING.value
        if lidding and (self.card is None or self.cell is None or self.piece is not None):
            raise ValueError("lidding is described by [card] and [cell], without [piece]")
        if not lidding and (self.piece is None or self.card or self.cell):
            raise ValueError(f"a {self.kind} is described by [piece], without [card] and [cell]")
        if self.card and self.cells_on_sheet > MOST_CELLS:
            raise ValueError(f"{self.cells_on_sheet} cells on one sheet are more than {MOST_CELLS}")
        named = {area.face for area in self.areas.values()}
        if len(self.faces) > len(SHEET_FACES) and self.kind != Kind.LEAFLET.value:
            raise ValueError("only a leaflet goes on from one sheet to the next")
        if missing := [face for face in self.faces if face not in named]:
            raise ValueError(f"nothing stands on the face {missing[0]}, but on one after it")
        backed = any(face.startswith("back") for face in named)
        if backed == (self.flip == "none"):
            raise ValueError(
                "areas on the back and 'flip' belong together: long-edge or short-edge with a "
                "back, none without"
            )
        return self

    @property
    def faces(self) -> tuple[str, ...]:
        """The faces with something on them, and those before them, in the order of printing."""
        return FACES[: max(FACES.index(area.face) for area in self.areas.values()) + 1]

    @property
    def cells_on_sheet(self) -> int:
        """How many cells all cards of a sheet have together; 0 where it isn't lidding."""
        if self.card is None:
            return 0
        on_card = self.card.pieces * self.card.columns * self.card.rows
        return self.sheet.across * self.sheet.down * on_card
