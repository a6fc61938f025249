"""Steps: drawings with one short sentence each, in rows or beside their sentences.

As many stand in a row as leave room for the words; in a narrow panel each picture stands
beside its sentence. Rows run in the language's direction and are never divided.
"""

from collections.abc import Iterator

from labelkit.artwork.chunks import Chunk, beside, together
from labelkit.artwork.page import Tag
from labelkit.artwork.pictures import placed
from labelkit.artwork.setting import STYLES, BlockStyle, Setting
from labelkit.ground.box import Box
from labelkit.wording.model import Block, BlockKind

PICTURE_MM = 15.0
"""The least size at which every drawing is understood (tested by eye, see the drawings)."""

LEAST_STEP_EM = 7.5
"""Narrowest column, in type sizes, for a step's sentence under its picture."""

STEP_GAP_MM = 4.0


def step_rows(block: Block, setting: Setting, style: BlockStyle, index: int) -> Iterator[Chunk]:
    """The chunks of a STEPS block, in order."""
    count = len(block.said)
    column_mm = max(PICTURE_MM, LEAST_STEP_EM * setting.em_mm) + STEP_GAP_MM
    per_row = min(count, int((setting.width_mm + STEP_GAP_MM) // column_mm))
    if per_row < 2:
        for number in range(count):
            yield _step_line(block, setting, style, index, number)
        return
    rows = -(-count // per_row)
    per_row = -(-count // rows)
    for first in range(0, count, per_row):
        numbers = range(first, min(first + per_row, count))
        yield _step_row(block, setting, style, index, numbers, per_row)


def _step_row(
    block: Block, setting: Setting, style: BlockStyle, index: int, numbers: range, per_row: int
) -> Chunk:
    """One row of steps: the picture above, the sentence below it."""
    width_mm = (setting.width_mm - (per_row - 1) * STEP_GAP_MM) / per_row
    cells = []
    for place, number in enumerate(numbers):
        x_mm = place * (width_mm + STEP_GAP_MM)
        if setting.voice.rtl:
            x_mm = setting.width_mm - width_mm - x_mm
        tag = Tag(style.role, f"b{index}.{number}")
        text = setting.text(block.said[number], width_mm, style, tag)
        picture = _picture(block, setting, number, min(width_mm, _picture_mm(setting)))
        cells.append((x_mm, together([picture, text], 0.4 * setting.em_mm)))
    return beside(cells)


def _step_line(block: Block, setting: Setting, style: BlockStyle, index: int, number: int) -> Chunk:
    """One step in a narrow column: the picture at the start, the sentence beside it."""
    picture_mm = _picture_mm(setting)
    picture = _picture(block, setting, number, picture_mm)
    width_mm = setting.width_mm - picture_mm - STEP_GAP_MM
    tag = Tag(style.role, f"b{index}.{number}")
    text = setting.text(block.said[number], width_mm, style, tag)
    drop_mm = max(0.0, (picture.height_mm - text.height_mm) / 2)
    lowered = together([Chunk((), drop_mm, text.before_mm), text])
    if setting.voice.rtl:
        return beside([(width_mm + STEP_GAP_MM, picture), (0.0, lowered)])
    return beside([(0.0, picture), (picture_mm + STEP_GAP_MM, lowered)])


def _picture_mm(setting: Setting) -> float:
    """Pictures grow with the type, so that a large-print edition has large pictures."""
    return max(PICTURE_MM, 4.0 * setting.em_mm)


def _picture(block: Block, setting: Setting, number: int, size_mm: float) -> Chunk:
    name = block.pictures[number]
    alt = setting.voice.say(f"picture.{name}").text
    items = placed(
        name,
        Box(0.0, 0.0, size_mm, size_mm),
        setting.origin(f"picture:{name}"),
        align="end" if setting.voice.rtl else "start",
        mirrored=setting.voice.rtl,
        tag=Tag("Figure", alt=alt),
    )
    return Chunk(items, size_mm, setting.before_mm(STYLES[BlockKind.STEPS]))
