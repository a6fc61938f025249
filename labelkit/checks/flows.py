"""Documents that flow through a chain of places: every text whole, one after another.

A leaflet's text may stand in any of its panels, but in the order in which it is said: a
warning after the step it belongs to is another leaflet.
"""

from collections.abc import Iterator

import numpy as np

from labelkit.checks.matching import Occurrence
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import edges, millimetres, place_of
from labelkit.checks.texts import judge, short
from labelkit.checks.view import PageView
from labelkit.manifest.model import Manifest, RequiredFlow, RequiredText

FLUSH_MM = 1.2
"""How far inside the corner of its place print may begin: side bearings, the space over the
first line, a centred line that isn't quite full."""

DARK = 128
"""Grey level below which a pixel is ink."""


class Flows:
    """Waits for the pages of each document's chain, and checks it when the last has come."""

    def __init__(self, manifest: Manifest) -> None:
        self.manifest = manifest
        self.waiting = [flow for flow in manifest.flows if flow.chain]
        self.views: dict[int, PageView] = {}

    def add(self, view: PageView) -> list[Finding]:
        """Findings of the documents that end on this page. Pages come in their order."""
        page = view.number - 1
        if any(link.page == page for flow in self.waiting for link in flow.chain):
            self.views[page] = view
        ready = [f for f in self.waiting if max(link.page for link in f.chain) <= page]
        self.waiting = [flow for flow in self.waiting if flow not in ready]
        findings = [finding for flow in ready for finding in self._check(flow)]
        needed = {link.page for flow in self.waiting for link in flow.chain}
        self.views = {number: kept for number, kept in self.views.items() if number in needed}
        return findings

    def _check(self, flow: RequiredFlow) -> list[Finding]:
        """Findings of one document: what is missing, out of order, or wrong where it stands."""
        findings = list(self._shifted(flow))
        at = (0, 0)
        for text in flow.texts:
            places = self._places(flow, text)
            later = [p for p in places if p[:2] >= at]
            if not places:
                findings.append(_missing(flow, text))
                continue
            if not later:
                findings.append(self._out_of_order(flow, text, places[0][2], places[0][0]))
                continue
            link, _, occurrence = later[0]
            findings += self._judged(flow, text, link, occurrence)
            at = (link, occurrence.end if occurrence.stream == 0 else 0)
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

    def _places(self, flow: RequiredFlow, text: RequiredText) -> list[tuple[int, int, Occurrence]]:
        """Every occurrence with its link and its beginning, in the chain's order."""
        return [
            (number, found.begin if found.stream == 0 else 1 << 30, found)
            for number, link in enumerate(flow.chain)
            for found in self.views[link.page].find(text.text, edges(link.within))
        ]

    def _judged(
        self, flow: RequiredFlow, text: RequiredText, link: int, occurrence: Occurrence
    ) -> list[Finding]:
        place = flow.chain[link]
        view = self.views[place.page]
        view.explained[list(occurrence.characters)] = True
        page = self.manifest.pages[place.page]
        return judge(view, page, text, edges(place.within), occurrence)

    def _out_of_order(
        self, flow: RequiredFlow, text: RequiredText, occurrence: Occurrence, link: int
    ) -> Finding:
        view = self.views[flow.chain[link].page]
        boxes = view.characters.boxes[list(occurrence.characters)]
        return sentence(
            FindingKind.TEXT_ORDER,
            view.number,
            f"{text.id} {short(text.text)} stands too early in the {flow.document}",
            expected="the document's own order",
            found="an earlier place",
            piece=text.piece,
            where=place_of(
                (
                    float(boxes[:, 0].min()),
                    float(boxes[:, 1].min()),
                    float(boxes[:, 2].max()),
                    float(boxes[:, 3].max()),
                )
            ),
        )


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
