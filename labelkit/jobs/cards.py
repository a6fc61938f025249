"""Which cards a lot's tablets go on: the cards at hand, packs that are due, and the rest.

The plan itself is the rules' (`rules.packing`); here is only what it is asked.
"""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, LayoutRefused
from labelkit.jobs import desk
from labelkit.jobs.wishes import Wish
from labelkit.records.model import Lot, Prescription, Workspace
from labelkit.rules.model import Fill, Pack, PlannedCard
from labelkit.rules.packing import CardKind, card_kind, plan_cards

Fills = Mapping[str, tuple[Prescription, Fill]]
"""Prescription number → prescription and its fill, for all that the rules let pass."""


def lid_layouts(workspace: Workspace, wish: Wish) -> dict[str, str]:
    """Lidding layouts of the cards at hand: what each calls itself, and how it is read.

    The pharmacy's own, or the one that the call names. Raises LayoutRefused.
    """
    chosen = wish.layouts.get("lidding")
    at_hand = [
        str(Path(workspace.root) / card)
        if card.endswith(".toml")
        else f"{card}-{workspace.pharmacy.paper}"
        for card in workspace.pharmacy.cards
    ]
    wanted = [chosen] if chosen else at_hand
    _refuse_elsewhere(workspace)
    return {desk.layout(name, "lidding").name: name for name in wanted}


def _refuse_elsewhere(workspace: Workspace) -> None:
    root = Path(workspace.root)
    faults = [
        Fault(card, "", "", "it is a link that leads out of the workspace", "put the file there")
        for card in workspace.pharmacy.cards
        if card.endswith(".toml") and door.leads_out(root, root / card)
    ]
    if faults:
        raise LayoutRefused(faults)


def card_kinds(workspace: Workspace, wish: Wish) -> list[CardKind]:
    """The kinds of card at hand. Raises LayoutRefused."""
    return [
        card_kind(desk.layout(name, "lidding")) for name in lid_layouts(workspace, wish).values()
    ]


def stock_cards(
    workspace: Workspace, wish: Wish, lot: Lot, fills: Fills
) -> tuple[PlannedCard, ...]:
    """A piece for each pack that is due from stock, and the rest of the lot on further pieces.

    Tablets of fills with patient lidding have lids of their own. Where the pharmacy lets the
    pieces of one card go to different patients, the rest fills up cards that packs began.
    Raises RuleRefused and LayoutRefused.
    """
    kinds = card_kinds(workspace, wish)
    due = [(rx, one) for rx, one in fills.values() if one.lot == lot.number]
    stock = [one for rx, one in due if rx.lidding == "stock"]
    taken = sum(pack.tablets for _, one in due for pack in one.packs)
    left = lot.model_copy(update={"retained": lot.retained + taken})
    if workspace.pharmacy.cards_hold == "several-patients":
        rest = _as_packs(left, max(kind.cells for kind in kinds))
        packed = [*stock, rest] if rest.packs else stock
        return tuple(_unnamed(card) for card in plan_cards(packed, kinds, sharing=True))
    owners = {rx.number: f"{rx.patient.name} {rx.patient.born_on.isoformat()}" for rx, _ in due}
    return (*plan_cards(stock, kinds, owners), *plan_cards(left, kinds))


def _as_packs(left: Lot, cells: int) -> Fill:
    """What is left of a lot as packs of whole pieces for nobody yet."""
    full, rest = divmod(left.usable, cells)
    tablets = [cells] * full + ([rest] if rest else [])
    packs = tuple(Pack("", n, len(tablets), k) for n, k in enumerate(tablets, start=1))
    return Fill("", left.number, left.made_on, packs)


def _unnamed(card: PlannedCard) -> PlannedCard:
    """The card with its pieces for nobody yet planned as stock."""
    pieces = tuple(
        replace(piece, pack=None) if piece.pack and not piece.pack.rx else piece
        for piece in card.pieces
    )
    return replace(card, pieces=pieces)
