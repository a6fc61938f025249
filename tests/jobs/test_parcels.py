"""Which orders are given out, come back, and are told, whoever makes them."""

from dataclasses import replace

import pytest
from command_line import SAMPLE

from labelkit.jobs.order import Order
from labelkit.jobs.orders import orders
from labelkit.jobs.parcels import AT_ONCE, UNDER_WAY, Parcels
from labelkit.jobs.results import NotMade
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

MANY = 10 * AT_ONCE * UNDER_WAY + 3


@pytest.fixture(scope="module")
def wanted() -> tuple[Order, ...]:
    """Very many orders, each with a name of its own."""
    sleeves = Wish(rx=("104321",), only=frozenset({"sleeve"}))
    (order,) = orders(read_workspace(SAMPLE), sleeves).orders
    return tuple(replace(order, stem=str(number)) for number in range(MANY))


def result(number: int) -> NotMade:
    """Something that came of an order."""
    return NotMade(artwork="sleeve", subject=str(number), faults=())


def test_told_in_order_with_few_under_way(wanted: tuple[Order, ...]) -> None:
    """However late the first comes, no more are given out than may be under way; all are told
    in the end, in order, whatever order they came in."""
    parcels = Parcels(wanted)
    given: list[tuple[int, ...]] = []
    told: list[str] = []
    while not parcels.all_told:
        while parcel := parcels.next():
            given.append(parcel)
            assert [order.stem for order in parcels.orders(parcel)] == [str(n) for n in parcel]
        assert sum(map(len, given)) <= AT_ONCE * UNDER_WAY
        for number in reversed(given.pop()):
            parcels.came(number, result(number))
        told += [one.subject for one in parcels.tell()]
    assert told == [str(number) for number in range(MANY)]


def test_whoever_takes_one_result_and_stops(wanted: tuple[Order, ...]) -> None:
    """A result is told once, though the rest is asked for later."""
    parcels = Parcels(wanted[:2])
    for number in parcels.next():
        parcels.came(number, result(number))
    assert next(parcels.tell()).subject == "0"
    assert [one.subject for one in parcels.tell()] == ["1"]


def test_suspects_are_tried_alone_then_refused_alone(wanted: tuple[Order, ...]) -> None:
    """Once: each by itself, before anything new. Twice: that one's result says so by name."""
    parcels = Parcels(wanted[: 2 * AT_ONCE])
    parcels.ended(parcels.next(), "it ended")
    alone = [parcels.next() for _ in range(AT_ONCE)]
    assert alone == [(number,) for number in range(AT_ONCE)]
    parcels.ended([0], "it ended")
    (refused,) = parcels.tell()
    assert isinstance(refused, NotMade)
    assert [(fault.file, fault.wrong) for fault in refused.faults] == [
        ("0.pdf", "it ended while making it, 2 times")
    ]
    assert parcels.next() == tuple(range(AT_ONCE, 2 * AT_ONCE))


def test_what_nobody_began_is_nobodys_fault(wanted: tuple[Order, ...]) -> None:
    """It comes back as it was, however often."""
    parcels = Parcels(wanted[:AT_ONCE])
    for _ in range(5):
        parcel = parcels.next()
        assert parcel == tuple(range(AT_ONCE))
        parcels.back(parcel)
    assert not list(parcels.tell())
