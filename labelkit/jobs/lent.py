"""What an executor of the caller's makes: any `concurrent.futures.Executor`, on this machine or
on others that share the output folder.

It lives on after the call, and nothing of the call's is left in it. When one of its workers ends,
it may say so of a parcel and go on (a scheduler of many machines); then the parcel's orders are
tried alone. Or it breaks for good (a pool of processes); then the call ends.
"""

from collections.abc import Generator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    wait,
)
from itertools import islice, takewhile
from pathlib import Path

from labelkit.ground import door
from labelkit.jobs.making import make_one
from labelkit.jobs.order import Order
from labelkit.jobs.parcels import UNDER_WAY, Parcels, WorkersEnded
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.jobs.results import Made, NotMade

LEAVE_S = 10.0
"""Seconds in which an executor's workers end the file they are at after a stop. One that is gone,
and whose executor waits for another, says nothing however long the wait."""

_UnderWay = dict[Future[tuple[Made | NotMade, ...]], tuple[int, ...]]


def made_by_lent(
    wanted: tuple[Order, ...], out: Path, executor: Executor
) -> Generator[Made | NotMade]:
    """The result of each order, in order. Raises WorkersEnded and OutputRefused.

    As long as the call lasts, a file of its own stands in `out`, and whoever works for it looks
    for that before each file: an executor need not be able to take back what it was given. Its
    name is that of a part, so after a caller that was killed the next call removes it.
    """
    parcels = Parcels(wanted)
    under_way: _UnderWay = {}
    try:
        sign = door.write_part(out, b"")
    except OSError as error:
        raise OutputRefused([unwritable(out, error)]) from error
    try:
        while not parcels.all_told:
            # A suspect has the executor to itself: one that falls says the same of all that its
            # worker held.
            room = 1 - len(under_way) if parcels.suspected else UNDER_WAY
            for parcel in islice(iter(parcels.next, ()), max(0, room)):
                future = executor.submit(_make_some, parcels.orders(parcel), out, sign)
                under_way[future] = parcel
            for future in wait(under_way, return_when=FIRST_COMPLETED).done:
                _note(future, under_way.pop(future), parcels)
            yield from parcels.tell()
    except (BrokenExecutor, CancelledError) as error:
        raise WorkersEnded(
            "the executor broke before its work was done: a worker was killed, memory ran out, "
            "or it was shut down",
            "make it again with a new one: what is there is kept",
        ) from error
    finally:
        sign.unlink(missing_ok=True)
        wait(under_way, LEAVE_S)
        for future in under_way:
            future.cancel()
        wait(under_way)


def _make_some(some: tuple[Order, ...], out: Path, sign: Path) -> tuple[Made | NotMade, ...]:
    """In a worker: make several files, one after the other, as long as the call wants them."""
    return tuple(make_one(order, out) for order in takewhile(lambda _: sign.exists(), some))


def _note(
    future: Future[tuple[Made | NotMade, ...]], parcel: tuple[int, ...], parcels: Parcels
) -> None:
    """Note what came of a parcel. Raises WorkersEnded, BrokenExecutor and CancelledError."""
    try:
        results = future.result()
    except (BrokenExecutor, CancelledError):
        raise
    except Exception as error:
        # Not from the work itself, which refuses its file instead: from whoever did it.
        parcels.ended(parcel, f"the executor failed ({type(error).__name__})")
        return
    if len(results) < len(parcel):
        raise WorkersEnded(
            "a worker of the executor doesn't see the output folder",
            "share it with every worker, at the same path",
        )
    for number, result in zip(parcel, results, strict=True):
        parcels.came(number, result)
