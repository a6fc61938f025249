"""From caliper readings of a pharmacy's own tray to a layout file for it.

No tray fits an invented geometry, so a pharmacy measures its own. The result is a shipped
layout, stretched over the measured cells and written as a text that the pharmacy keeps and
may edit. It passes the judge, or there is no text: cells are never made smaller than the
smallest that holds a cell's particulars.
"""

import json
from dataclasses import dataclass
from math import floor, isfinite

from pydantic import ValidationError

from labelkit.geometry.format import FourMm, LayoutFile, Table
from labelkit.geometry.judging import judge
from labelkit.geometry.reading import described_as, faults_in, loads, parsed
from labelkit.ground.box import SLACK_MM
from labelkit.ground.errors import Fault, LayoutRefused

FILE = "caliper readings"

READING_MM = 0.05
"""What a hand-held caliper reads to: a rim that comes out less than this below nothing is none."""

MOST_MM = 400.0
"""No tray that a hand fills is longer; a reading beyond it is a slip."""

COLUMNS_PER_PIECE = 2
"""Each column of a piece lies at a free edge, from which it is peeled."""


class Readings(Table):
    """What is measured, in millimetres, with the open side of the tray upwards."""

    title: str
    """What the pharmacy calls the tray."""
    card_w_mm: float
    """Width of the whole card."""
    card_h_mm: float
    """Height of the whole card."""
    columns: int
    rows: int
    first_x_mm: float
    """From the card's left edge to the centre of the first cavity."""
    first_y_mm: float
    """From the card's top edge to the centre of the first cavity."""
    pitch_x_mm: float
    """From centre to centre of two cavities side by side."""
    pitch_y_mm: float
    """From centre to centre of two cavities below one another."""
    cavity_mm: float
    """Diameter of a cavity's opening."""
    paper: str = "letter"
    """``letter`` or ``a4``."""


def readings(text: str, file: str) -> Readings:
    """The readings a person wrote down in TOML, under the names of `Readings`.

    Raises LayoutRefused with every reading that is missing, misspelt or no number.
    """
    try:
        return Readings.model_validate_json(json.dumps(parsed(text, file), default=str))
    except ValidationError as error:
        raise LayoutRefused(faults_in(file, error)) from None


def layout_text(readings: Readings) -> str:
    """A layout file for the measured tray.

    Raises LayoutRefused with every reading that makes no card that can be printed, peeled and
    identified, each with its millimetres.
    """
    refuse_slips(readings)
    base_name, base = _base(readings)
    _refuse_unfit(readings, base)
    text = _written(readings, base_name, base)
    faults = judge(loads(text, FILE))
    if faults:
        raise LayoutRefused(faults)
    return text


def refuse_slips(readings: Readings) -> None:
    """Raise LayoutRefused for readings that are no lengths or counts at all."""
    faults = []
    for name, value in readings:
        if name.endswith("_mm") and not (isfinite(value) and 0 < value <= MOST_MM):
            wrong = f"{value:g} mm is no length of a tray"
            faults.append(_fault(name, wrong, "measure it again"))
        if name in ("columns", "rows") and not 1 <= value <= 20:
            faults.append(_fault(name, f"{value} can't be counted on a tray", "count again"))
    if readings.paper not in ("letter", "a4"):
        faults.append(_fault("paper", f"{readings.paper!r} isn't a paper", "say letter or a4"))
    if not readings.title.strip():
        faults.append(_fault("title", "the tray has no name", "give it one"))
    if faults:
        raise LayoutRefused(faults)


def _base(readings: Readings) -> tuple[str, LayoutFile]:
    """The largest shipped cell that the measured pitch holds. Raises LayoutRefused."""
    short: list[Fault] = []
    for kind in ("lidding-20", "lidding-20-small"):
        name = f"{kind}-{readings.paper}"
        file = described_as(name)
        assert file.cell is not None  # shipped lidding
        short = [
            _fault(
                field,
                f"{pitch:.2f} mm is {least - pitch:.2f} mm less than the smallest cell that "
                f"holds its particulars, {least:.2f} mm",
                "choose a tray with wider spaced cavities",
            )
            for field, pitch, least in (
                ("pitch_x_mm", readings.pitch_x_mm, file.cell.width_mm),
                ("pitch_y_mm", readings.pitch_y_mm, file.cell.height_mm),
            )
            if pitch < least - SLACK_MM
        ]
        if not short:
            return name, file
    raise LayoutRefused(short)


@dataclass(frozen=True, slots=True)
class _Rims:
    """What is left of the card round its cells."""

    left_mm: float
    right_mm: float
    band_mm: float
    foot_mm: float


def _rims(readings: Readings) -> _Rims:
    across = (readings.columns - 0.5) * readings.pitch_x_mm
    down = (readings.rows - 0.5) * readings.pitch_y_mm
    return _Rims(
        readings.first_x_mm - readings.pitch_x_mm / 2,
        readings.card_w_mm - readings.first_x_mm - across,
        readings.first_y_mm - readings.pitch_y_mm / 2,
        readings.card_h_mm - readings.first_y_mm - down,
    )


def _refuse_unfit(readings: Readings, base: LayoutFile) -> None:
    """Raise LayoutRefused where the card's parts don't add up to one that works."""
    assert base.card is not None  # shipped lidding
    rims, faults = _rims(readings), []
    for field, rim, side in (
        ("first_x_mm", rims.left_mm, "left"),
        ("card_w_mm", rims.right_mm, "right"),
        ("card_h_mm", rims.foot_mm, "lower"),
    ):
        if rim < -READING_MM:
            faults.append(
                _fault(
                    field,
                    f"the cells reach {-rim:.2f} mm over the card's {side} edge",
                    "measure this and the pitch again",
                )
            )
    if rims.band_mm < base.card.band_mm - READING_MM:
        faults.append(
            _fault(
                "first_y_mm",
                f"{max(rims.band_mm, 0):.2f} mm lie above the first row of cells, "
                f"{base.card.band_mm - rims.band_mm:.2f} mm less than a header band needs",
                "choose a tray with a wider upper rim, or turn it round if the lower one is wider",
            )
        )
    spare = readings.columns % COLUMNS_PER_PIECE
    if spare:
        wrong = (
            f"cut into pieces of two columns, {spare} column of {readings.pitch_x_mm:.2f} mm is "
            f"left over; a piece is {COLUMNS_PER_PIECE * readings.pitch_x_mm:.2f} mm wide"
        )
        faults.append(_fault("columns", wrong, "choose a tray with an even number of columns"))
    width, height = _printable(base, False)
    sideways = _printable(base, True)
    if not (_fits(readings, width, height) or _fits(readings, *sideways)):
        faults.append(
            _fault(
                "card_w_mm",
                f"a card of {readings.card_w_mm:.2f} × {readings.card_h_mm:.2f} mm overflows the "
                f"printable {width:.2f} × {height:.2f} mm of the sheet, upright and sideways",
                "cut the tray, or print on a larger sheet",
            )
        )
    if faults:
        raise LayoutRefused(faults)


def _printable(base: LayoutFile, sideways: bool) -> tuple[float, float]:
    stock = base.stock
    size = stock.width_mm - 2 * stock.margin_mm, stock.height_mm - 2 * stock.margin_mm
    return (size[1], size[0]) if sideways else size


def _fits(readings: Readings, width_mm: float, height_mm: float) -> int:
    """How many cards lie edge to edge on that much paper."""
    return floor(width_mm / readings.card_w_mm + SLACK_MM) * floor(
        height_mm / readings.card_h_mm + SLACK_MM
    )


def _written(readings: Readings, base_name: str, base: LayoutFile) -> str:
    """The file's text."""
    assert base.card is not None and base.cell is not None  # shipped lidding
    rims = _rims(readings)
    sideways = _fits(readings, *_printable(base, True)) > _fits(readings, *_printable(base, False))
    width, height = _printable(base, sideways)
    stock = base.stock
    lines = [
        f"# Measured with a caliper; cells stretched from those of {base_name}.",
        f"title = {_quoted(readings.title)}",
        f'extends = "{base_name}"',
    ]
    if sideways:
        lines += [
            "\n[stock]",
            f"name = {_quoted(stock.name + ', sideways')}",
            f"width_mm = {stock.height_mm:g}",
            f"height_mm = {stock.width_mm:g}",
        ]
    lines += [
        "\n[sheet]",
        f"across = {floor(width / readings.card_w_mm + SLACK_MM)}",
        f"down = {floor(height / readings.card_h_mm + SLACK_MM)}",
        "\n[card]",
        f"pieces = {readings.columns // COLUMNS_PER_PIECE}",
        f"columns = {COLUMNS_PER_PIECE}",
        f"rows = {readings.rows}",
        f"band_mm = {_mm(max(rims.band_mm, base.card.band_mm))}",
        f"left_mm = {_mm(max(rims.left_mm, 0))}",
        f"right_mm = {_mm(max(rims.right_mm, 0))}",
        f"foot_mm = {_mm(max(rims.foot_mm, 0))}",
    ]
    wide = readings.pitch_x_mm / base.cell.width_mm
    high = readings.pitch_y_mm / base.cell.height_mm
    tall = max(rims.band_mm, base.card.band_mm) / base.card.band_mm
    for key, area in base.areas.items():
        lines += [f"\n[areas.{key}]", _stretched(area.box_mm, wide, tall)]
        for name, field in area.fields.items():
            lines += [f"[areas.{key}.fields.{name}]", _stretched(field.box_mm, wide, tall)]
    lines += [
        "\n[cell]",
        f"width_mm = {_mm(readings.pitch_x_mm)}",
        f"height_mm = {_mm(readings.pitch_y_mm)}",
        f"cavity_mm = {_mm(readings.cavity_mm)}",
        "[cell.tab]",
        _stretched(base.cell.tab.box_mm, wide, high),
    ]
    for name, field in base.cell.fields.items():
        lines += [f"[cell.fields.{name}]", _stretched(field.box_mm, wide, high)]
    return "\n".join(lines) + "\n"


def _stretched(box: FourMm, wide: float, high: float) -> str:
    """A box drawn out with its cell. Edges are rounded, not sides, so neighbours stay apart."""
    x, y, w, h = box
    left, top = round(x * wide, 3), round(y * high, 3)
    right, bottom = round((x + w) * wide, 3), round((y + h) * high, 3)
    return f"box_mm = [{_mm(left)}, {_mm(top)}, {_mm(right - left)}, {_mm(bottom - top)}]"


def _mm(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _quoted(text: str) -> str:
    """A TOML basic string: JSON's escapes are TOML's, but TOML asks for DEL's as well."""
    return json.dumps(text).replace("\x7f", "\\u007f")


def _fault(field: str, wrong: str, mend: str) -> Fault:
    return Fault(FILE, "", field, wrong, mend)
