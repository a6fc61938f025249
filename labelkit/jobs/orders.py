"""From a wish to orders: which files a call makes, in a fixed order.

Rules judge every record first. A record that is refused costs its own files only; the
others are ordered. Which lot fills which prescription is always decided over the whole
workspace, so that a call for one prescription gives what a call for all would give.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from labelkit.geometry.model import Layout
from labelkit.ground.errors import Fault, LayoutRefused, RecordsRefused, Refused, RuleRefused
from labelkit.jobs import desk
from labelkit.jobs.cards import Fills, card_kinds, lid_layouts, stock_cards
from labelkit.jobs.not_read import not_read
from labelkit.jobs.order import MOST_SHEETS, Order, stem
from labelkit.jobs.results import DecisionUsed, Note, NotMade, SaidFault
from labelkit.jobs.standing import Standing, newest_prescriber
from labelkit.jobs.wishes import LAYOUTS, Wish
from labelkit.records.model import Lot, Prescription, Workspace
from labelkit.rules.deciding import Judged, of_nothing
from labelkit.rules.fills import fill_each
from labelkit.rules.judging import judged_lot, judged_preparation, judged_row
from labelkit.rules.model import Fill, PlannedCard
from labelkit.rules.packing import plan_cards
from labelkit.rules.places import placing
from labelkit.rules.settled import settled


@dataclass(frozen=True)
class Orders:
    """What will be made, and what the rules refused before anything was drawn."""

    orders: tuple[Order, ...]
    refused: tuple[NotMade, ...]
    standing: Standing
    pending: tuple[NotMade, ...] = ()
    """What waits for a row that isn't finished: nothing is wrong with it."""
    notes: tuple[Note, ...] = ()
    """What blocks nothing, and is told at the hand-over."""


def standing(workspace: Workspace) -> Standing:
    """What the records say now of each thing that files are made for; no layout is read."""
    planner = Planner(workspace, Wish())
    return Standing(workspace, planner.fills(), planner.stopped)


def orders(workspace: Workspace, wish: Wish) -> Orders:
    """The orders of a wish: lots first, then prescriptions, then pads.

    Raises RecordsRefused where it names a record that isn't there, LayoutRefused.
    """
    _refuse_unknown(workspace, wish)
    desk.forget_layouts()
    planner = Planner(desk.held(workspace), wish)
    planner.refuse_bad_layouts()
    refused, pending = not_read(workspace, wish)
    fills = planner.fills()
    found = (*planner.lidding(fills), *planner.for_patients(fills), *planner.pads())
    notes = (*planner.notes, *_notes("decisions", of_nothing(workspace)))
    now = Standing(planner.workspace, fills, planner.stopped, tuple(planner.refused))
    return Orders(found, (*refused, *planner.refused), now, pending, notes)


def _notes(subject: str, told: Iterable[Fault]) -> Iterator[Note]:
    for fault in told:
        yield Note(subject=subject, fault=SaidFault.of(fault))


def _used(judged: Judged) -> tuple[DecisionUsed, ...]:
    return tuple(DecisionUsed.of(one) for one in judged.decided)


def _refuse_unknown(workspace: Workspace, wish: Wish) -> None:
    left_out = {(row.kind, row.name) for row in workspace.left_out}
    known_rx = {rx.number for rx in workspace.prescriptions}
    known_rx |= {name for kind, name in left_out if kind == "prescription"}
    known_lots = {lot.number for lot in workspace.lots}
    known_lots |= {name for kind, name in left_out if kind == "lot"}
    known_prescribers = {rx.prescriber.registration for rx in workspace.prescriptions}
    whose = (wish.prescriber,) if wish.prescriber else ()
    faults = [
        Fault("command line", "", option, f"there is no {what} {name!r}", f"name one of the {file}")
        for option, what, file, names, known in (
            ("--rx", "prescription", "prescriptions", wish.rx, known_rx),
            ("--lot", "lot", "lots", wish.lots, known_lots),
            ("--prescriber", "prescriber", "registrations", whose, known_prescribers),
        )
        for name in names
        if name not in known
    ]
    if faults:
        raise RecordsRefused(faults)


class Planner:
    """Turns records into orders, and remembers what the rules refused."""

    def __init__(self, workspace: Workspace, wish: Wish) -> None:
        self.workspace = workspace
        self.wish = wish
        self.refused: list[NotMade] = []
        self.notes: list[Note] = []
        self._placed = placing(workspace)
        self._judged: dict[str, Judged] = {}
        """What was judged of each prescription that passed, its preparation with it."""
        self.stopped: dict[str, tuple[Fault, ...]] = {}
        """Prescription number → why it has no fill, whether it is asked for or not."""

    def _refuse(self, artwork: str, subject: str, faults: Iterable[Fault]) -> None:
        said = tuple(SaidFault.of(self._placed(fault)) for fault in faults)
        self.refused.append(NotMade(artwork=artwork, subject=subject, faults=said))

    def _wanted(self, rx: Prescription) -> bool:
        return self.wish.everything or rx.number in self.wish.rx

    def _layout(self, artwork: str) -> str:
        chosen = self.wish.layouts.get(artwork)
        return chosen or f"{LAYOUTS[artwork]}-{self.workspace.pharmacy.paper}"

    def refuse_bad_layouts(self) -> None:
        """Raise LayoutRefused for the layouts of all artworks that are wanted, together."""
        faults: list[Fault] = []
        for artwork in sorted(self.wish.only):
            try:
                if artwork == "lidding":
                    lid_layouts(self.workspace, self.wish)
                else:
                    desk.layout(self._layout(artwork), artwork)
            except LayoutRefused as refused:
                faults.extend(refused.faults)
        if faults:
            raise LayoutRefused(faults)

    def _slice(
        self, preparation: str, lots: tuple[Lot, ...] = (), rx: tuple[Prescription, ...] = ()
    ) -> Workspace:
        """The workspace with the records of one file alone."""
        return self.workspace.model_copy(
            update={
                "preparations": (self.workspace.preparation(preparation),),
                "lots": lots,
                "prescriptions": rx,
                "patients": (),
                "medicine_names": (),
                "left_out": (),
                "places": (),
                "decisions": self.workspace.decisions.model_copy(
                    update={"decided": (), "earlier": ()}
                ),
            }
        )

    def fills(self) -> Fills:
        """Fills of every prescription that the rules let pass, by number."""
        passed: list[Prescription] = []
        general = {p.id: judged_preparation(self.workspace, p) for p in self.workspace.preparations}
        over = settled(self.workspace)
        for rx in self.workspace.latest_fills:
            if rx.number in over:
                self.stopped[rx.number] = over[rx.number]
                if rx.number in self.wish.rx:
                    self._refuse("all artwork", f"prescription {rx.number}", over[rx.number])
                continue
            judged = general[rx.preparation] + judged_row(self.workspace, rx)
            if not judged.faults:
                passed.append(rx)
                self._judged[rx.number] = judged
                continue
            self.stopped[rx.number] = judged.faults
            if self._wanted(rx):
                self._refuse("all artwork", f"prescription {rx.number}", judged.faults)
        fills, left_over = fill_each(self.workspace, passed)
        by_number = {rx.number: rx for rx in passed}
        self.stopped |= left_over
        for one in fills:
            if self._wanted(by_number[one.rx]):
                told = map(self._placed, self._judged[one.rx].told)
                self.notes += _notes(f"prescription {one.rx}", told)
        for number, faults in left_over.items():
            if self._wanted(by_number[number]):
                self._refuse("all artwork", f"prescription {number}", faults)
        return {one.rx: (by_number[one.rx], one) for one in fills}

    def lidding(self, fills: Fills) -> Iterator[Order]:
        """Stock lidding of each lot, in files of at most 400 sheets."""
        if "lidding" not in self.wish.only:
            return
        _, serials = self._serials(fills)
        for lot in self.workspace.lots:
            if not (self.wish.everything or lot.number in self.wish.lots):
                continue
            subject = f"lot {lot.number}"
            judged = judged_lot(self.workspace, lot)
            faults = judged.faults
            due = {
                number: (rx, one)
                for number, (rx, one) in fills.items()
                if self.wish.everything or rx.lidding == "patient"
            }
            try:
                cards = () if faults else stock_cards(self.workspace, self.wish, lot, due)
            except Refused as refused:
                faults = refused.faults
            if faults:
                self._refuse("lidding", subject, faults)
                continue
            for order in self._lid_orders(lot, cards, serials.get(lot.number)):
                yield replace(order, decided=_used(judged))

    def _serials(self, fills: Fills) -> tuple[dict[str, int], dict[str, int]]:
        """First serial of each fill with patient lidding, and of each lot's stock lidding.

        A lot has one row of serials: fills with lids of their own come first, in the records'
        order, then the stock, so that no serial stands on two cells whatever a call asks for.
        """
        of_fill: dict[str, int] = {}
        of_stock: dict[str, int] = {}
        for number, (rx, one) in fills.items():
            if rx.lidding == "patient":
                of_fill[number] = of_stock.get(one.lot, self.wish.first_serial)
                of_stock[one.lot] = of_fill[number] + rx.quantity_this_fill
        return of_fill, of_stock

    def _lid_orders(
        self, lot: Lot, cards: tuple[PlannedCard, ...], first_serial: int | None
    ) -> Iterator[Order]:
        """A file for each kind of card and 400 sheets, serials running on from file to file."""
        serial = first_serial or self.wish.first_serial
        for kind, layout, of_kind in self._by_kind(cards):
            step = MOST_SHEETS * layout.cards
            for start in range(0, len(of_kind), step):
                some = of_kind[start : start + step]
                part = f"-{start // step + 1}" if start else ""
                yield Order(
                    stem=stem("lidding", lot.number) + kind + part,
                    artwork="lidding",
                    subject=f"lot {lot.number}",
                    language=self.workspace.pharmacy.language,
                    layout=layout,
                    workspace=self._slice(lot.preparation, (lot,)),
                    first_serial=serial,
                    cards=some,
                )
                serial += sum(piece.filled for card in some for piece in card.pieces)

    def _by_kind(
        self, cards: tuple[PlannedCard, ...]
    ) -> Iterator[tuple[str, Layout, tuple[PlannedCard, ...]]]:
        """The cards of each kind that is used: what its file's name ends in where there are
        several kinds, its layout, the cards."""
        several = len({card.layout for card in cards}) > 1
        for name, layout in lid_layouts(self.workspace, self.wish).items():
            of_kind = tuple(card for card in cards if card.layout == name)
            if of_kind:
                said = f"-{name.removeprefix('lidding-')}" if several else ""
                yield said, desk.layout(layout, "lidding"), of_kind

    def for_patients(self, fills: Fills) -> Iterator[Order]:
        """Patient lidding where it was asked for, sleeves and leaflet of each fill."""
        serials, _ = self._serials(fills)
        for rx, one in fills.values():
            if not self._wanted(rx):
                continue
            for artwork in ("lidding", "sleeve", "leaflet"):
                if artwork in self.wish.only and (artwork != "lidding" or rx.lidding == "patient"):
                    yield from self._for_patient(artwork, rx, one, serials.get(rx.number, 1))

    def _for_patient(
        self, artwork: str, rx: Prescription, one: Fill, first_serial: int
    ) -> Iterator[Order]:
        subject = f"prescription {rx.number}"
        if artwork != "lidding":
            yield self._order(artwork, rx, one, desk.layout(self._layout(artwork), artwork))
            return
        try:
            cards = plan_cards([one], card_kinds(self.workspace, self.wish))
        except RuleRefused as refused:
            self._refuse(artwork, subject, refused.faults)
            return
        for kind, layout, some in self._by_kind(cards):
            order = self._order(artwork, rx, one, layout)
            yield replace(order, stem=order.stem + kind, cards=some, first_serial=first_serial)
            first_serial += sum(piece.filled for card in some for piece in card.pieces)

    def _order(self, artwork: str, rx: Prescription, one: Fill, layout: Layout) -> Order:
        return Order(
            stem=stem(artwork, f"rx{rx.number}"),
            artwork=artwork,
            subject=f"prescription {rx.number}",
            language=rx.patient.language,
            layout=layout,
            workspace=self._slice(rx.preparation, (self.workspace.lot(one.lot),), (rx,)),
            fill=one,
            decided=_used(self._judged[rx.number]),
        )

    def pads(self) -> Iterator[Order]:
        """A prescriber pad for each preparation, when everything is asked for."""
        if "pad" not in self.wish.only or not self.wish.everything:
            return
        prescriber = newest_prescriber(self.workspace, self.wish.prescriber)
        for preparation in self.workspace.preparations:
            judged = judged_preparation(self.workspace, preparation)
            if judged.faults:
                self._refuse("pad", preparation.id, judged.faults)
                continue
            whose = f"-{prescriber.registration}" if prescriber else ""
            yield Order(
                stem=stem("pad", preparation.id + whose),
                artwork="pad",
                subject=preparation.id,
                language=self.workspace.pharmacy.language,
                layout=desk.layout(self._layout("pad"), "pad"),
                workspace=self._slice(preparation.id),
                prescriber=prescriber,
                decided=_used(judged),
            )
