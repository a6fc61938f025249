"""Sharing lots out: against brute force where it is small, in seconds where it is large."""

from collections.abc import Sequence
from datetime import date
from itertools import product
from time import process_time

from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.rules.allotting import Want, allot
from labelkit.rules.model import Fill, Pack
from labelkit.rules.packing import CardKind, cuts, plan_cards, unused


def first_choice(wants: Sequence[Want], usable: dict[str, int]) -> list[str] | None:
    """The first of all choices that overdraws no lot, by trying every one."""
    for choice in product(*(want.lots for want in wants)):
        taken = dict.fromkeys(usable, 0)
        for want, lot in zip(wants, choice, strict=True):
            taken[lot] += want.tablets
        if all(taken[lot] <= usable[lot] for lot in usable):
            return list(choice)
    return None


def one_after_the_other(wants: Sequence[Want], usable: dict[str, int]) -> list[str | None]:
    """Brute force: each is kept when some choice serves it and all that were kept before it."""
    kept: list[int] = []
    for place in range(len(wants)):
        if first_choice([wants[k] for k in (*kept, place)], usable) is not None:
            kept.append(place)
    best = first_choice([wants[k] for k in kept], usable) or []
    by_place = dict(zip(kept, best, strict=True))
    return [by_place.get(place) for place in range(len(wants))]


DAY = date(2027, 3, 2)
LOTS = ("A", "B", "C")


@settings(max_examples=400, deadline=None)
@given(
    usable=st.tuples(*[st.integers(0, 30)] * 3),
    asked=st.lists(
        st.tuples(st.integers(1, 20), st.lists(st.sampled_from(LOTS), min_size=1, unique=True)),
        max_size=5,
    ),
)
def test_as_brute_force_shares_out(usable: tuple[int, int, int], asked: list) -> None:  # type: ignore[type-arg]
    """The first possible choice in the lots' order, and left over only what can't be served."""
    stock = dict(zip(LOTS, usable, strict=True))
    wants = [Want(tablets, tuple(lots)) for tablets, lots in asked]
    assert allot(wants, stock) == one_after_the_other(wants, stock)


def test_a_late_prescription_that_names_its_lot_is_served() -> None:
    """Thousands before it might have emptied that lot; they take another, and it is served."""
    wants = [*([Want(10, ("A", "B"))] * 2000), Want(10, ("A",))]
    chosen = allot(wants, {"A": 10_000, "B": 10_010})
    assert chosen.count(None) == 0
    assert chosen[-1] == "A"
    assert chosen[:999] == ["A"] * 999


def test_far_too_many_are_refused_in_seconds() -> None:
    """Ten thousand for ten lots that hold a fifth of it: what fits is kept, the rest refused.

    No lot is overdrawn, and none keeps as many tablets as a refused prescription asks for.
    """
    usable = {f"L{n}": 2003 + n for n in range(10)}
    wants = [Want(6 + n * 7 % 25, tuple(usable)) for n in range(10_000)]
    started = process_time()
    chosen = allot(wants, usable)
    assert process_time() - started < 8
    left = dict(usable)
    for want, lot in zip(wants, chosen, strict=True):
        if lot:
            left[lot] -= want.tablets
    assert min(left.values()) >= 0
    smallest_refused = min(w.tablets for w, lot in zip(wants, chosen, strict=True) if not lot)
    assert max(left.values()) < smallest_refused


def test_ten_thousand_prescriptions_are_planned_in_seconds() -> None:
    """Where cards never run out each patient's plan is alone, and equal ones are solved once."""
    fills = []
    for n in range(10_000):
        sizes = [10] * (n % 4) + [1 + n % 10]
        packs = tuple(Pack(f"{n}", i, len(sizes), k) for i, k in enumerate(sizes, start=1))
        fills.append(Fill(f"{n}", f"L{n % 40}", DAY, packs))
    started = process_time()
    cards = plan_cards(fills, [CardKind("twenty", ("A", "B"), 10)])
    assert process_time() - started < 5
    packs_planned = sum(piece.pack is not None for card in cards for piece in card.pieces)
    assert packs_planned == sum(len(fill.packs) for fill in fills)
    assert [card.number for card in cards] == list(range(1, len(cards) + 1))
    alone = [plan_cards([fill], [CardKind("twenty", ("A", "B"), 10)]) for fill in fills[:40]]
    together = plan_cards(fills[:40], [CardKind("twenty", ("A", "B"), 10)])
    assert unused(together) == sum(map(unused, alone))
    assert cuts(together) == sum(map(cuts, alone))
