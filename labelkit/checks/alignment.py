"""Finds how a scan lies to the sheet it shows: turn, scale and shift, from codes and marks on it.

Only codes that say what a required code must say take part. Where in its box a code stands
is known from the finished file's report; without that, its box leaves it some slack, and
what can't be told for sure isn't.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from labelkit.checks.codes import fields_of
from labelkit.checks.model import CheckReport, ReadCode
from labelkit.checks.payloads import PayloadError
from labelkit.checks.places import edges, inside
from labelkit.checks.symbols import Seen
from labelkit.manifest.model import ManifestPage, RequiredCode

SCAN_DPI = 300

TOLERANCE_MM = 1.0
"""How far a code may lie from where the others say it should: print on sheets, common practice."""

FAR_MM = 3.0
"""Codes farther off than this aren't looked for, and take no part in the alignment."""

LIKELY = 0.06
"""Turn and scale that are thought of at all: 3 degrees, or 6 %."""

SURE = 0.01
"""Turn (in radians) and scale are known when they can't be wrong by more."""

READ_MM = 0.2
"""How wrong the places of two codes may be read together: a pixel or so of 300 dpi each."""

FEWEST = 3
"""Codes that are kept in an alignment however badly they fit."""

AS_IT_IS_MM = 0.3
"""Codes that lie no farther off are taken to lie as they were made: under 4 dots."""


class Known(Protocol):
    """A point of the sheet that is known on the scan."""

    @property
    def paper(self) -> complex:
        """Where it should be, as a complex number of millimetres."""

    @property
    def scan(self) -> complex:
        """Where it is on the scan."""

    @property
    def slack_mm(self) -> float:
        """How far it may be from where it should be."""


@dataclass(frozen=True)
class MatchedMark:
    """A registration mark of the page, and where it is on the scan."""

    paper: complex
    scan: complex
    slack_mm: float = 0.0


@dataclass(frozen=True)
class Match:
    """A code of the scan and the required code it says it is."""

    seen: Seen
    required: RequiredCode
    made: ReadCode | None
    """The same code as it was read from the finished file, where that is at hand."""

    @property
    def paper(self) -> complex:
        """Where the code's middle should be, as a complex number of millimetres: as it was on
        the finished file, else the middle of its box."""
        box = self.made.where if self.made is not None else self.required.within
        return complex(box.x_mm + box.w_mm / 2, box.y_mm + box.h_mm / 2)

    @property
    def scan(self) -> complex:
        """Middle of the code on the scan, in millimetres at its nominal resolution."""
        left, top, right, bottom = self.seen.edges(SCAN_DPI)
        return complex((left + right) / 2, (top + bottom) / 2)

    @property
    def slack_mm(self) -> float:
        """How far its middle may lie from the middle of its box."""
        if self.made is not None:
            return 0.0
        left, top, right, bottom = self.seen.edges(SCAN_DPI)
        box = self.required.within
        return max(box.w_mm - (right - left), box.h_mm - (bottom - top), 0.0) / 2


@dataclass(frozen=True)
class Alignment:
    """Paper times factor plus shift is scan; all in millimetres."""

    factor: complex
    shift: complex
    worst_mm: float
    """The farthest that a code lies off, beyond its slack."""
    sure_to: float
    """How wrong turn (in radians) and scale may be, for what is unknown of the codes' places."""


def matched(
    seen: list[Seen], page: ManifestPage, number: int, made: CheckReport | None, year: int
) -> tuple[int, list[Match]]:
    """The page's number, and each required code with the seen one that says the same; the
    nearest where several do."""
    matches: list[Match] = []
    left = list(seen)
    for required in page.codes:
        known = _made(required, number, made)
        same = [Match(s, required, known) for s in left if _says(s, required, year)]
        if same:
            nearest = min(same, key=lambda match: abs(match.scan - match.paper))
            left.remove(nearest.seen)
            matches.append(nearest)
    return number, matches


def _made(required: RequiredCode, number: int, made: CheckReport | None) -> ReadCode | None:
    """The code as it was read from the finished file."""
    for code in made.codes if made is not None else ():
        same = (code.page, code.name, code.piece, code.area) == (
            number + 1,
            required.name,
            required.piece,
            required.area,
        )
        if same and inside(edges(code.where), edges(required.within), TOLERANCE_MM):
            return code
    return None


def _says(seen: Seen, required: RequiredCode, year: int) -> bool:
    if seen.symbology != required.symbology:
        return False
    try:
        return fields_of(required, seen.text, year) == required.fields
    except PayloadError:
        return False


def aligned(matches: list[Known]) -> Alignment:
    """The simplest alignment that explains where the codes lie.

    With turn and scale, by least squares, again and again without the code that fits worst: one
    that isn't where it should be takes no part. Where turn and scale aren't sure, a shift alone
    is preferred if it is enough.
    """
    likely = _likely(matches)
    shifted = _fitted(likely, turning=False)
    if shifted.worst_mm <= AS_IT_IS_MM and shifted.sure_to > SURE:
        return shifted
    turned = _fitted(likely, turning=True)
    while turned.worst_mm > AS_IT_IS_MM and len(likely) > FEWEST:
        likely.remove(max(likely, key=lambda m: _off(m, turned.factor, turned.shift)))
        turned = _fitted(likely, turning=True)
    return turned


def _likely(matches: list[Known]) -> list[Known]:
    """Codes that a small turn, scale and shift together can have brought where they lie."""
    shifts = np.array([m.scan - m.paper for m in matches])
    usual = complex(np.median(shifts.real), np.median(shifts.imag))
    middle = complex(np.mean([m.paper for m in matches]))
    return [
        m
        for m in matches
        if abs(m.scan - m.paper - usual) <= FAR_MM + LIKELY * abs(m.paper - middle)
    ] or list(matches)


def _fitted(matches: list[Known], *, turning: bool) -> Alignment:
    """Least squares over complex numbers."""
    paper = np.array([m.paper for m in matches])
    scan = np.array([m.scan for m in matches])
    centred = paper - paper.mean()
    spread = float((np.abs(centred) ** 2).sum())
    factor = complex(1)
    if turning and spread > 1:
        factor = complex((np.conj(centred) * (scan - scan.mean())).sum() / spread)
    shift = complex(scan.mean() - factor * paper.mean())
    span = 2 * float(np.abs(centred).max())
    return Alignment(
        factor,
        shift,
        max(_off(m, factor, shift) for m in matches),
        (2 * max(m.slack_mm for m in matches) + READ_MM) / max(span, 1.0),
    )


def _off(match: Known, factor: complex, shift: complex) -> float:
    """How far a code lies from where the alignment puts it, beyond its slack."""
    return max(abs(match.paper * factor + shift - match.scan) - match.slack_mm, 0.0)
