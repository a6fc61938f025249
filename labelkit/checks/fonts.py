"""Whether each font is in the file, and as wide as the file says: a glyph put in another's place
shows.

A file tells the width of each code, and the font inside tells that of its glyph; a page is set
by the first and drawn by the second (ISO 32000-1, 9.7.4.3: they must agree). Where they differ,
letters run into each other, or another letter is drawn.
"""

import io
import struct
from collections.abc import Iterator

import pikepdf
from fontTools.ttLib import TTFont, TTLibError

from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.view import PageView

SLACK = 2.0
"""Thousandths of an em by which widths may differ: both are rounded."""

MOST_BYTES = 16 * 1024 * 1024
"""Larger font programs aren't read; released files embed what they show, some kilobytes."""


def check_fonts(view: PageView) -> list[Finding]:
    """Fonts that show text on the page and aren't in the file."""
    return [
        sentence(
            FindingKind.FONT_NOT_EMBEDDED,
            view.number,
            f"the font {name} isn't in the file: another machine would print another one",
            expected="every font embedded",
            found=name,
        )
        for name in view.characters.not_embedded
    ]


def check_widths(structure: pikepdf.Pdf) -> Iterator[Finding]:
    """A finding for each font whose widths aren't those of its glyphs."""
    for found in structure.objects:
        if not isinstance(found, pikepdf.Dictionary) or found.get("/Type") != "/Font":
            continue
        if str(found.get("/Subtype", "")) != "/CIDFontType2":
            continue
        program = found.get("/FontDescriptor", pikepdf.Dictionary()).get("/FontFile2")
        if program is None or len(program.read_raw_bytes()) > MOST_BYTES:
            continue
        wrong = _wrong(found, bytes(program.read_bytes()))
        if wrong:
            yield sentence(
                FindingKind.FONT_WIDTHS,
                0,
                f"the font {found.get('/BaseFont', '')} has {wrong} glyphs of another width than "
                "the file says: other letters are drawn, or they run into each other",
                expected="widths of the font's own glyphs",
                found=f"{wrong} others",
            )


def _wrong(font: pikepdf.Object, program: bytes) -> int:
    """How many codes have another width in the file than in the font."""
    try:
        advances = _advances(program)
    except (TTLibError, KeyError, ValueError, AssertionError, struct.error):
        return 1
    table = font.get("/CIDToGIDMap")
    to_glyph = bytes(table.read_bytes()) if isinstance(table, pikepdf.Stream) else None
    count = 0
    for code, width in _widths(font):
        glyph = code if to_glyph is None else int.from_bytes(to_glyph[2 * code : 2 * code + 2])
        count += glyph >= len(advances) or abs(advances[glyph] - width) > SLACK
    return count


def _advances(program: bytes) -> list[float]:
    """The advance of each glyph in thousandths of an em (OpenType: head, hhea, maxp, hmtx)."""
    tables = TTFont(io.BytesIO(program), lazy=True).reader
    (em,) = struct.unpack_from(">H", tables["head"], 18)
    (glyphs,) = struct.unpack_from(">H", tables["maxp"], 4)
    (full,) = struct.unpack_from(">H", tables["hhea"], 34)
    pairs = struct.unpack_from(f">{full * 2}H", tables["hmtx"])
    advances: list[float] = [pairs[2 * n] * 1000 / max(em, 1) for n in range(full)]
    # Glyphs after the last full record are as wide as it.
    return [*advances, *(advances[-1:] * max(int(glyphs) - int(full), 0))]


def _widths(font: pikepdf.Object) -> Iterator[tuple[int, float]]:
    """Each code with its width: ISO 32000-1, 9.7.4.3."""
    parts = list(font.get("/W", pikepdf.Array()))
    at = 0
    while at + 1 < len(parts):
        first, second = int(parts[at]), parts[at + 1]
        if isinstance(second, pikepdf.Array):
            yield from ((first + n, float(width)) for n, width in enumerate(second))
            at += 2
        else:
            width = float(parts[at + 2])
            yield from ((code, width) for code in range(first, int(second) + 1))
            at += 3
