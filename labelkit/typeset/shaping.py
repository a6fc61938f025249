"""A run of one face, script, language and direction to glyphs, by HarfBuzz.

Sizes don't matter here: everything is in 1/1000 em, so that one shaping serves every size
that fitting tries and every cell of a lid. Decides nothing about lines.
"""

from dataclasses import dataclass
from functools import lru_cache

import uharfbuzz as hb

from labelkit.typeset.fonts import face
from labelkit.typeset.model import FaceKey, Glyph

MISSING = 0
"""Glyph 0 (``.notdef``) of every font: the character has no glyph (OpenType 1.9, cmap)."""


@dataclass(frozen=True, slots=True)
class Shaped:
    """A shaped run, glyphs in visual order; lengths in 1/1000 em, y upwards."""

    glyphs: tuple[Glyph, ...]
    advance: float
    left: float
    """Leftmost ink, from the run's left end; negative where a glyph hangs out."""
    right: float
    """Rightmost ink, from the run's left end."""
    bottom: float
    top: float
    advances: tuple[float, ...]
    """Per character in logical order: a cluster's whole advance on its first character."""
    missing: tuple[int, ...]
    """Indices of characters that came out as glyph 0."""


@lru_cache(maxsize=50_000)
def shape(text: str, key: FaceKey, script: str, language: str, rtl: bool) -> Shaped:
    """Shape `text`; clusters are whole graphemes or larger, and never split."""
    font = face(key)
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.direction = "rtl" if rtl else "ltr"
    buffer.script = script
    buffer.language = language
    buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_GRAPHEMES
    hb.shape(font.hb_font, buffer)
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    starts = sorted({info.cluster for info in infos})
    ends = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    advances = [0.0] * len(text)
    order = range(len(infos))
    first = {infos[i].cluster: i for i in (order if rtl else reversed(order))}
    glyphs: list[Glyph] = []
    missing: list[int] = []
    left = bottom = float("inf")
    right = top = float("-inf")
    pen = 0.0
    for i, (info, place) in enumerate(zip(infos, positions, strict=True)):
        start = info.cluster
        advance = place.x_advance * font.scale
        dx, dy = place.x_offset * font.scale, place.y_offset * font.scale
        said = text[start : ends[start]] if first[start] == i else ""
        glyphs.append(Glyph(info.codepoint, advance, dx, dy, said))
        advances[start] += advance
        if info.codepoint == MISSING:
            missing.append(start)
        ink = font.ink(info.codepoint)
        if ink:
            left, right = min(left, pen + dx + ink[0]), max(right, pen + dx + ink[2])
            bottom, top = min(bottom, dy + ink[1]), max(top, dy + ink[3])
        pen += advance
    if right < left:
        left = right = bottom = top = 0.0
    return Shaped(
        tuple(glyphs), pen, left, right, bottom, top, tuple(advances), tuple(sorted(set(missing)))
    )
