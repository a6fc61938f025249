"""Tables: a head in bold over a rule, then rows between fine lines.

Columns share the width so that the table is as low as it can be. A table stays whole
unless it is higher than an area.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from labelkit.artwork.chunks import Chunk, beside
from labelkit.artwork.page import Tag, TextItem
from labelkit.artwork.setting import STYLES, BlockStyle, Setting, TooNarrow
from labelkit.artwork.strokes import rule
from labelkit.wording.model import Block, BlockKind, Said

GAP_MM = 3.0
"""Clear space between columns."""

HEAD = BlockStyle("TH", 1.0, 0.7, "bold")

Row = tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class _Table:
    rows: tuple[Row, ...]
    widths_mm: tuple[float, ...]


def table_rows(block: Block, setting: Setting, index: int) -> Iterator[Chunk]:
    """The chunks of a TABLE block: one for each row. Raises TooNarrow."""
    rows = tuple(
        block.said[first : first + block.columns]
        for first in range(0, len(block.said), block.columns)
    )
    table = _Table(rows, _widths(rows, setting))
    for number in range(len(rows)):
        yield _row(table, setting, number, f"t{index}/r{number}", number == len(rows) - 1)


def _row(table: _Table, setting: Setting, number: int, group: str, last: bool) -> Chunk:
    style = STYLES[BlockKind.TABLE] if number else HEAD
    pad_mm = 0.25 * setting.em_mm
    x_mm = 0.0
    cells = []
    for said, width_mm in zip(table.rows[number], table.widths_mm, strict=True):
        left_mm = setting.width_mm - width_mm - x_mm if setting.voice.rtl else x_mm
        cells.append((left_mm, setting.text(said, width_mm, style, Tag(style.role, group))))
        x_mm += width_mm + GAP_MM
    row = beside(cells)
    bottom_mm = row.height_mm + pad_mm
    line = rule(0.0, bottom_mm, setting.width_mm, bottom_mm, setting.origin("layout"))
    before_mm = setting.before_mm(style) if number == 0 else pad_mm
    return Chunk((*row.items, line), bottom_mm, before_mm, keep_next=not last)


def _widths(rows: tuple[Row, ...], setting: Setting) -> tuple[float, ...]:
    """Column widths: the choice among equal shares and shares by content that sets the table
    lowest. Raises TooNarrow where no choice holds the longest words."""
    room_mm = setting.width_mm - GAP_MM * (len(rows[0]) - 1)
    natural = [
        max(_natural_mm(said, setting, number) for number, said in enumerate(column))
        for column in zip(*rows, strict=True)
    ]
    choices = [_shares([1.0] * len(natural), room_mm)]
    choices += [_shares([mm**power for mm in natural], room_mm) for power in (0.5, 0.75, 1.0)]
    heights: list[tuple[float, int]] = []
    narrow: list[TooNarrow] = []
    for index, widths in enumerate(choices):
        try:
            table = _Table(rows, widths)
            chunks = [_row(table, setting, n, "", False) for n in range(len(rows))]
        except TooNarrow as error:
            narrow.append(error)
            continue
        heights.append((round(sum(chunk.height_mm for chunk in chunks), 3), index))
    if not heights:
        raise narrow[0]
    return choices[min(heights)[1]]


def _natural_mm(said: Said, setting: Setting, number: int) -> float:
    """The width of a cell's text set in one line."""
    style = STYLES[BlockKind.TABLE] if number else HEAD
    item = setting.text(said, 1_000.0, style, Tag(style.role)).items[0]
    return max(line.width_mm for line in item.lines) if isinstance(item, TextItem) else 0.0


def _shares(weights: list[float], room_mm: float) -> tuple[float, ...]:
    return tuple(room_mm * weight / sum(weights) for weight in weights)
