"""A run's glyphs grouped into clusters: what a reader copies is a cluster, whole.

A cluster of one plain glyph is that glyph. One of several (a consonant with its vowel
sign, a letter with its dots, a stacked mark) is drawn as one composed glyph, so that no
glyph of the file stands for a part of a character and none stands for nothing.
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from labelkit.typeset.model import Glyph, GlyphRun


class Part(NamedTuple):
    """One glyph of a cluster and its place from the cluster's origin, 1/1000 em."""

    gid: int
    x: float
    y: float


class Cluster(NamedTuple):
    """Glyphs that stand for `text` together."""

    parts: tuple[Part, ...]
    """None for a mark that is drawn as nothing."""
    advance: float
    text: str


def clusters(run: GlyphRun) -> Iterator[Cluster]:
    """The run's clusters from left to right.

    The glyph that carries the text is the first of its cluster in logical order: the
    leftmost in a left-to-right run, the rightmost in a right-to-left one.
    """
    ends, group = run.rtl, list[Glyph]()
    for glyph in run.glyphs:
        if ends:
            group.append(glyph)
            if glyph.text:
                yield _cluster(group)
                group = []
        else:
            if glyph.text and group:
                yield _cluster(group)
                group = []
            group.append(glyph)
    if group:
        yield _cluster(group)


@lru_cache(maxsize=20_000)
def _single(glyph: Glyph) -> Cluster:
    place = Part(glyph.gid, round(glyph.dx, 3), round(glyph.dy, 3))
    return Cluster((place,), glyph.advance, glyph.text)


def _cluster(group: list[Glyph]) -> Cluster:
    return _single(group[0]) if len(group) == 1 else _composed(tuple(group))


@lru_cache(maxsize=20_000)
def _composed(group: tuple[Glyph, ...]) -> Cluster:
    parts = []
    pen = 0.0
    for glyph in group:
        parts.append(Part(glyph.gid, round(pen + glyph.dx, 3), round(glyph.dy, 3)))
        pen += glyph.advance
    return Cluster(tuple(parts), round(pen, 3), "".join(glyph.text for glyph in group))
