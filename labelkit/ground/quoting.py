"""Stretches of a text that quote a record: a name, a lot, a telephone number, free text.

Each keeps its own order in a line of any direction (UAX #9, 6.3): one isolate for the whole
of it. Isolating its words would set an Arabic name in an English line word by word backwards:
another man's name. While texts are joined and placeholders are filled, stretches are marked by
the isolate's own characters, which no record may hold (`labelkit.records.text`).
"""

import unicodedata
from collections.abc import Sequence

FSI, PDI = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
"""They begin and end a stretch whose direction is that of its first letter (UAX #9, 2.2)."""

_RTL_CLASSES = frozenset({"R", "AL", "AN"})
"""Letters and numbers of scripts written from right to left (UAX #9, table 4)."""

Span = tuple[int, int]
"""Where a stretch begins and ends, as indices of its text."""


def whole(text: str) -> tuple[Span, ...]:
    """The one stretch of a text that is a record's from end to end; none of an empty text."""
    return ((0, len(text)),) if text else ()


def marked(text: str, quoted: Sequence[Span]) -> str:
    """The text with each quoted stretch between an isolate's two characters."""
    parts: list[str] = []
    last = 0
    for begin, end in quoted:
        parts += (text[last:begin], FSI, text[begin:end], PDI)
        last = end
    return "".join((*parts, text[last:]))


def parted(text: str) -> tuple[str, tuple[Span, ...]]:
    """A marked text without its marks, and its quoted stretches; one inside another is part
    of it."""
    kept: list[str] = []
    quoted: list[Span] = []
    depth = begin = 0
    for one in text:
        if one == FSI:
            begin = begin if depth else len(kept)
            depth += 1
        elif one == PDI:
            if depth == 1:
                quoted.append((begin, len(kept)))
            depth = max(0, depth - 1)
        else:
            kept.append(one)
    if depth:
        quoted.append((begin, len(kept)))
    return "".join(kept), tuple(span for span in quoted if span[0] < span[1])


def has_rtl(text: str) -> bool:
    """Whether any character of the text is of a script written from right to left."""
    return not text.isascii() and any(
        unicodedata.bidirectional(one) in _RTL_CLASSES for one in text
    )
