"""Sheets for the checker's tests, drawn here with plain ReportLab and described by hand.

Nothing of labelkit draws them: a checker that is tried only on its own house's drawing
proves little. All names, lots and numbers are invented; the GTIN has the demo prefix 952.
"""

import io
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.resources import files

import barcode
import numpy as np
import qrcode
import zint
from fontTools.ttLib import TTFont as Outlines
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from labelkit.manifest.model import (
    Cut,
    DraftMark,
    EmptyPlace,
    Manifest,
    ManifestPage,
    Place,
    RequiredCode,
    RequiredText,
    RequiredValue,
)

PT = 72 / 25.4
DOT_MM = 25.4 / 300
WIDTH_MM, HEIGHT_MM = 215.9, 279.4
GTIN = "09521234543213"
ADDRESS = "https://www.example.org/leaflet"

_FONT = files("fontpkg_ibm_plex_mono") / "files" / "IBMPlexMono-Medium.ttf"
pdfmetrics.registerFont(TTFont("Plex", str(_FONT)))


def lying_font() -> TTFont:
    """Plex with the drawings of 5 and 8 exchanged, their text unchanged."""
    font = Outlines(io.BytesIO(_FONT.read_bytes()))
    # Tables may share one mapping, which must be changed once.
    for mapping in {id(table.cmap): table.cmap for table in font["cmap"].tables}.values():
        if 0x35 in mapping:
            mapping[0x35], mapping[0x38] = mapping[0x38], mapping[0x35]
    # ReportLab tells the fonts of a file apart by this name.
    for record in font["name"].names:
        if record.nameID == 6:
            record.string = "PlexLiar"
    changed = io.BytesIO()
    font.save(changed)
    changed.seek(0)
    return TTFont("Liar", changed)


pdfmetrics.registerFont(lying_font())

Modules = tuple[tuple[bool, ...], ...]


@dataclass
class Words:
    """A line of text: its baseline's left end in mm from the page's top left."""

    text: str
    x: float
    y: float
    size: float = 7.0
    colour: str = "#000000"
    font: str = "Plex"
    turn: int = 0
    mode: int = 0
    stretch: float = 1.0
    squeeze: float = 1.0
    """Horizontal scale alone; negative mirrors."""


@dataclass
class Bars:
    """A symbol: its top left in whole dots of 300 dpi."""

    modules: Modules
    x: float
    y: float
    dots: float = 4.0
    high: float | None = None
    colour: str = "#000000"


@dataclass
class Patch:
    """A filled rectangle, in mm, drawn over or under the rest."""

    x: float
    y: float
    w: float
    h: float
    colour: str = "#ffffff"
    under: bool = False


@dataclass
class Sheet:
    """One page to be drawn, and everything about the file."""

    words: list[Words] = field(default_factory=list)
    bars: list[Bars] = field(default_factory=list)
    patches: list[Patch] = field(default_factory=list)
    size_mm: tuple[float, float] = (WIDTH_MM, HEIGHT_MM)
    transform: tuple[float, float, float, float, float, float] | None = None
    print_scaling: str | None = "None"
    title: str = "Lidding"
    pages: int = 1
    extra: Callable[[Canvas], None] | None = None

    def pdf(self) -> bytes:
        """The file."""
        out = io.BytesIO()
        width, height = (v * PT for v in self.size_mm)
        canvas = Canvas(out, pagesize=(width, height), invariant=1)
        canvas.setTitle(self.title)
        if self.print_scaling:
            canvas.setViewerPreference("PrintScaling", self.print_scaling)
        for _ in range(self.pages):
            if self.transform:
                canvas.transform(*self.transform)
            for patch in self.patches:
                if patch.under:
                    self._patch(canvas, patch)
            for bars in self.bars:
                self._bars(canvas, bars)
            for words in self.words:
                self._words(canvas, words)
            for patch in self.patches:
                if not patch.under:
                    self._patch(canvas, patch)
            if self.extra:
                self.extra(canvas)
            canvas.showPage()
        canvas.save()
        return out.getvalue()

    def _up(self, y_mm: float) -> float:
        return (self.size_mm[1] - y_mm) * PT

    def _patch(self, canvas: Canvas, patch: Patch) -> None:
        canvas.setFillColor(patch.colour)
        canvas.rect(
            patch.x * PT, self._up(patch.y + patch.h), patch.w * PT, patch.h * PT, stroke=0, fill=1
        )

    def _words(self, canvas: Canvas, words: Words) -> None:
        canvas.saveState()
        canvas.translate(words.x * PT, self._up(words.y))
        canvas.rotate(-words.turn)
        canvas.scale(words.stretch * words.squeeze, words.stretch)
        canvas.setFillColor(words.colour)
        line = canvas.beginText(0, 0)
        line.setFont(words.font, words.size)
        line.setTextRenderMode(words.mode)
        line.textOut(words.text)
        canvas.drawText(line)
        canvas.restoreState()

    def _bars(self, canvas: Canvas, bars: Bars) -> None:
        canvas.setFillColor(bars.colour)
        path = canvas.beginPath()
        module = bars.dots * DOT_MM
        for row, cells in enumerate(bars.modules):
            high = module if bars.high is None else bars.high
            for column, dark in enumerate(cells):
                if dark:
                    path.rect(
                        (bars.x * DOT_MM + column * module) * PT,
                        self._up(bars.y * DOT_MM + row * high + high),
                        module * PT,
                        high * PT,
                    )
        canvas.drawPath(path, stroke=0, fill=1)


def data_matrix(data: str, gs1: bool = True) -> Modules:
    """A Data Matrix by zint; `data` with AIs in square brackets where it is GS1."""
    symbol = zint.Symbol()
    symbol.symbology = zint.Symbology.DATAMATRIX
    symbol.option_3 = zint.DataMatrixOptions.SQUARE
    if gs1:
        symbol.input_mode = zint.InputMode.GS1
    symbol.encode(data)
    grid = np.frombuffer(bytes(symbol.encoded_data), dtype=np.uint8).reshape(200, -1)
    bits = np.unpackbits(grid, axis=1, bitorder="little")[: symbol.rows, : symbol.width]
    return tuple(tuple(bool(v) for v in row) for row in bits)


def code_128(data: str) -> Modules:
    """A Code 128 by python-barcode."""
    modules = barcode.get("code128", data).build()[0].strip("0")
    return (tuple(m == "1" for m in modules),)


def qr(data: str) -> Modules:
    """A QR code by qrcode, without its border."""
    code = qrcode.QRCode(border=0)
    code.add_data(data)
    code.make()
    return tuple(tuple(bool(v) for v in row) for row in code.modules)


def gs1(lot: str = "TV2611", day: str = "270524", serial: str = "TV2611-0001") -> str:
    """Element strings for zint."""
    return f"[01]{GTIN}[17]{day}[10]{lot}[21]{serial}"


PIECE = Place(x_mm=20.0, y_mm=20.0, w_mm=66.0, h_mm=60.0)
BAND = Place(x_mm=20.0, y_mm=20.0, w_mm=66.0, h_mm=18.0)
CELL_1 = Place(x_mm=20.0, y_mm=42.0, w_mm=32.0, h_mm=24.0)
CELL_2 = Place(x_mm=54.0, y_mm=42.0, w_mm=32.0, h_mm=24.0)
DRAFT_WORDS = "Draft: not for use"
DRAFT = Place(x_mm=20.0, y_mm=70.0, w_mm=66.0, h_mm=5.0)
SPINE = Place(x_mm=100.0, y_mm=20.0, w_mm=8.0, h_mm=60.0)
RX_BOX = Place(x_mm=120.0, y_mm=20.0, w_mm=40.0, h_mm=12.0)
QR_BOX = Place(x_mm=120.0, y_mm=40.0, w_mm=17.0, h_mm=17.0)
CODE_BOX = Place(x_mm=42.0, y_mm=56.0, w_mm=9.0, h_mm=9.0)
CUT = Cut(kind="cut", x1_mm=18.0, y1_mm=82.0, x2_mm=88.0, y2_mm=82.0, clear_mm=1.5)


def good_sheet() -> Sheet:
    """A piece with a header band, one filled and one empty cell, a spine, three codes."""
    return Sheet(
        words=[
            Words("sildenafil 50 mg", 22, 25, 11),
            Words("Lot TV2611  Use by 24 May 2027", 22, 30, 7),
            Words("Peel, do not push. Keep dry.", 22, 35, 7),
            Words("sildenafil", 21.5, 46, 8),
            Words("50 mg", 21.5, 50, 9),
            Words("TV2611", 21.5, 54, 7),
            Words("2027-05-24", 21.5, 58, 7),
            Words("empty", 60, 54, 7, "#555555"),
            Words("sildenafil 50 mg", 102, 24, 9, turn=90),
        ],
        bars=[
            Bars(data_matrix(gs1()), 502, 668, 4),
            Bars(code_128("10432"), 1470, 245, 4, high=9.0),
            Bars(qr(ADDRESS), 1440, 496, 4),
        ],
    )


def text(id_: str, said: str, within: Place, area: str, **least: float) -> RequiredText:
    """A required text with English as its language."""
    return RequiredText(
        id=id_,
        origin=f"fact:{id_}",
        text=said,
        language="en",
        within=within,
        piece="A",
        area=area,
        least_pt=least.get("pt", 6.5),
        least_x_height_mm=least.get("x", 0.0),
        source="common practice",
    )


def value(kind: str, said: str, within: Place, area: str) -> RequiredValue:
    """A record's value."""
    return RequiredValue(kind=kind, value=said, within=within, piece="A", area=area)


def good_page() -> ManifestPage:
    """What `good_sheet` must hold."""
    return ManifestPage(
        width_mm=WIDTH_MM,
        height_mm=HEIGHT_MM,
        safe=Place(x_mm=5.0, y_mm=5.0, w_mm=205.9, h_mm=269.4),
        texts=(
            text("drug", "sildenafil", BAND, "band", pt=10),
            text("strength", "50\u00a0mg", BAND, "band", pt=10),
            text("lot", "TV2611", BAND, "band"),
            text("beyond_use", "24 May 2027", BAND, "band"),
            text("peel", "Peel, do not push.", BAND, "band"),
            text("drug", "sildenafil", CELL_1, "cell-1", pt=20, x=1.2),
            text("strength", "50\u00a0mg", CELL_1, "cell-1"),
            text("lot", "TV2611", CELL_1, "cell-1"),
            text("beyond_use", "2027-05-24", CELL_1, "cell-1"),
            text("drug", "sildenafil 50\u00a0mg", SPINE, "spine"),
            text("label.lot", "Lot", BAND, "band"),
            text("label.use-by", "Use by", BAND, "band"),
            text("storage", "Keep dry.", BAND, "band"),
            text("cell.empty", "empty", CELL_2, "cell-2"),
        ),
        values=(
            value("drug", "sildenafil", BAND, "band"),
            value("strength", "50 mg", BAND, "band"),
            value("lot", "TV2611", BAND, "band"),
            value("date", "2027-05-24", BAND, "band"),
            value("strength", "50 mg", CELL_1, "cell-1"),
            value("lot", "TV2611", CELL_1, "cell-1"),
            value("date", "2027-05-24", CELL_1, "cell-1"),
        ),
        codes=(
            code("cell", "data-matrix", CODE_BOX, "cell-1", good_fields(), gs1=True, quiet=1),
            code("rx", "code-128", RX_BOX, "front", {"rx": "10432"}, quiet=10),
            code("leaflet", "qr", QR_BOX, "front", {"address": ADDRESS}, quiet=4),
        ),
        empty=(EmptyPlace(within=CELL_2, piece="A", area="cell-2"),),
        cuts=(CUT,),
        draft_marks=(DraftMark(within=DRAFT, words=((DRAFT_WORDS,),)),),
    )


def good_fields() -> dict[str, str]:
    """The record behind the cell's code."""
    return {"gtin": GTIN, "beyond_use": "2027-05-24", "lot": "TV2611", "serial": "TV2611-0001"}


def code(
    name: str,
    symbology: str,
    within: Place,
    area: str,
    fields: dict[str, str],
    *,
    gs1: bool = False,
    quiet: int,
) -> RequiredCode:
    """A required code at 300 dpi."""
    return RequiredCode(
        name=name,
        symbology=symbology,
        fields=fields,
        gs1=gs1,
        within=within,
        piece="A",
        area=area,
        dpi=300,
        least_x_mm=0.254 if symbology == "data-matrix" else 0.17,
        most_x_mm=0.99,
        quiet_modules=quiet,
    )


def manifest(page: ManifestPage | None = None, pages: int = 1, **change: object) -> Manifest:
    """A manifest of equal pages."""
    whole: dict[str, object] = {
        "artwork": "lidding",
        "layout": "trial",
        "state": "made",
        "title": "Lidding",
        "languages": ("en",),
        "records": ("lot TV2611",),
        "serials": ("TV2611-0001",),
        "secrets": ("Ann Example", "1950-03-12", "10432"),
        "pages": (page or good_page(),) * pages,
    }
    return Manifest.model_validate(whole | change)
