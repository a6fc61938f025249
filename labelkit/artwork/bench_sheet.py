"""The bench sheet: the packing plan as pages to work from and to sign.

First what is to be done altogether, then one page for each card with its loading map and
the check before it is closed, then what to do at the hand-over of each prescription. It
speaks the pharmacy's language, in statements and facts alone, and names patients: the file
is for the bench, not for a counter. It decides nothing of the plan.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from babel import Locale

from labelkit.artwork.bench_rows import (
    BODY,
    FINE,
    HEAD,
    STRONG,
    set_text,
    sign_row,
    table_row,
    text_row,
    tick_row,
)
from labelkit.artwork.chunks import Chunk, at
from labelkit.artwork.loading_map import cut_pairs, map_items
from labelkit.artwork.page import Item, Origin, Page, TextItem
from labelkit.artwork.strokes import frame
from labelkit.artwork.texts import Style
from labelkit.geometry.alignment import PAPERS
from labelkit.geometry.model import Layout
from labelkit.ground.box import Box
from labelkit.ground.quoting import parted
from labelkit.records.model import Prescription
from labelkit.rules.model import Fill, PlannedCard
from labelkit.wording.model import ReviewState, Said, Voice

MARGIN_MM = 10.0
TITLE_MM = 9.0
"""Height of the line on top of each page: title, draft mark, number."""

LARGE = Style(20, 14, "bold", align="end", valign="middle")
SMALL = Style(11, 9, valign="middle")
LOAD = Style(18, 13, "bold")
MARK = Style(11, 9, "bold", align="centre", valign="middle")

LOT_COLUMNS = (0.12, 0.25, 0.18, 0.13, 0.14, 0.18)
"""Widths of the table of lots, as parts of the text's width."""


@dataclass(frozen=True)
class BenchCard:
    """One card to fill: what the plan says, and where its lid is."""

    card: PlannedCard
    layout: Layout
    facts: Mapping[str, Said]
    """Of its lot."""
    file: str
    """The PDF with its lid."""
    sheet: int
    place: int
    """Which card of that sheet."""


@dataclass(frozen=True)
class BenchHandOver:
    """One prescription to hand over."""

    rx: Prescription
    fill: Fill
    facts: Mapping[str, Said]


@dataclass(frozen=True)
class BenchLot:
    """One lot: what there is, what prescriptions take, what is left."""

    facts: Mapping[str, Said]
    usable: int
    planned: int
    left: int


@dataclass(frozen=True)
class Bench:
    """All that the sheet shows."""

    cards: Sequence[BenchCard]
    hand_overs: Sequence[BenchHandOver]
    lots: Sequence[BenchLot]
    totals: Sequence[tuple[str, int]]
    """Statement id and number, in order."""
    left_out: Sequence[tuple[str, str, str]]
    """What isn't in the plan: statement id, placeholder, value."""
    beyond_use: str
    """Statement id of what the country calls the date."""
    paper: str


def bench_pages(bench: Bench, voice: Voice) -> Iterator[Page]:
    """Summary, cards, hand-overs, a page at a time: there may be thousands.

    Raises ArtworkRefused and WordingRefused.
    """
    desk = _Desk(bench, voice)
    yield from desk.summary()
    yield from desk.cards()
    yield from desk.hand_overs()


def statements_on(page: Page) -> frozenset[str]:
    """Ids of the statements that the page says."""
    sources = (item.origin.source for item in page.items if isinstance(item, TextItem))
    parts = (part for source in sources for part in source.split(","))
    return frozenset(part.partition(":")[2] for part in parts if part.startswith("statement:"))


def marked(page: Page, voice: Voice) -> Page:
    """The page with the draft mark in the room that each keeps for it."""
    box = Box(page.width_mm / 2 - 40.0, MARGIN_MM, 80.0, TITLE_MM)
    return replace(page, items=(*page.items, set_text(voice.say("draft.mark"), box, MARK)))


class _Desk:
    """Lays the plan on pages of one paper in one language."""

    def __init__(self, bench: Bench, voice: Voice) -> None:
        self.bench = bench
        self.voice = voice
        self.width_mm, self.height_mm = PAPERS[bench.paper]
        top_mm = MARGIN_MM + TITLE_MM + 3.0
        self.text = Box(
            MARGIN_MM,
            top_mm,
            self.width_mm - 2 * MARGIN_MM,
            self.height_mm - MARGIN_MM - top_mm,
        )

    def summary(self) -> Iterator[Page]:
        """Lots, totals, and what isn't in the plan."""
        rows = [self._lot_head(), *(self._lot(lot) for lot in self.bench.lots)]
        rows.append(Chunk((), 4.0, 0.0))
        rows += [
            text_row(self.voice.say(statement, {"number": number}), self.text.w_mm, STRONG)
            for statement, number in self.bench.totals
        ]
        rows.append(Chunk((), 4.0, 0.0))
        rows += [
            text_row(self.voice.say(statement, {name: value}), self.text.w_mm, STRONG)
            for statement, name, value in self.bench.left_out
        ]
        yield from self._poured([rows])

    def _lot_head(self) -> Chunk:
        names = ("label.lot", "label.drug", self.bench.beyond_use)
        figures = ("plan.lot.usable", "plan.lot.planned", "plan.lot.left")
        ids = (*names, *figures)
        return table_row([self.voice.say(id_) for id_ in ids], self._columns(), FINE)

    def _lot(self, lot: BenchLot) -> Chunk:
        cells = [
            lot.facts["lot"],
            self._joined(lot.facts["drug"], lot.facts["strength"]),
            lot.facts["beyond_use"],
            *(self._number(n) for n in (lot.usable, lot.planned, lot.left)),
        ]
        return table_row(cells, self._columns(), BODY)

    def _columns(self) -> list[float]:
        return [self.text.w_mm * part for part in LOT_COLUMNS]

    def cards(self) -> Iterator[Page]:
        """A page for each card."""
        for number, card in enumerate(self.bench.cards, start=1):
            said = self.voice.say("plan.card", {"number": number, "of": len(self.bench.cards)})
            yield self._page((*self._titles(said), *self._card(card)))

    def _card(self, card: BenchCard) -> Iterator[Item]:
        y_mm = 0.0
        for row in self._card_head(card):
            yield from at(row, self.text, y_mm + row.before_mm)
            y_mm += row.before_mm + row.height_mm
        below = self._card_foot(card)
        foot_mm = sum(row.before_mm + row.height_mm for row in below) + 6.0
        room = Box(
            self.text.x_mm,
            self.text.y_mm + y_mm + 1.0,
            self.text.w_mm,
            self.text.h_mm - y_mm - foot_mm - 2.0,
        )
        yield from map_items(card.card, card.layout, self.voice, room)
        box = Box(self.text.x_mm, self.text.bottom_mm - foot_mm, self.text.w_mm, foot_mm)
        yield frame(box.inset(0.25), 0.5, Origin("layout"))
        inner = box.inset(3.0)
        y_mm = 0.0
        for row in below:
            yield from at(row, inner, y_mm + row.before_mm)
            y_mm += row.before_mm + row.height_mm

    def _card_head(self, card: BenchCard) -> list[Chunk]:
        say, width_mm = self.voice.say, self.text.w_mm
        tablets = sum(piece.filled for piece in card.card.pieces)
        load: dict[str, object] = {"tablets": tablets}
        load |= {name: card.facts[name] for name in ("drug", "strength", "lot")}
        lid = {"file": card.file, "sheet": card.sheet, "place": card.place}
        until = self._joined(say(self.bench.beyond_use), card.facts["beyond_use"])
        return [
            text_row(say("plan.load", load), width_mm, LOAD, 0.0),
            text_row(self._joined(until, say("plan.lid", lid), " · "), width_mm, BODY),
            text_row(say("plan.seen-from"), width_mm, STRONG, 2.5),
            text_row(say("plan.order"), width_mm, BODY, 0.8),
            text_row(say("plan.key"), width_mm, BODY, 0.8),
        ]

    def _card_foot(self, card: BenchCard) -> list[Chunk]:
        width_mm = self.text.w_mm - 6.0
        cuts = [
            text_row(
                self.voice.say("plan.cut", {"piece": first, "next": second}), width_mm, STRONG, 0.0
            )
            for first, second in cut_pairs(card.card)
        ]
        return [
            sign_row(self.voice.say("plan.loaded"), width_mm),
            text_row(self.voice.say("plan.second-check"), width_mm, STRONG, 3.0),
            sign_row(self.voice.say("plan.signature"), width_mm),
            *(replace(cut, before_mm=2.5) for cut in cuts),
        ]

    def hand_overs(self) -> Iterator[Page]:
        """The checklist of each prescription; none is divided that fits on a page."""
        yield from self._poured([list(self._hand_over(one)) for one in self.bench.hand_overs])

    def _hand_over(self, one: BenchHandOver) -> Iterator[Chunk]:
        say, width_mm, rx = self.voice.say, self.text.w_mm, one.rx
        yield replace(
            text_row(say("plan.hand-over", {"rx_number": rx.number}), width_mm, HEAD), before_mm=7.0
        )
        born = self._joined(say("label.born"), one.facts["patient_born"])
        yield text_row(self._joined(one.facts["patient"], born, " · "), width_mm, STRONG)
        medicine = self._joined(one.facts["drug"], one.facts["strength"])
        lot = self._joined(say("label.lot"), one.facts["lot"])
        yield text_row(self._joined(medicine, lot, " · "), width_mm, BODY)
        yield text_row(one.facts["directions"], width_mm, BODY)
        single, in_24_h = (
            self._joined(say(head), one.facts[name], ": ")
            for head, name in (
                ("limit.column.single-dose", "limit_at_one_time"),
                ("limit.column.in-24-h", "limit_in_24_h"),
            )
        )
        yield text_row(self._joined(single, in_24_h, " · "), width_mm, STRONG)
        for pack in one.fill.packs:
            counted = {"number": pack.number, "of": pack.of, "tablets": pack.tablets}
            yield tick_row(say("pack.line", counted), width_mm)
        yield tick_row(say("plan.hand-over.identity"), width_mm)
        yield tick_row(say("plan.hand-over.first-peel"), width_mm)
        yield tick_row(self._closure(rx), width_mm)
        yield tick_row(say("plan.hand-over.medicines"), width_mm)
        language = Locale.parse(rx.patient.language, sep="-")
        name = language.get_display_name(self.voice.locale) or rx.patient.language
        yield tick_row(say("plan.hand-over.leaflet", {"language": name}), width_mm)
        yield sign_row(say("plan.hand-over.signature"), width_mm)

    def _closure(self, rx: Prescription) -> Said:
        asked = rx.closure_request
        if asked is None:
            return self.voice.say("plan.hand-over.closure")
        return self.voice.say(f"plan.hand-over.closure-{asked.by}", {"day": asked.on})

    def _poured(self, blocks: Iterable[list[Chunk]]) -> Iterator[Page]:
        """Blocks of rows on as many pages as they take."""
        items: list[Item] = []
        y_mm = 0.0
        for block in blocks:
            whole_mm = sum(row.before_mm + row.height_mm for row in block)
            if y_mm and y_mm + whole_mm > self.text.h_mm:
                yield self._page((*self._titles(), *items))
                items, y_mm = [], 0.0
            for row in block:
                if y_mm and y_mm + row.before_mm + row.height_mm > self.text.h_mm:
                    yield self._page((*self._titles(), *items))
                    items, y_mm = [], 0.0
                y_mm += row.before_mm if y_mm else 0.0
                items.extend(at(row, self.text, y_mm))
                y_mm += row.height_mm
        if items:
            yield self._page((*self._titles(), *items))

    def _titles(self, right: Said | None = None) -> Iterator[Item]:
        box = Box(self.text.x_mm, MARGIN_MM, self.text.w_mm, TITLE_MM)
        yield set_text(self.voice.say("plan.title"), replace(box, w_mm=50.0), SMALL)
        if right is not None:
            yield set_text(right, Box(box.right_mm - 70.0, box.y_mm, 70.0, box.h_mm), LARGE)

    def _page(self, items: tuple[Item, ...]) -> Page:
        return Page(self.width_mm, self.height_mm, items)

    def _joined(self, first: Said, second: Said, between: str = " ") -> Said:
        text, quoted = parted(f"{first.marked}{between}{second.marked}")
        return replace(
            first,
            text=text,
            origin=f"{first.origin},{second.origin}",
            verbatim=(*first.verbatim, *second.verbatim),
            quoted=quoted,
        )

    def _number(self, number: int) -> Said:
        return Said(str(number), self.voice.language, "layout", ReviewState.ACCEPTED)
