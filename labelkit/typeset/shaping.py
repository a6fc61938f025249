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


@lru_cache(maxsize=2_000)
def _buffer(text: str, key: FaceKey, script: str, language: str, rtl: bool) -> hb.Buffer:
    """HarfBuzz's own result, kept so that a text on one line is shaped once, not first
    for measuring and again for drawing."""
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.direction = "rtl" if rtl else "ltr"
    buffer.script = script
    buffer.language = language
    buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_GRAPHEMES
    hb.shape(face(key).hb_font, buffer)
    return buffer


@dataclass(frozen=True, slots=True)
class Advances:
    """A run measured for breaking: per character in logical order, 1/1000 em, a cluster's
    whole advance on its first character; and the characters that came out as glyph 0."""

    each: tuple[float, ...]
    missing: tuple[int, ...]


@lru_cache(maxsize=8_000)
def measure(text: str, key: FaceKey, script: str, language: str, rtl: bool) -> Advances:
    """The advances of `text`, without its glyphs."""
    buffer = _buffer(text, key, script, language, rtl)
    scale = face(key).scale
    advances = [0.0] * len(text)
    missing = set()
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        advances[info.cluster] += place.x_advance * scale
        if info.codepoint == MISSING:
            missing.add(info.cluster)
    return Advances(tuple(advances), tuple(sorted(missing)))


@lru_cache(maxsize=4_000)
def shape(text: str, key: FaceKey, script: str, language: str, rtl: bool) -> Shaped:
    """Shape `text`; clusters are whole graphemes or larger, and never split."""
    font = face(key)
    scale, ink_of = font.scale, font.ink
    buffer = _buffer(text, key, script, language, rtl)
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    said = _texts(text, [info.cluster for info in infos], rtl)
    glyphs: list[Glyph] = []
    left = bottom = float("inf")
    right = top = float("-inf")
    pen = 0.0
    for info, place, words in zip(infos, positions, said, strict=True):
        gid = info.codepoint
        advance = place.x_advance * scale
        dx, dy = place.x_offset * scale, place.y_offset * scale
        glyphs.append(Glyph(gid, advance, dx, dy, words))
        ink = ink_of(gid)
        if ink:
            x = pen + dx
            left = x + ink[0] if x + ink[0] < left else left
            right = x + ink[2] if x + ink[2] > right else right
            bottom = dy + ink[1] if dy + ink[1] < bottom else bottom
            top = dy + ink[3] if dy + ink[3] > top else top
        pen += advance
    if right < left:
        left = right = bottom = top = 0.0
    return Shaped(tuple(glyphs), pen, left, right, bottom, top)


def _texts(text: str, clusters: list[int], rtl: bool) -> list[str]:
    """For each glyph the characters of its cluster, on the cluster's first glyph in logical
    order: the leftmost, or the rightmost of a right-to-left run."""
    starts = sorted(set(clusters))
    ends = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    said = []
    last = len(clusters) - 1
    for i, start in enumerate(clusters):
        beside = clusters[i + 1] if rtl and i < last else clusters[i - 1] if not rtl and i else -1
        said.append("" if beside == start else text[start : ends[start]])
    return said
