"""The parcels of a call: which orders are still to be made, which are under way, what came of each.

Whoever makes them (`jobs.crew`, `jobs.lent`) asks for the next parcel and tells what came of it.
Results are told in the orders' order, with a bounded number under way, so that memory is flat. An
order that ended whoever made it is tried once more, alone; the second time it is refused, alone.
"""

from collections import Counter, deque
from collections.abc import Iterable, Iterator

from labelkit.ground.errors import Fault, Refused
from labelkit.jobs.order import Order
from labelkit.jobs.results import Made, NotMade, SaidFault

AT_ONCE = 8
"""Files that travel to a worker together."""

UNDER_WAY = 32
"""Parcels of files under way at once."""

TRIES = 2
"""How often an order may end its worker: once is an accident, killed from outside or beside
another that filled the memory."""


class WorkersEnded(Refused):
    """No worker is left, and nobody had asked them to end. Exit status 1."""

    def __init__(self, wrong: str, mend: str) -> None:
        super().__init__([Fault("workers", "", "", wrong, mend)])


class Parcels:
    """Orders, by their number in the call, from wanted to told."""

    def __init__(self, wanted: tuple[Order, ...]) -> None:
        self._wanted = wanted
        self._fresh = 0
        """Number of the first order that nobody was given yet."""
        self._again: deque[tuple[int, ...]] = deque()
        """Parcels that came back, begun by nobody."""
        self._suspects: deque[int] = deque()
        """Orders that may have ended a worker, to be tried each by itself."""
        self._ended: Counter[int] = Counter()
        """How often an order ended its worker."""
        self._came: dict[int, Made | NotMade] = {}
        self._told = 0

    @property
    def all_told(self) -> bool:
        """Whether what came of every order was told."""
        return self._told == len(self._wanted)

    @property
    def suspected(self) -> bool:
        """Whether the next parcel is an order that may have ended a worker."""
        return bool(self._suspects)

    def orders(self, parcel: Iterable[int]) -> tuple[Order, ...]:
        """The orders of these numbers."""
        return tuple(self._wanted[number] for number in parcel)

    def next(self) -> tuple[int, ...]:
        """Numbers of the next orders to be made together; none where enough are under way."""
        if self._suspects:
            return (self._suspects.popleft(),)
        if self._again:
            return self._again.popleft()
        end = min(self._fresh + AT_ONCE, len(self._wanted))
        if end > self._told + AT_ONCE * UNDER_WAY:
            return ()
        parcel = tuple(range(self._fresh, end))
        self._fresh = end
        return parcel

    def came(self, number: int, result: Made | NotMade) -> None:
        """Note what came of an order."""
        self._came[number] = result

    def back(self, parcel: Iterable[int]) -> None:
        """Take back what nobody has begun."""
        if numbers := tuple(parcel):
            self._again.append(numbers)

    def ended(self, suspects: Iterable[int], how: str) -> None:
        """Note that a worker ended (`how`: a clause about it) amid one of these orders, so that
        each of them is tried alone, or refused."""
        for number in suspects:
            self._ended[number] += 1
            if self._ended[number] < TRIES:
                self._suspects.append(number)
            else:
                self.came(number, _not_made(self._wanted[number], how))

    def tell(self) -> Iterator[Made | NotMade]:
        """What came of the next orders, as far as it is known without a gap."""
        while self._told in self._came:
            # Told before it is given away: whoever is given it may not come back for more.
            self._told += 1
            yield self._came.pop(self._told - 1)


def _not_made(order: Order, how: str) -> NotMade:
    fault = Fault(
        f"{order.stem}.pdf",
        "",
        "",
        f"{how} while making it, {TRIES} times",
        "make it again, with --workers 1 where memory is short; if it ends there too, tell "
        "whoever looks after labelkit: the other files aren't touched by it",
    )
    return NotMade(artwork=order.artwork, subject=order.subject, faults=(SaidFault.of(fault),))
