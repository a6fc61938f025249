"""The order in which a line's clusters are written, so that copied text is logical.

Readers guess the direction of text from the page: one from the order of the content and
one from places only. On a line that mixes directions their guesses come right when each
stretch against the line's direction is written piece by piece from its far end, and is fenced
by direction marks (U+200E, U+200F) that are drawn as nothing. Lines of one direction need
none of it. What is seen doesn't change.
"""

import unicodedata
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

from labelkit.output.clusters import Cluster, clusters
from labelkit.typeset.model import GlyphRun, TextLine

LRM, RLM = "\u200e", "\u200f"
_FILLER = "\u2060"
"""Parts two marks so that a reader counts them as two (word joiner, no width)."""

_ASIDE = 20.0
"""1/1000 em: a mark stands so far beside a glyph's edge, since glyphs that start at the same
place are taken for a shadow of one another."""

UNSPACED = ("zh", "ja")
"""Languages whose lines are joined without a space."""

_WEAK = frozenset({"EN", "AN", "NSM", "CS", "ES", "ET", "BN"})
_RIGHT = frozenset({"R", "AL"})


class Placed(NamedTuple):
    """A cluster and its pen position from the run's left end, 1/1000 em."""

    cluster: Cluster
    x: float


@lru_cache(maxsize=4096)
def _kind(character: str) -> str:
    """``L``, ``R``, weak or neutral: the four kinds that readers tell apart."""
    found = unicodedata.bidirectional(character)
    if found == "L":
        return "L"
    if found in _RIGHT:
        return "R"
    return "W" if found in _WEAK else "N"


@lru_cache(maxsize=20_000)
def _reversed(cluster: Cluster) -> Cluster:
    return cluster._replace(text=cluster.text[::-1])


def _mark(text: str, x: float, width: float = 0.0) -> Placed:
    """A direction mark: a blank glyph, at an edge as wide as its distance from it, since a
    reader takes any gap after a glyph without width for a space."""
    return Placed(Cluster((), width, text), x)


def _placed(run: GlyphRun) -> list[Placed]:
    """The run's clusters from left to right with their places."""
    found = []
    pen = 0.0
    for cluster in clusters(run):
        if run.rtl and len(cluster.text) > 1:
            # Readers take a cluster's characters of a right-to-left run from left to right.
            cluster = _reversed(cluster)
        found.append(Placed(cluster, pen))
        pen += cluster.advance
    return found


def _segments(placed: list[Placed]) -> list[list[Placed]]:
    """Neighbours of one kind, in the order given."""
    return [list(group) for _, group in groupby(placed, lambda one: _kind(one.cluster.text[:1]))]


def in_reading_order(line: TextLine) -> list[list[Placed]]:
    """For each run of the line, its clusters in the order they are written."""
    runs = [_placed(run) for run in line.runs]
    directions = {run.rtl for run in line.runs}
    fences = any(
        _needs_fence(one.cluster.text)
        for run, placed in zip(line.runs, runs, strict=True)
        if run.rtl
        for one in placed
    )
    if directions == {False} or (directions == {True} and not fences):
        return runs
    return (
        _right_to_left(line, runs)
        if line.rtl or directions == {True}
        else _left_to_right(line, runs)
    )


def parts_words(line: TextLine) -> bool:
    """Whether the line's end stands for a space in its text, written after its last glyph: not
    after a hyphen, not in Chinese, not where lines are written from right to left."""
    language = line.runs[-1].language if line.runs else ""
    return bool(line.runs) and not (line.hyphen or line.rtl or language.startswith(UNSPACED))


def _edge(placed: list[Placed]) -> float:
    """The right end of a run written from left to right."""
    return placed[-1].x + placed[-1].cluster.advance


@lru_cache(maxsize=4096)
def _needs_fence(text: str) -> bool:
    """Whether readers mistake the character inside right-to-left text: brackets are mirrored
    by some, and stops are taken for the start of a number."""
    return len(text) == 1 and (unicodedata.mirrored(text) == 1 or _kind(text) == "W")


def _fenced(placed: list[Placed]) -> list[Placed]:
    """A right-to-left run from left to right, brackets between marks so that nobody mirrors
    what is already the right character."""
    found: list[Placed] = []
    for one in placed:
        if unicodedata.mirrored(one.cluster.text[:1]):
            edge = one.x + one.cluster.advance
            found += [_mark(RLM, one.x - _ASIDE), one, _mark(LRM, edge - 2 * _ASIDE)]
        elif _needs_fence(one.cluster.text):
            found += [_mark(RLM, one.x - _ASIDE), one]
        else:
            found.append(one)
    return found


def _unmirrored(segment: list[Placed]) -> list[Placed]:
    """A stretch of one kind; one with a bracket from its right end, behind a mark that keeps
    a reader from mirroring it."""
    if not any(unicodedata.mirrored(one.cluster.text[:1]) for one in segment):
        return segment
    return [_mark(LRM, _edge(segment) - _ASIDE), *reversed(segment)]


def _right_to_left(line: TextLine, runs: list[list[Placed]]) -> list[list[Placed]]:
    """A line read from the right: Latin islands last piece first, each closed by a mark at
    its left edge."""
    written: list[list[Placed]] = []
    for i, (run, placed) in enumerate(zip(line.runs, runs, strict=True)):
        if run.rtl:
            out = _fenced(placed)
            if i + 1 < len(runs) and not line.runs[i + 1].rtl:
                out.append(_mark(RLM, _edge(placed) - _ASIDE, _ASIDE))
        else:
            out = _island(placed)
        if i and out[0].x < 0:
            # A mark before the run's edge ends the run before it: readers take a step back
            # from one run to the next for a space.
            end = sum(one.cluster.advance for one in runs[i - 1])
            written[-1].append(_mark(out[0].cluster.text, end - _ASIDE))
            out = out[1:]
        written.append(out)
    weights = _weights(written, "L", "R", RLM)
    if weights:
        at = next(i for i, run in enumerate(line.runs) if run.rtl)
        guarded = written[at][-1].cluster.text == RLM
        place = len(written[at]) - guarded
        written[at].insert(place, _mark(weights, _edge(runs[at]) - 2 * _ASIDE))
    return written


def _island(placed: list[Placed]) -> list[Placed]:
    """A left-to-right stretch in a right-to-left line, last piece first."""
    segments = _segments(placed)
    out: list[Placed] = []
    for i, segment in reversed(list(enumerate(segments))):
        out += segment
        kind = _kind(segment[-1].cluster.text[-1:])
        edge = segment[-1].x + segment[-1].cluster.advance
        last = i == len(segments) - 1
        if (last and kind == "N") or (i == 0 and kind != "L" and not last):
            out.append(_mark(LRM, edge - 2 * _ASIDE if last else edge))
    return out


def _left_to_right(line: TextLine, runs: list[list[Placed]]) -> list[list[Placed]]:
    """A line read from the left: right-to-left stretches first word first, with a mark where
    the line's own direction goes on, and before a bracket, which a reader would mirror."""
    written: list[list[Placed]] = []
    for i, (run, placed) in enumerate(zip(line.runs, runs, strict=True)):
        if run.rtl:
            out = [one for segment in reversed(_segments(placed)) for one in _unmirrored(segment)]
        elif i and line.runs[i - 1].rtl:
            out = [_mark(LRM, -_ASIDE), *placed]
        else:
            out = placed
        written.append(out)
    at = next(i for i, run in enumerate(line.runs) if not run.rtl)
    weights = _weights(written, "R", "L", LRM)
    if weights:
        written[at] = [_mark(weights, -_ASIDE), *written[at]]
    return written


def _weights(written: list[list[Placed]], against: str, along: str, mark: str) -> str:
    """Marks that make the line's own direction outweigh the other one.

    One kind of reader counts stretches, one counts letters.
    """
    text = "".join(one.cluster.text for run in written for one in run)
    kinds = [_kind(one) for one in text]
    letters = kinds.count(against) - kinds.count(along) + 1
    stretches = [kind for kind, _ in groupby(kinds)]
    short = stretches.count(against) - stretches.count(along) + 2
    return (_FILLER + mark) * max(0, short) + mark * max(0, letters)
