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
from pathlib import Path

from labelkit.jobs.making import make_some
from labelkit.jobs.order import Order
from labelkit.jobs.parcels import Parcels, WorkersEnded
from labelkit.jobs.results import Made, NotMade

_UnderWay = dict[Future[tuple[Made | NotMade, ...]], tuple[int, ...]]


def made_by_lent(
    wanted: tuple[Order, ...], out: Path, executor: Executor
) -> Generator[Made | NotMade]:
    """The result of each order, in order. Raises WorkersEnded."""
    parcels = Parcels(wanted)
    under_way: _UnderWay = {}
    try:
        while not parcels.all_told:
            while parcel := parcels.next():
                future = executor.submit(make_some, parcels.orders(parcel), out)
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
        for future in under_way:
            future.cancel()
        wait(under_way)


def _note(
    future: Future[tuple[Made | NotMade, ...]], parcel: tuple[int, ...], parcels: Parcels
) -> None:
    """Note what came of a parcel. Raises BrokenExecutor and CancelledError."""
    try:
        results = future.result()
    except (BrokenExecutor, CancelledError):
        raise
    except Exception as error:
        # Not from the work itself, which refuses its file instead: from whoever did it.
        parcels.ended(parcel, f"its worker ended ({type(error).__name__})")
    else:
        for number, result in zip(parcel, results, strict=True):
            parcels.came(number, result)
