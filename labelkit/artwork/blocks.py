"""A document's blocks as chunks at one type size: headings, text, lists, warnings.

Takes every word from the document. Draws what isn't text as strokes (bullets, the warning's
box), so that text read back from the file is the document's own and nothing else.
"""

from collections.abc import Iterator
from dataclasses import replace

from labelkit.artwork.chunks import Chunk, beside, together
from labelkit.artwork.page import Tag, TextItem
from labelkit.artwork.setting import STYLES, BlockStyle, Setting
from labelkit.artwork.steps import step_rows
from labelkit.artwork.strokes import dot, frame
from labelkit.artwork.tables import table_rows
from labelkit.ground.box import Box
from labelkit.wording.model import Block, BlockKind, Document, Said

SET_OFF = (BlockKind.STEPS, BlockKind.TABLE, BlockKind.WARNING)
"""Blocks with as much space below them as above."""


def chunks_of(document: Document, setting: Setting) -> Iterator[Chunk]:
    """The chunks of a document in reading order. Raises TooNarrow."""
    kinds = [block.kind for block in document.blocks]
    lists = 0
    for index, block in enumerate(document.blocks):
        before = kinds[index - 1] if index else None
        if block.kind is BlockKind.ITEM and before is not BlockKind.ITEM:
            lists += 1
        chunks = list(_block(block, setting, f"l{lists}/i{index}", index))
        if before in SET_OFF:
            space_mm = max(chunks[0].before_mm, setting.before_mm(STYLES[before]))
            chunks[0] = replace(chunks[0], before_mm=space_mm)
        if _stays(kinds, index):
            chunks[-1] = replace(chunks[-1], keep_next=True)
        yield from chunks


def _stays(kinds: list[BlockKind], index: int) -> bool:
    """Whether a block keeps with the next for its list's sake: the line that opens a list, its
    first entry and its last but one, so that no entry stands alone in an area."""
    kind, item = kinds[index], BlockKind.ITEM
    follows = [*kinds, None, None][index + 1 : index + 3]
    if kind is BlockKind.PARAGRAPH:
        return follows[0] is item
    first = index == 0 or kinds[index - 1] is not item
    return kind is item and follows[0] is item and (first or follows[1] is not item)


def _block(block: Block, setting: Setting, item_group: str, index: int) -> Iterator[Chunk]:
    style = STYLES[block.kind]
    if block.kind is BlockKind.STEPS:
        yield from step_rows(block, setting, style, index)
    elif block.kind is BlockKind.TABLE:
        yield from table_rows(block, setting, index)
    elif block.kind is BlockKind.ITEM:
        yield from (_item(said, setting, style, item_group) for said in block.said)
    elif block.kind is BlockKind.WARNING:
        yield _warning(block, setting, style, index)
    else:
        for number, said in enumerate(block.said):
            tag = Tag(style.role, f"b{index}.{number}")
            yield setting.text(said, setting.width_mm, style, tag)


def _item(said: Said, setting: Setting, style: BlockStyle, group: str) -> Chunk:
    """A list's entry: a drawn bullet and its text, never divided."""
    indent_mm = 1.1 * setting.em_mm
    text = setting.text(said, setting.width_mm - indent_mm, style, Tag("LI", group))
    first = text.items[0]
    baseline_mm = first.lines[0].baseline_mm if isinstance(first, TextItem) else 0.0
    middle_mm = baseline_mm - 0.26 * setting.em_mm
    rtl = setting.voice.rtl
    x_mm = setting.width_mm - 0.4 * setting.em_mm if rtl else 0.4 * setting.em_mm
    bullet = dot(x_mm, middle_mm, 0.13 * setting.em_mm, setting.origin("layout"))
    chunk = beside([(0.0 if rtl else indent_mm, text)])
    return Chunk((bullet, *chunk.items), chunk.height_mm, chunk.before_mm)


def _warning(block: Block, setting: Setting, style: BlockStyle, index: int) -> Chunk:
    """The boxed warning: all its texts in one frame, never divided."""
    pad_mm = 0.6 * setting.em_mm
    inner_mm = setting.width_mm - 2 * pad_mm
    parts = [
        setting.text(said, inner_mm, style, Tag(style.role, f"b{index}.{number}"))
        for number, said in enumerate(block.said)
    ]
    text = together(parts, 0.3 * setting.em_mm)
    height_mm = text.height_mm + 2 * pad_mm
    box = Box(0.0, 0.0, setting.width_mm, height_mm)
    inside = together([Chunk((), pad_mm, text.before_mm), beside([(pad_mm, text)])])
    return Chunk(
        (frame(box.inset(0.25), 0.5, setting.origin("layout")), *inside.items),
        height_mm,
        text.before_mm,
    )
