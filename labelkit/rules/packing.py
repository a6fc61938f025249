"""The packing plan: which cards are filled, for whom, and where they are cut.

Exact, by an integer programme: fewest unused cavities first, then fewest cuts, then fewest
cards (common practice, no source). A card holds one lot, and one patient unless sharing of
separable pieces is allowed; every pack has a piece of its own. Lots come in the order of
their beyond-use dates. Nothing here draws, and nothing here chooses the lot.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from labelkit.geometry.model import Layout
from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.model import Lot
from labelkit.rules.model import Fill, Pack, PlannedCard, PlannedPiece
from labelkit.rules.programme import Variant, fewest

PLAN_SOURCE = "common practice, no source: one lot on a card, one patient unless sharing is allowed"


@dataclass(frozen=True, slots=True)
class CardKind:
    """A kind of card at hand: its layout's name, the pieces it is cut into, and how many."""

    name: str
    pieces: tuple[str, ...]
    """Ids of the pieces, in the order in which they are filled; a cut between each two."""
    cells: int
    """Cavities of each piece."""
    at_hand: int | None = None
    """None: as many as wanted."""

    @property
    def cavities(self) -> int:
        """Cavities of the whole card."""
        return len(self.pieces) * self.cells

    def cuts(self, used: int) -> int:
        """Cuts that separate the first `used` pieces; what stays empty needs none."""
        return min(used, len(self.pieces) - 1)


@dataclass(frozen=True, slots=True)
class _Group:
    """Packs that may share a card: of one lot and, unless sharing is allowed, one patient."""

    lot: str
    packs: tuple[Pack, ...]


def card_kind(layout: Layout, at_hand: int | None = None) -> CardKind:
    """The kind of card that a lidding layout is for. Raises ValueError for unequal pieces."""
    pieces = [p for p in layout.faces[0].pieces if p.card == 1]
    sizes = {len(p.cells) for p in pieces}
    if len(sizes) != 1:
        raise ValueError(f"the pieces of {layout.name} differ: {sorted(sizes)} cells")
    return CardKind(layout.name, tuple(p.id for p in pieces), sizes.pop(), at_hand)


def plan_cards(
    what: Sequence[Fill] | Lot,
    kinds: Sequence[CardKind],
    owner: Mapping[str, str] | None = None,
    *,
    sharing: bool = False,
) -> tuple[PlannedCard, ...]:
    """The cards for fills (each pack on its own piece), or for all usable tablets of a lot.

    `owner` names the patient of each prescription number; without it every prescription
    counts as another patient's. Raises RuleRefused when the cards at hand can't hold them.
    """
    if isinstance(what, Lot):
        return _stock(what, kinds)
    groups = _groups(what, owner or {}, sharing=sharing)
    plans = fewest([[pack.tablets for pack in group.packs] for group in groups], _variants(kinds))
    if plans is None:
        raise RuleRefused([_short(f"{sum(len(g.packs) for g in groups)} packs", kinds)])
    cards: list[PlannedCard] = []
    for group, plan in zip(groups, plans, strict=True):
        cards.extend(_fill_cards(group, [kinds[v.kind] for v in plan], plan, len(cards)))
    return tuple(cards)


def unused(cards: Sequence[PlannedCard]) -> int:
    """Cavities of the cards that stay empty."""
    return sum(card.cavities - sum(piece.filled for piece in card.pieces) for card in cards)


def cuts(cards: Sequence[PlannedCard]) -> int:
    """Cuts that separate the filled pieces from one another and from what stays empty."""
    return sum(
        min(sum(piece.filled > 0 for piece in card.pieces), len(card.pieces) - 1) for card in cards
    )


def _variants(kinds: Sequence[CardKind]) -> list[Variant]:
    return [
        Variant(number, used, kind.cells, kind.cavities, kind.cuts(used), kind.at_hand)
        for number, kind in enumerate(kinds)
        for used in range(1, len(kind.pieces) + 1)
    ]


def _groups(fills: Sequence[Fill], owner: Mapping[str, str], *, sharing: bool) -> list[_Group]:
    found: dict[tuple[str, str], list[Pack]] = {}
    for fill in sorted(fills, key=lambda f: (f.beyond_use, f.lot)):
        patient = "" if sharing else owner.get(fill.rx, f"prescription {fill.rx}")
        found.setdefault((fill.lot, patient), []).extend(fill.packs)
    return [_Group(lot, tuple(packs)) for (lot, _), packs in found.items()]


def _fill_cards(
    group: _Group, kinds: Sequence[CardKind], plan: Sequence[Variant], before: int
) -> list[PlannedCard]:
    """Largest packs on the largest pieces: whoever fits at all fits so (nested sizes)."""
    waiting = sorted(group.packs, key=lambda pack: -pack.tablets)
    cards: list[PlannedCard] = []
    for kind, variant in sorted(zip(kinds, plan, strict=True), key=lambda kv: -kv[0].cells):
        packs = [waiting.pop(0) for _ in range(variant.used)]
        pieces = [
            PlannedPiece(piece, pack.tablets, pack)
            for piece, pack in zip(kind.pieces, packs, strict=False)
        ]
        pieces += [PlannedPiece(piece, 0, None) for piece in kind.pieces[variant.used :]]
        cards.append(
            PlannedCard(before + len(cards) + 1, group.lot, kind.cavities, tuple(pieces), kind.name)
        )
    return cards


def _stock(lot: Lot, kinds: Sequence[CardKind]) -> tuple[PlannedCard, ...]:
    if lot.usable < 1:
        return ()
    plans = fewest([lot.usable], _variants(kinds))
    if plans is None:
        raise RuleRefused([_short(f"{lot.usable} tablets of lot {lot.number}", kinds)])
    left = lot.usable
    cards = []
    for number, variant in enumerate(plans[0], start=1):
        kind = kinds[variant.kind]
        pieces = []
        for piece in kind.pieces:
            filled = min(kind.cells, left)
            left -= filled
            pieces.append(PlannedPiece(piece, filled, None))
        cards.append(PlannedCard(number, lot.number, kind.cavities, tuple(pieces), kind.name))
    return tuple(cards)


def _short(what: str, kinds: Sequence[CardKind]) -> Fault:
    at_hand = ", ".join(
        f"{kind.name}: {'any number' if kind.at_hand is None else kind.at_hand} "
        f"of {len(kind.pieces)} × {kind.cells} cavities"
        for kind in kinds
    )
    return Fault(
        "plan",
        "",
        "cards",
        f"the cards at hand can't hold {what} ({at_hand or 'none'})",
        "get more cards, or plan fewer fills",
        "packing.cards",
        PLAN_SOURCE,
    )
