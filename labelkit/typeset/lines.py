"""Lines of a text at any size: broken greedily, shaped whole, runs in visual order.

Works in 1/1000 em, so that one object serves every size that is tried. Knows no box.
"""

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

from labelkit.ground.errors import ArtworkRefused, Fault
from labelkit.ground.quoting import parted
from labelkit.typeset.breaking import hyphenations, is_space, opportunities, to_visible
from labelkit.typeset.model import FaceKey
from labelkit.typeset.paragraph import Paragraph, paragraph, unshown
from labelkit.typeset.shaping import Shaped, measure, shape

HYPHEN = "\u2010"
"""Drawn where a word is broken; it isn't in the text."""


def blank() -> Fault:
    """The fault of a text with nothing to draw."""
    return Fault("", "", "", "there is no text to set", "give a text, or leave the field out")


@dataclass(frozen=True, slots=True)
class LineRun:
    """A shaped run and its left end, from the line's origin."""

    text: str
    face: FaceKey
    rtl: bool
    shaped: Shaped
    x: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line in 1/1000 em; y upwards from its baseline."""

    runs: tuple[LineRun, ...]
    text: str
    language: str
    hyphen: bool
    left: float
    """Leftmost ink from the line's origin; negative where a glyph hangs out."""
    right: float
    bottom: float
    top: float

    @property
    def width(self) -> float:
        """Room the line takes: its advances and whatever ink hangs out of them."""
        return self.right - min(0.0, self.left)


def visual_order(levels: list[int]) -> list[int]:
    """Indices from left to right of runs or characters with these levels (UAX #9, rule L2)."""
    order = list(range(len(levels)))
    odd = [level for level in levels if level % 2]
    for level in range(max(levels, default=0), min(odd, default=1) - 1, -1):
        i = 0
        while i < len(order):
            j = i
            while j < len(order) and levels[order[j]] >= level:
                j += 1
            order[i:j] = order[i:j][::-1]
            i = max(j, i + 1)
    return order


def _stretches(par: Paragraph) -> list[tuple[int, int]]:
    """Stretches of one level, face and script, in logical order."""
    found: list[tuple[int, int]] = []
    begin = 0
    kinds = list(zip(par.levels, map(id, par.faces), par.scripts, strict=True))
    for i, kind in enumerate(kinds):
        if kind != kinds[begin]:
            found.append((begin, i))
            begin = i
    return [*found, (begin, len(kinds))] if kinds else []


class _Broken:
    """One paragraph with its break opportunities and running widths; its text is marked where
    it quotes a record."""

    def __init__(
        self, text: str, language: str, family: str, weight: str, verbatim: tuple[str, ...]
    ) -> None:
        self.par: Paragraph = paragraph(text, language, family, weight)
        drawn = self.par.text
        end = (len(drawn),) if drawn else ()
        bare, _ = parted(text)
        plain = to_visible(bare, opportunities(bare, language, verbatim))
        self._source = (bare, language, verbatim)
        self.plain_ends = tuple(place for place in plain if place < len(drawn)) + end
        self._bounds = _stretches(self.par)
        self._made: dict[tuple[int, int, bool], Line] = {}
        advances: list[float] = []
        for start, stop in self._bounds:
            measured = measure(drawn[start:stop], *self._how(start))
            if measured.missing:
                self._refuse(start + measured.missing[0])
            advances += measured.each
        self.reach = (0.0, *accumulate(advances))

    @cached_property
    def soft(self) -> frozenset[int]:
        """Where a word may be broken with a hyphen; dictionaries are opened only for it."""
        found = to_visible(self._source[0], hyphenations(*self._source))
        return frozenset(found) - frozenset(self.plain_ends)

    @cached_property
    def all_ends(self) -> tuple[int, ...]:
        """All places where a line may end, hyphens included."""
        return tuple(sorted({*self.plain_ends, *self.soft}))

    def _refuse(self, at: int) -> None:
        raise ArtworkRefused([unshown(self.par.text[at], self.par.text)])

    def _how(self, at: int) -> tuple[FaceKey, str, str, bool]:
        """How the run at a character is shaped: face, script, language, right to left."""
        par = self.par
        return par.faces[at], par.scripts[at], par.language, bool(par.levels[at] % 2)

    def _runs(self, start: int, stop: int) -> list[tuple[int, int]]:
        """The stretches between two characters, in logical order."""
        return [(max(a, start), min(b, stop)) for a, b in self._bounds if a < stop and b > start]

    def _visual(self, start: int, stop: int) -> list[tuple[int, int]]:
        """Runs from left to right."""
        runs = self._runs(start, stop)
        order = visual_order([self.par.levels[a] for a, _ in runs])
        return [runs[i] for i in order]

    def trimmed(self, start: int, stop: int) -> int:
        """The end of the line's text without the spaces at the break."""
        while stop > start and is_space(self.par.text[stop - 1]):
            stop -= 1
        return stop

    def line(self, start: int, stop: int, hyphen: bool) -> Line:
        """The characters from `start` to `stop`, set."""
        key = (start, stop, hyphen)
        if key not in self._made:
            self._made[key] = self._set(start, stop, hyphen)
        return self._made[key]

    def _set(self, start: int, stop: int, hyphen: bool) -> Line:
        par = self.par
        runs: list[LineRun] = []
        pen = left = 0.0
        right = bottom = top = 0.0
        inks: list[Shaped] = []
        for a, b in self._visual(start, stop):
            extra = HYPHEN if hyphen and b == stop else ""
            shaped = shape(par.text[a:b] + extra, *self._how(a))
            rtl = bool(par.levels[a] % 2)
            runs.append(LineRun(par.text[a:b] + extra, par.faces[a], rtl, shaped, pen))
            left, right = min(left, pen + shaped.left), max(right, pen + shaped.right)
            inks.append(shaped)
            pen += shaped.advance
        bottom = min((one.bottom for one in inks), default=0.0)
        top = max((one.top for one in inks), default=0.0)
        return Line(
            tuple(runs),
            par.text[start:stop],
            par.language,
            hyphen,
            left,
            max(right, pen),
            bottom,
            top,
        )

    def lines(self, room: float, hyphenate: bool) -> list[Line] | None:
        """Greedy lines no wider than `room`; None where a part is wider."""
        drawn = self.par.text
        if not drawn.strip():
            return [self.line(0, 0, False)]
        ends = self.all_ends if hyphenate else self.plain_ends
        hyphens = self.soft if hyphenate else frozenset()
        made: list[Line] = []
        start = 0
        while start < len(drawn):
            chosen = self._longest(start, room, ends, hyphens)
            if chosen is None:
                return None
            line, start = chosen
            made.append(line)
        return made

    def _longest(
        self, start: int, room: float, ends: tuple[int, ...], hyphens: frozenset[int]
    ) -> tuple[Line, int] | None:
        """The longest line from `start` that fits, and where the next one starts."""
        drawn = self.par.text
        while start < len(drawn) - 1 and is_space(drawn[start]):
            start += 1
        first = bisect_right(ends, start)
        last = first
        while last < len(ends) and self._about(start, ends[last]) <= room:
            last += 1
        # One more is tried: a line shaped whole may be narrower than its parts.
        for end in reversed(ends[first : last + 1]):
            line = self.line(start, self.trimmed(start, end), end in hyphens)
            if line.width <= room:
                return line, end
        return None

    def _about(self, start: int, end: int) -> float:
        return self.reach[self.trimmed(start, end)] - self.reach[start]

    def widest(self, hyphenate: bool) -> float:
        """Width of the widest part that can't be broken."""
        ends = self.all_ends if hyphenate else self.plain_ends
        starts = (0, *ends[:-1])
        return max(
            (
                self.line(a, self.trimmed(a, b), hyphenate and b in self.soft).width
                for a, b in zip(starts, ends, strict=False)
            ),
            default=0.0,
        )


class Setter:
    """A text of one or more paragraphs, marked where it quotes a record, ready to be broken at
    any width.

    Raises ArtworkRefused as `paragraph` does.
    """

    def __init__(
        self, text: str, language: str, family: str, weight: str, verbatim: tuple[str, ...]
    ) -> None:
        self._parts = [
            _Broken(part.strip(" "), language, family, weight, verbatim)
            for part in text.split("\n")
        ]
        self.base = self._parts[0].par.base
        self.main_face = next(part.par.faces[0] for part in self._parts if part.par.faces)

    @property
    def can_hyphenate(self) -> bool:
        """Whether any word may be broken with a hyphen."""
        return any(part.soft for part in self._parts)

    def lines(self, room: float, hyphenate: bool) -> tuple[Line, ...] | None:
        """All lines, none wider than `room` (1/1000 em); None where a part is wider."""
        made: list[Line] = []
        for part in self._parts:
            lines = part.lines(room, hyphenate)
            if lines is None:
                return None
            made += lines
        return tuple(made)

    def widest(self, hyphenate: bool) -> float:
        """Width of the widest part that can't be broken (1/1000 em)."""
        return max(part.widest(hyphenate) for part in self._parts)
