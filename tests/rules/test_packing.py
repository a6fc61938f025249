"""The packing plan: feasible, exact against brute force, and quick for a pharmacy's day."""

import random
from collections.abc import Sequence
from datetime import date
from itertools import combinations_with_replacement
from time import process_time

import pytest
from rules_builders import lot_of, tadalafil

from labelkit.geometry.reading import load
from labelkit.ground.errors import RuleRefused
from labelkit.rules.model import Fill, Pack, PlannedCard
from labelkit.rules.packing import CardKind, card_kind, cuts, plan_cards, unused

TEN = CardKind("ten", ("A",), 10)
TWENTY = CardKind("twenty", ("A", "B"), 10)
THIRTY = CardKind("thirty", ("A", "B", "C"), 10)
SMALL = CardKind("small", ("A", "B"), 6)

Cost = tuple[int, int, int]


def fill_of(rx: str, *tablets: int, lot: str = "TV2611", until: date = date(2027, 3, 2)) -> Fill:
    """A fill with packs of those sizes."""
    packs = tuple(Pack(rx, n, len(tablets), k) for n, k in enumerate(tablets, start=1))
    return Fill(rx, lot, until, packs)


def cost(cards: Sequence[PlannedCard]) -> Cost:
    """What the plan minimises, in its order."""
    return unused(cards), cuts(cards), len(cards)


def feasible(
    cards: Sequence[PlannedCard], fills: Sequence[Fill], kinds: Sequence[CardKind]
) -> None:
    """Every pack whole on one piece that holds it; one lot and one patient on each card."""
    by_name = {kind.name: kind for kind in kinds}
    due = sorted((p.rx, p.number, p.tablets) for f in fills for p in f.packs)
    placed = []
    for card in cards:
        kind = by_name[card.layout]
        assert card.cavities == kind.cavities
        assert tuple(piece.piece for piece in card.pieces) == kind.pieces
        on_card = [piece for piece in card.pieces if piece.pack is not None]
        assert on_card
        for piece in card.pieces:
            assert piece.filled == (piece.pack.tablets if piece.pack else 0)
            assert piece.filled <= kind.cells
        packs = [piece.pack for piece in on_card if piece.pack]
        assert len({p.rx for p in packs}) == 1
        assert {f.lot for f in fills if f.rx in {p.rx for p in packs}} == {card.lot}
        placed += [(p.rx, p.number, p.tablets) for p in packs]
    assert sorted(placed) == due
    assert [card.number for card in cards] == list(range(1, len(cards) + 1))
    for kind in kinds:
        used = sum(card.layout == kind.name for card in cards)
        assert kind.at_hand is None or used <= kind.at_hand


def brute_force(fills: Sequence[Fill], kinds: Sequence[CardKind]) -> Cost | None:
    """The best cost by trying, for each patient, every multiset of cards that is large enough."""
    best: dict[tuple[int, ...], Cost] = {tuple(k.at_hand or 99 for k in kinds): (0, 0, 0)}
    for fill in fills:
        options = list(_options([p.tablets for p in fill.packs], kinds))
        after: dict[tuple[int, ...], Cost] = {}
        for left, so_far in best.items():
            for taken, extra in options:
                rest = tuple(a - b for a, b in zip(left, taken, strict=True))
                if min(rest) < 0:
                    continue
                total = tuple(a + b for a, b in zip(so_far, extra, strict=True))
                after[rest] = min(after.get(rest, total), total)  # type: ignore[type-var]
        best = after  # type: ignore[assignment]
    return min(best.values()) if best else None


def _options(packs: list[int], kinds: Sequence[CardKind]):  # type: ignore[no-untyped-def]
    """Each multiset of kinds, with pieces chosen for packs, as cards taken and what it costs."""
    for size in range(1, len(packs) + 1):
        for cards in combinations_with_replacement(range(len(kinds)), size):
            slots = [(kinds[k].cells, n) for n, k in enumerate(cards) for _ in kinds[k].pieces]
            for chosen in _placements(packs, slots):
                used = [chosen.count(n) for n in range(size)]
                if 0 in used:
                    continue
                taken = tuple(cards.count(k) for k in range(len(kinds)))
                empty = sum(kinds[k].cavities for k in cards) - sum(packs)
                cut = sum(
                    min(u, len(kinds[k].pieces) - 1) for u, k in zip(used, cards, strict=True)
                )
                yield taken, (empty, cut, size)


def _placements(packs: list[int], slots: list[tuple[int, int]]) -> list[list[int]]:
    """Every way to give each pack a slot that holds it, as the cards of those slots."""
    if not packs:
        return [[]]
    ways = []
    for i, (cells, card) in enumerate(slots):
        if cells >= packs[0] and slots[i] not in slots[:i]:
            rest = slots[:i] + slots[i + 1 :]
            ways += [[card, *others] for others in _placements(packs[1:], rest)]
    return ways


def test_ninety_six_tablets_on_cards_of_twenty() -> None:
    """A batch of 96 tablets, cards of 20 cut into tens: common practice, no source.

    Five cards, five cuts, ten pieces: nine of ten tablets and one of six.
    """
    preparation = tadalafil()
    lot = lot_of(preparation, made=96, rejected=0, tested=0, retained=0)
    cards = plan_cards(lot, [TWENTY])
    assert [card.cavities for card in cards] == [20] * 5
    assert sorted(piece.filled for card in cards for piece in card.pieces) == [6] + [10] * 9
    assert cost(cards) == (4, 5, 5)


def test_only_usable_tablets_are_planned() -> None:
    """Made less rejected, tested and retained: 96 − 2 − 3 − 3 = 88."""
    cards = plan_cards(lot_of(tadalafil()), [TWENTY, TEN])
    assert sum(piece.filled for card in cards for piece in card.pieces) == 88
    assert unused(cards) == 2


def test_an_empty_lot_needs_no_card() -> None:
    """A lot with nothing usable is planned as no card at all."""
    assert plan_cards(lot_of(tadalafil(), made=8), [TWENTY]) == ()


def test_fewest_unused_before_fewest_cuts() -> None:
    """One pack of ten goes on a card of ten, not on half a card of twenty."""
    cards = plan_cards([fill_of("1", 10)], [THIRTY, TWENTY, TEN])
    assert [card.layout for card in cards] == ["ten"]


def test_fewest_cuts_before_fewest_cards() -> None:
    """Two packs go on two cards of ten without a cut, not on one of twenty with one."""
    cards = plan_cards([fill_of("1", 10, 10)], [TWENTY, TEN])
    assert cost(cards) == (0, 0, 2)


def test_two_patients_never_share_a_card_unless_allowed() -> None:
    """Two patients' tens take two cards of twenty; with sharing allowed, one."""
    fills = [fill_of("1", 10), fill_of("2", 10)]
    assert cost(plan_cards(fills, [TWENTY])) == (20, 2, 2)
    assert cost(plan_cards(fills, [TWENTY], sharing=True)) == (0, 1, 1)


def test_two_prescriptions_of_one_patient_may_share() -> None:
    """The owner of a prescription decides, not its number."""
    fills = [fill_of("1", 10), fill_of("2", 10)]
    assert len(plan_cards(fills, [TWENTY], {"1": "Bo Li", "2": "Bo Li"})) == 1
    assert len(plan_cards(fills, [TWENTY], {"1": "Bo Li", "2": "Li Bo"})) == 2


def test_two_lots_never_share_a_card() -> None:
    """Also where sharing between patients is allowed; the earlier date comes first."""
    fills = [
        fill_of("1", 10, lot="B", until=date(2027, 5, 1)),
        fill_of("2", 10, lot="A", until=date(2027, 6, 1)),
        fill_of("3", 10, lot="C", until=date(2027, 4, 1)),
    ]
    cards = plan_cards(fills, [TWENTY], sharing=True)
    assert [card.lot for card in cards] == ["C", "B", "A"]


def test_too_few_cards_are_refused() -> None:
    """Cards at hand that can't hold the packs, or no cards at all, refuse the plan."""
    one = CardKind("twenty", ("A", "B"), 10, at_hand=1)
    for fills, kinds in (([fill_of("1", 10, 10, 10)], [one]), ([fill_of("1", 7)], [SMALL])):
        with pytest.raises(RuleRefused, match="cards at hand"):
            plan_cards(fills, kinds)
    with pytest.raises(RuleRefused, match="none"):
        plan_cards([fill_of("1", 10)], [])
    with pytest.raises(RuleRefused, match="88 tablets of lot TV2611"):
        plan_cards(lot_of(tadalafil()), [one])


def test_a_thousand_random_plans_are_never_worse_than_brute_force() -> None:
    """Patients, packs, kinds of cards and numbers at hand at random: feasible, and exact."""
    dice = random.Random(20261125)
    refused = 0
    for _ in range(1000):
        fills = [
            fill_of(str(n), *[dice.randint(1, 10) for _ in range(dice.randint(1, 3))])
            for n in range(dice.randint(1, 3))
        ]
        kinds = [
            CardKind(name, tuple("ABC"[:pieces]), dice.choice([6, 8, 10, 10]), at_hand)
            for name, pieces in (("one", 1), ("two", 2), ("three", 3))
            if (at_hand := dice.choice([None, None, 1, 2, 4])) is None or dice.random() < 0.8
        ]
        expected = brute_force(fills, kinds) if kinds else None
        if expected is None:
            refused += 1
            with pytest.raises(RuleRefused):
                plan_cards(fills, kinds)
            continue
        cards = plan_cards(fills, kinds)
        feasible(cards, fills, kinds)
        assert cost(cards) == expected
    assert 50 < refused < 700, "the cases must hold both kinds"


def test_a_day_of_forty_prescriptions_is_planned_in_seconds() -> None:
    """96 tablets in ten lots and forty prescriptions, limited cards: well under five seconds."""
    dice = random.Random(1)
    fills = [
        fill_of(str(n), *([10] * dice.randint(0, 2)), dice.randint(1, 10), lot=f"L{n % 10}")
        for n in range(40)
    ]
    kinds = [
        CardKind("ten", ("A",), 10, 25),
        CardKind("twenty", ("A", "B"), 10, 30),
        CardKind("thirty", ("A", "B", "C"), 10, 20),
    ]
    started = process_time()
    cards = plan_cards(fills, kinds)
    assert process_time() - started < 5
    feasible(cards, fills, kinds)


def test_the_same_input_gives_the_same_plan() -> None:
    """Nothing in the solver depends on time or threads."""
    fills = [fill_of(str(n), 10, 6) for n in range(6)]
    kinds = [TWENTY, TEN, THIRTY]
    assert plan_cards(fills, kinds) == plan_cards(fills, kinds)


def test_a_plan_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """The solver stays silent: standard output belongs to the command line."""
    plan_cards([fill_of("1", 10, 10)], [TWENTY])
    assert capfd.readouterr() == ("", "")


def test_shipped_layouts_are_kinds_of_cards() -> None:
    """A lidding layout gives its pieces, cells and cavities; its card of twenty is cut once."""
    kind = card_kind(load("lidding-20-letter"))
    assert (len(kind.pieces), kind.cells, kind.cavities, kind.cuts(2)) == (2, 10, 20, 1)
