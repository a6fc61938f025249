"""A document as plain text, for screen readers, messages and a practice's own system.

No line is broken inside a sentence: whatever shows the text wraps it. What quotes a record
is isolated as a whole where it or the language runs from right to left (UAX #9, FSI and PDI);
in such a language Latin names, doses and telephone numbers are as well, so that they keep
their order: ``5 mg`` would show as ``mg 5``.
"""

import re
from itertools import pairwise

from labelkit.ground.quoting import Span, has_rtl, marked
from labelkit.wording.model import Block, BlockKind, Document
from labelkit.wording.numbers import locale_of

_A = r"A-Za-z0-9°\u00c0-\u024f"
_WORD = rf"[{_A}](?:[{_A}.'’/–-]*[{_A}])?"
_LATIN = re.compile(rf"(?:\(\d+\)[ \u00a0])?{_WORD}(?:,?[ \u00a0]{_WORD})*")
"""Words and numbers of Latin script with what joins them; a telephone's area code in front."""


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
    texts = [in_order(said.text, said.quoted, rtl=rtl) for said in block.said]
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


def in_order(text: str, quoted: tuple[Span, ...], *, rtl: bool) -> str:
    """The text with an isolate around every stretch that would else be shown in another order.

    `quoted` are the stretches that quote a record, `rtl` tells the language's direction.
    """
    foreign = [(begin, end) for begin, end in quoted if has_rtl(text[begin:end])]
    if not rtl:
        return marked(text, foreign)
    latin = {(begin, end) for begin, end in quoted if (begin, end) not in foreign}
    gaps = pairwise((0, *(edge for span in foreign for edge in span), len(text)))
    for begin, end in list(gaps)[::2]:
        latin |= {match.span() for match in _LATIN.finditer(text, begin, end)}
    joined: list[Span] = []
    for begin, end in sorted(latin):
        if joined and begin < joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((begin, end))
    kept = [(begin, end) for begin, end in joined if not text[begin:end].isdigit()]
    return marked(text, sorted((*kept, *foreign)))
