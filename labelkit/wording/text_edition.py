"""A document as plain text, for screen readers, messages and a practice's own system.

No line is broken inside a sentence: whatever shows the text wraps it. Where a language runs
from right to left, doses, dates and numbers are isolated (UAX #9, FSI and PDI) so that they
keep their order.
"""

from labelkit.wording.model import Block, BlockKind, Document, Said
from labelkit.wording.numbers import locale_of

_FSI, _PDI = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"


def as_text(document: Document) -> str:
    """The whole document, blocks parted by an empty line, list entries led by a dash."""
    rtl = locale_of(document.language).text_direction == "rtl"
    chunks: list[str] = []
    previous: BlockKind | None = None
    for block in document.blocks:
        lines = _lines(block, document.warning_word, rtl)
        if block.kind is BlockKind.ITEM and previous is BlockKind.ITEM:
            chunks[-1] += "\n" + lines
        else:
            chunks.append(lines)
        previous = block.kind
    return "\n\n".join(chunks) + "\n"


def _lines(block: Block, warning_word: str, rtl: bool) -> str:
    texts = [_isolated(said) if rtl else said.text for said in block.said]
    match block.kind:
        case BlockKind.ITEM:
            return f"- {texts[0]}"
        case BlockKind.WARNING:
            return f"{warning_word}: {texts[0]}"
        case BlockKind.STEPS:
            return "\n".join(f"{number}. {text}" for number, text in enumerate(texts, 1))
        case BlockKind.TABLE:
            return "\n".join(_rows(texts, block.columns))
        case _:
            return texts[0]


def _rows(texts: list[str], columns: int) -> list[str]:
    """One line for each row, every cell behind its column's head."""
    heads = texts[:columns]
    rows = [texts[start : start + columns] for start in range(columns, len(texts), columns)]
    return [
        "; ".join(f"{head}: {cell}" for head, cell in zip(heads, row, strict=True)) for row in rows
    ]


def _isolated(said: Said) -> str:
    text = said.text
    for kept in sorted(set(said.verbatim), key=len, reverse=True):
        text = text.replace(kept, f"{_FSI}{kept}{_PDI}")
    return text
