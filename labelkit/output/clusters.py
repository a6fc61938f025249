"""A run's glyphs grouped into clusters: what a reader copies is a cluster, whole.

A cluster of one plain glyph is that glyph. One of several (a consonant with its vowel
sign, a letter with its dots, a stacked mark) is drawn as one composed glyph, so that no
glyph of the file stands for a part of a character and none stands for nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from labelkit.typeset.model import Glyph, GlyphRun


@dataclass(frozen=True, slots=True)
class Part:
    """One glyph of a cluster and its place from the cluster's origin, 1/1000 em."""

    gid: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Cluster:
    """Glyphs that stand for `text` together."""

    parts: tuple[Part, ...]
    """None for a mark that is drawn as nothing."""
    advance: float
    text: str

    @property
    def composed(self) -> bool:
        """Whether it takes a glyph of its own in the embedded font."""
        return len(self.parts) != 1 or bool(self.parts[0].y)


def clusters(run: GlyphRun) -> Iterator[Cluster]:
    """The run's clusters from left to right.

    The glyph that carries the text is the first of its cluster in logical order: the
    leftmost in a left-to-right run, the rightmost in a right-to-left one.
    """
    group: list[Glyph] = []
    for glyph in run.glyphs:
        if glyph.text and not run.rtl and group:
            yield _cluster(group)
            group = []
        group.append(glyph)
        if glyph.text and run.rtl:
            yield _cluster(group)
            group = []
    if group:
        yield _cluster(group)


def _cluster(group: list[Glyph]) -> Cluster:
    parts = []
    pen = 0.0
    for glyph in group:
        parts.append(Part(glyph.gid, round(pen + glyph.dx, 3), round(glyph.dy, 3)))
        pen += glyph.advance
    return Cluster(tuple(parts), round(pen, 3), "".join(glyph.text for glyph in group))
