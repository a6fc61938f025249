"""Which page a picture shows and which way up it lies, from its codes and registration marks.

Codes say which page they belong to. A page without codes is known by its marks, which stand
unlike on front and back; of several such pages the one in the picture's own place is meant.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from labelkit.checks import symbols
from labelkit.checks.alignment import Known, Match, MatchedMark, matched
from labelkit.checks.marks import find
from labelkit.checks.model import CheckReport
from labelkit.checks.places import Edges, millimetres
from labelkit.checks.raster import Raster
from labelkit.checks.symbols import Seen
from labelkit.manifest.model import Manifest, ManifestPage

REACH_MM = 8.0
"""How far a mark may lie from its place on the picture: 3 mm shifted, and on the largest paper a
degree turned and 3 % too large."""


@dataclass(frozen=True)
class Recognised:
    """A picture the right way up, and what of its page is known on it."""

    raster: Raster
    number: int
    """Of the page, from 0."""
    codes: tuple[Match, ...]
    marks: tuple[MatchedMark, ...]

    @property
    def known(self) -> list[Known]:
        """All that it can be aligned by."""
        return [*self.codes, *self.marks]


def recognised(
    raster: Raster, manifest: Manifest, made: CheckReport | None, year: int, place: int
) -> tuple[Recognised | None, list[Seen]]:
    """What a picture shows, if anything of this job, and every code on it.

    `place` is the picture's own among those of the scan, from 0.
    """
    seen = symbols.read_in(raster, _whole(raster))
    number, codes = max(
        (matched(seen, page, number, made, year) for number, page in enumerate(manifest.pages)),
        key=lambda found: len(found[1]),
        default=(0, []),
    )
    if not codes:
        return _by_marks(raster, manifest, place), seen
    quarters = min(range(4), key=lambda turns: _off(codes, raster, turns))
    if quarters:
        raster = turned(raster, quarters)
        page = manifest.pages[number]
        _, codes = matched(symbols.read_in(raster, _whole(raster)), page, number, made, year)
    marks = tuple(_marks(raster, manifest.pages[number]))
    return Recognised(raster, number, tuple(codes), marks), seen


def turned(raster: Raster, quarters: int) -> Raster:
    """The picture turned counterclockwise by so many right angles."""
    return Raster(np.ascontiguousarray(np.rot90(raster.grey, quarters)), raster.dpi)


def _whole(raster: Raster) -> Edges:
    height, width = raster.grey.shape
    return (0.0, 0.0, millimetres(width, raster.dpi), millimetres(height, raster.dpi))


def _off(codes: Iterable[Match], raster: Raster, quarters: int) -> float:
    """How far the codes lie from their places once the picture is turned: the median."""
    return float(np.median([abs(_at(code.scan, raster, quarters) - code.paper) for code in codes]))


def _at(point: complex, raster: Raster, quarters: int) -> complex:
    """Where a point of the picture comes to lie once it is turned."""
    _, _, width, height = _whole(raster)
    for _ in range(quarters):
        point, width, height = complex(point.imag, width - point.real), height, width
    return point


def _by_marks(raster: Raster, manifest: Manifest, place: int) -> Recognised | None:
    """The page without codes all of whose marks are found, the picture's own place first."""
    bare = [n for n, page in enumerate(manifest.pages) if page.marks and not page.codes]
    for number in sorted(bare, key=lambda n: n != place):
        page = manifest.pages[number]
        height, width = raster.grey.shape
        lies = (page.width_mm > page.height_mm) != (width > height)
        for quarters in (1, 3) if lies else (0, 2):
            upright = turned(raster, quarters) if quarters else raster
            marks = tuple(_marks(upright, page))
            if len(marks) == len(page.marks):
                return Recognised(upright, number, (), marks)
    return None


def _marks(raster: Raster, page: ManifestPage) -> Iterator[MatchedMark]:
    for mark in page.marks:
        found = find(raster, mark, REACH_MM)
        if found is not None and found.ringed == bool(mark.ring_mm):
            yield MatchedMark(complex(mark.x_mm, mark.y_mm), complex(found.x_mm, found.y_mm))
