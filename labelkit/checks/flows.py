"""Documents that flow through a chain of places: every text whole, one after another.

A leaflet's text may stand in any of its panels, but in the order in which it is said: a
warning after the step it belongs to is another leaflet.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from labelkit.checks.matching import Occurrence
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import Edges, edges, millimetres, place_of
from labelkit.checks.texts import box_of, judge, short, stands
from labelkit.checks.view import PageView
from labelkit.manifest.model import Manifest, RequiredFlow, RequiredText

_BACKWARD = frozenset(("ar", "fa", "he", "ur", "ps", "yi"))
"""Languages whose rows are read from right to left (CLDR, character order)."""

ROW_SHARE = 0.5
"""Share of the lower of two texts' heights from which they stand in one row."""

FLUSH_MM = 1.2
"""How far inside the corner of its place print may begin: side bearings, the space over the
first line, a centred line that isn't quite full."""

DARK = 128
"""Grey level below which a pixel is ink."""


class Flows:
    """Waits for the pages of each document's chain, and checks it when the last has come."""

    def __init__(self, manifest: Manifest) -> None:
        self.manifest = manifest
        self.waiting: dict[int, list[RequiredFlow]] = {}
        """By the page on which each ends."""
        self.needed: Counter[int] = Counter()
        """How many documents still need each page."""
        for flow in manifest.flows:
            if flow.chain:
                pages = {link.page for link in flow.chain}
                self.waiting.setdefault(max(pages), []).append(flow)
                self.needed.update(pages)
        self.views: dict[int, PageView] = {}

    def add(self, view: PageView) -> list[Finding]:
        """Findings of the documents that end on this page. Pages come in their order."""
        page = view.number - 1
        flows = self.waiting.get(page, [])
        if page in self.needed:
            self.views[page] = view
        findings = [finding for flow in flows for finding in self._check(flow)]
        for flow in flows:
            for number in {link.page for link in flow.chain}:
                self.needed[number] -= 1
                if not self.needed[number]:
                    self.views.pop(number, None)
        return findings

    def needs(self, view: PageView) -> bool:
        """Whether a document that flows through the page hasn't come to its end yet."""
        return self.needed[view.number - 1] > 0

    def _check(self, flow: RequiredFlow) -> list[Finding]:
        """Findings of one document: what is missing, out of order, or wrong where it stands."""
        findings = list(self._shifted(flow))
        last: _Spot | None = None
        taken: set[tuple[int, int]] = set()
        for text in flow.texts:
            spots = self._spots(flow, text)
            free = [spot for spot in spots if taken.isdisjoint(spot.owned)]
            later = [spot for spot in free if last is None or spot.follows(last)]
            if not spots:
                findings.append(_missing(flow, text))
            elif not later:
                findings.append(self._out_of_order(flow, text, spots[0]))
            else:
                last = _first(later)
                taken |= last.owned
                findings += self._judged(flow, text, last)
        return findings

    def _shifted(self, flow: RequiredFlow) -> Iterator[Finding]:
        """Print that doesn't begin at the corner of each place in which the document flows.

        A sheet printed smaller, or moved, keeps every text and may have no code to measure.
        """
        for link in flow.chain:
            view = self.views[link.page]
            box = edges(link.within)
            ink = view.raster.crop(box) < DARK
            if not ink.any():
                continue
            columns, rows = np.nonzero(ink.any(axis=0))[0], np.nonzero(ink.any(axis=1))[0]
            backward = bool(view.order.backward[view.chosen(box)].any())
            side = len(ink[0]) - 1 - int(columns[-1]) if backward else int(columns[0])
            off = millimetres(max(side, int(rows[0])), view.raster.dpi)
            if off > FLUSH_MM:
                yield sentence(
                    FindingKind.PRINT_SHIFTED,
                    view.number,
                    f"the {flow.document} begins {off:.1f} mm inside its place: moved or smaller",
                    expected=f"{FLUSH_MM:g} mm or less",
                    found=f"{off:.2f} mm",
                    where=link.within,
                )

    def _spots(self, flow: RequiredFlow, text: RequiredText) -> list["_Spot"]:
        """Every place of the chain where a text stands."""
        backward = text.language.split("-")[0] in _BACKWARD
        spots: list[_Spot] = []
        for number, link in enumerate(flow.chain):
            view = self.views[link.page]
            find = view.find_all if backward else view.find
            spots.extend(
                _Spot(number, box_of(view, np.array(found.characters)), backward, found)
                for found in find(text.text, edges(link.within))
            )
        return [spot for spot in spots if not any(other.within(spot) for other in spots)]

    def _judged(self, flow: RequiredFlow, text: RequiredText, spot: "_Spot") -> list[Finding]:
        link = flow.chain[spot.link]
        view = self.views[link.page]
        view.explained[list(spot.occurrence.characters)] = True
        page = self.manifest.pages[link.page]
        return judge(view, page, text, stands(view, spot.occurrence, edges(link.within)))

    def _out_of_order(self, flow: RequiredFlow, text: RequiredText, spot: "_Spot") -> Finding:
        return sentence(
            FindingKind.TEXT_ORDER,
            flow.chain[spot.link].page + 1,
            f"{text.id} {short(text.text)} stands too early in the {flow.document}",
            expected="the document's own order",
            found="an earlier place",
            piece=text.piece,
            where=place_of(spot.box),
        )


@dataclass(frozen=True)
class _Spot:
    """Where a text of a document stands."""

    link: int
    """Place in the chain."""
    box: Edges
    backward: bool
    """Whether its rows are read from right to left."""
    occurrence: Occurrence

    @property
    def owned(self) -> frozenset[tuple[int, int]]:
        """Its characters: no other text of the document may stand on one of them (``10 mg`` is
        not said by the ``(10 mg)`` before it)."""
        return frozenset((self.link, index) for index in self.occurrence.characters)

    def place(self) -> tuple[int, float, float]:
        """A key that sorts spots as they are read."""
        return (self.link, self.box[1], -self.box[2] if self.backward else self.box[0])

    def within(self, other: "_Spot") -> bool:
        """Whether it is the closer of two readings of the same print. A reading that borrows the
        next line's full stop reaches further than the text does."""
        mine, theirs = ((b[2] - b[0]) * (b[3] - b[1]) for b in (self.box, other.box))
        return self is not other and mine < theirs and not self.owned.isdisjoint(other.owned)

    def follows(self, other: "_Spot") -> bool:
        """Whether this is read after the other: farther along the chain, in the same row farther
        along it, or below."""
        if self.link != other.link:
            return self.link > other.link
        shared = min(self.box[3], other.box[3]) - max(self.box[1], other.box[1])
        lower = min(self.box[3] - self.box[1], other.box[3] - other.box[1])
        if shared > ROW_SHARE * lower:
            if self.backward:
                return self.box[2] < other.box[2]
            return self.box[0] > other.box[0]
        return self.box[1] > other.box[1]


def _first(spots: list[_Spot]) -> _Spot:
    """The one that is read before the others: of one row the foremost, though a hair lower."""
    for spot in spots:
        if not any(spot.follows(other) for other in spots if other is not spot):
            return spot
    return min(spots, key=_Spot.place)


def _missing(flow: RequiredFlow, text: RequiredText) -> Finding:
    first = flow.chain[0]
    return sentence(
        FindingKind.TEXT_MISSING,
        first.page + 1,
        f"{text.id} {short(text.text)} isn't in the {flow.document}, whole and as words of its own",
        expected=text.text,
        found="",
        piece=text.piece,
        where=first.within,
    )
