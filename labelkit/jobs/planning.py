"""The packing plan of a workspace: the one that making all of it follows.

Read off the very orders that `make` would carry out for everything, so that plan and
artwork can't differ. Drawn as bench sheets in files of at most 400 pages, which name
patients and are readable by their owner alone. It refuses nothing by itself: what the rules
refused is in the plan as left out, with the reasons.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from labelkit.artwork.bench_sheet import (
    Bench,
    BenchCard,
    BenchHandOver,
    BenchLot,
    bench_pages,
    marked,
    statements_on,
)
from labelkit.artwork.loading_map import cut_pairs
from labelkit.artwork.page import Artwork, Page
from labelkit.ground import door
from labelkit.ground.errors import Fault
from labelkit.jobs import desk
from labelkit.jobs.order import MOST_SHEETS, Order
from labelkit.jobs.orders import orders
from labelkit.jobs.own_fonts import with_own_fonts
from labelkit.jobs.plans import Plan, PlanCard, PlanFill, PlanLot, PlanPiece, PlanTotals
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.jobs.results import NotMade
from labelkit.jobs.running import Progress
from labelkit.jobs.wishes import Wish
from labelkit.output.pdf import write
from labelkit.records.model import Lot, Prescription, Workspace
from labelkit.records.reading import read_workspace
from labelkit.rules.beyond_use import beyond_use_of
from labelkit.rules.model import Fill, PlannedCard
from labelkit.rules.packing import cuts, unused
from labelkit.rules.products import product_of
from labelkit.rules.regimen import regimen_of
from labelkit.wording.catalogs import Catalog
from labelkit.wording.facts import fill_facts, lot_facts, tablet_limits
from labelkit.wording.model import ReviewState, Said


@dataclass(frozen=True)
class _Laid:
    """One card of one order."""

    order: Order
    card: PlannedCard
    sheet: int
    place: int


def plan(
    folder: Path,
    out: Path | None = None,
    layouts: Mapping[str, str] | None = None,
    progress: Progress = lambda done, total: None,
) -> Plan:
    """The plan for everything in a workspace; with `out`, drawn into that PDF.

    `layouts` (artwork → layout) as for `make`. Raises RecordsRefused, LayoutRefused,
    WordingRefused, ArtworkRefused and OutputRefused.
    """
    workspace = desk.held(read_workspace(folder))
    wish = Wish(everything=True, layouts=layouts or {})
    wanted = orders(workspace, wish)
    cards = tuple(_laid(wanted.orders))
    fills = {o.fill.rx: o.fill for o in wanted.orders if o.artwork == "sleeve" and o.fill}
    missing = (*wanted.refused, *wanted.pending)
    made = _plan(workspace, cards, fills, missing, str(folder))
    if out is None:
        return made
    voice = desk.voice(workspace, workspace.pharmacy.language)
    with with_own_fonts(workspace):
        files, draft = _draw(_bench(workspace, made, cards, fills, voice), voice, out, progress)
    return made.model_copy(update={"files": files, "draft": draft})


def _laid(wanted: Iterable[Order]) -> Iterator[_Laid]:
    for order in wanted:
        if order.artwork != "lidding":
            continue
        on_sheet = order.layout.cards
        for number, card in enumerate(order.cards):
            yield _Laid(order, card, number // on_sheet + 1, number % on_sheet + 1)


def _plan(
    workspace: Workspace,
    laid: tuple[_Laid, ...],
    fills: Mapping[str, Fill],
    refused: tuple[NotMade, ...],
    folder: str,
) -> Plan:
    cards = [one.card for one in laid]
    by_number = {rx.number: rx for rx in workspace.latest_fills}
    prescriptions = tuple(_fill(workspace, by_number[one.rx], one) for one in fills.values())
    return Plan(
        workspace=folder,
        cards=tuple(_card(number, one) for number, one in enumerate(laid, start=1)),
        prescriptions=prescriptions,
        lots=tuple(_lots(workspace, laid, prescriptions)),
        totals=PlanTotals(
            cards=len(cards),
            cuts=cuts(cards),
            unused_cavities=unused(cards),
            sleeves=sum(len(one.packs) for one in prescriptions),
            leaflets=len(prescriptions),
        ),
        left_out=refused,
    )


def _fill(workspace: Workspace, rx: Prescription, one: Fill) -> PlanFill:
    regimen = regimen_of(workspace, rx)
    return PlanFill(
        rx=rx.number,
        medicine=f"{rx.preparation} {rx.strength}",
        one_dose=regimen.one_dose_shown,
        most_in_24_h=regimen.most_shown,
        lasts_days=regimen.lasts_days,
        lot=one.lot,
        lidding=rx.lidding,
        packs=tuple(pack.tablets for pack in one.packs),
        leaflet_language=rx.patient.language,
    )


def _card(number: int, one: _Laid) -> PlanCard:
    (lot,) = one.order.workspace.lots
    card = one.card
    return PlanCard(
        number=number,
        lot=lot.number,
        medicine=f"{lot.preparation} {lot.strength}",
        layout=card.layout,
        cavities=card.cavities,
        unused=unused([card]),
        pieces=tuple(
            PlanPiece(
                piece=piece.piece,
                filled=piece.filled,
                rx=piece.pack.rx if piece.pack else "",
                pack=piece.pack.number if piece.pack else 0,
                of=piece.pack.of if piece.pack else 0,
            )
            for piece in card.pieces
        ),
        cuts=tuple("|".join(pair) for pair in cut_pairs(card)),
        lid_file=f"{one.order.stem}.pdf",
        lid_sheet=one.sheet,
        lid_place=one.place,
    )


def _lots(
    workspace: Workspace, laid: tuple[_Laid, ...], fills: tuple[PlanFill, ...]
) -> Iterator[PlanLot]:
    """The lots that the plan fills from."""
    taken: dict[str, int] = {}
    for one in fills:
        taken[one.lot] = taken.get(one.lot, 0) + sum(one.packs)
    used = {one.card.lot for one in laid} | set(taken)
    for lot in workspace.lots:
        if lot.number in used:
            yield PlanLot(
                lot=lot.number,
                medicine=f"{lot.preparation} {lot.strength}",
                beyond_use=beyond_use_of(workspace, lot).isoformat(),
                usable=lot.usable,
                for_prescriptions=taken.get(lot.number, 0),
                left=lot.usable - taken.get(lot.number, 0),
            )


def _draw(
    bench: Bench, voice: Catalog, out: Path, progress: Progress
) -> tuple[tuple[str, ...], bool]:
    """The files written, and whether any of their pages is a draft."""
    title = voice.say("plan.title").text

    def stated() -> Iterator[tuple[Page, bool]]:
        # How many pages hand-overs take isn't known before: two on a page is usual.
        likely = 1 + len(bench.cards) + (len(bench.hand_overs) + 1) // 2
        for number, page in enumerate(bench_pages(bench, voice), start=1):
            progress(number, max(number, likely))
            yield _stated(page, voice)

    pages = stated()
    files: list[str] = []
    draft = False
    path = out
    while some := tuple(islice(pages, MOST_SHEETS)):
        draft = draft or any(marked_one for _, marked_one in some)
        artwork = Artwork("plan", title, voice.language, tuple(page for page, _ in some))
        try:
            door.write_whole(path, write(artwork))
        except OSError as error:
            raise OutputRefused([unwritable(path, error)]) from error
        files.append(str(path))
        path = out.with_stem(f"{out.stem}-{len(files) + 1}")
    if path.exists():
        wrong = "is left from a longer plan, and may be taken for part of this one"
        raise OutputRefused([Fault(str(path), "", "", wrong, "remove it, and draw the plan again")])
    return tuple(files), draft


def _stated(page: Page, voice: Catalog) -> tuple[Page, bool]:
    """The page, with the draft mark and True where a statement on it isn't accepted wording."""
    states = {voice.state_of(statement) for statement in statements_on(page)}
    draft = states != {ReviewState.ACCEPTED}
    return (marked(page, voice) if draft else page), draft


def _bench(
    workspace: Workspace,
    made: Plan,
    laid: tuple[_Laid, ...],
    fills: Mapping[str, Fill],
    voice: Catalog,
) -> Bench:
    facts = {lot.lot: _of_lot(workspace, workspace.lot(lot.lot), voice) for lot in made.lots}
    by_number = {rx.number: rx for rx in workspace.latest_fills}
    totals = made.totals
    return Bench(
        cards=[
            BenchCard(
                card=one.card,
                layout=one.order.layout,
                facts=facts[one.card.lot],
                file=f"{one.order.stem}.pdf",
                sheet=one.sheet,
                place=one.place,
            )
            for one in laid
        ],
        hand_overs=[
            BenchHandOver(
                by_number[one.rx],
                one,
                _of_fill(workspace, by_number[one.rx], one, voice),
            )
            for one in fills.values()
        ],
        lots=[
            BenchLot(facts[lot.lot], lot.usable, lot.for_prescriptions, lot.left)
            for lot in made.lots
        ],
        totals=[
            ("plan.total.cards", totals.cards),
            ("plan.total.cuts", totals.cuts),
            ("plan.total.empty", totals.unused_cavities),
            ("plan.total.sleeves", totals.sleeves),
            ("plan.total.leaflets", totals.leaflets),
        ],
        left_out=list(dict.fromkeys(_left_out(made.left_out))),
        beyond_use=f"label.beyond-use.{workspace.pharmacy.country}",
        paper=workspace.pharmacy.paper,
    )


def _of_lot(workspace: Workspace, lot: Lot, voice: Catalog) -> Mapping[str, Said]:
    return lot_facts(workspace, lot, beyond_use_of(workspace, lot), voice)


def _of_fill(
    workspace: Workspace, rx: Prescription, one: Fill, voice: Catalog
) -> Mapping[str, Said]:
    limits = tablet_limits(workspace, product_of(workspace, rx), rx, voice)
    return fill_facts(workspace, rx, one, None, voice) | limits


def _left_out(refused: Iterable[NotMade]) -> Iterator[tuple[str, str, str]]:
    """A line for each prescription and lot that the rules refused; pads aren't of the bench."""
    for one in refused:
        kind, _, name = one.subject.partition(" ")
        if kind == "prescription":
            yield "plan.left-out", "rx_number", name
        elif kind == "lot":
            yield "plan.left-out.lot", "lot", name
