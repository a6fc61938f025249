"""Who makes the files of a call: this process, a pool of its own, or the caller's executor.

Results come in the orders' order, with a bounded number under way, so that memory is flat.
However the call ends, nobody works on afterwards: workers of its own are ended at once, and
what another executor has begun is waited for.
"""

import os
import signal
from collections import deque
from collections.abc import Generator, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from concurrent.futures import wait as all_done
from contextlib import contextmanager
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from pathlib import Path
from threading import Thread

from labelkit.ground.errors import Fault, Refused
from labelkit.jobs.making import make_one, make_some
from labelkit.jobs.order import Order
from labelkit.jobs.results import Made, NotMade

POOL_FROM = 100
"""Files from which a pool of processes is worth its start."""

AT_ONCE = 8
"""Files that travel to a worker together."""

UNDER_WAY = 32
"""Parcels of files under way at once."""


class WorkersEnded(Refused):
    """A worker ended that nobody had asked to. Exit status 1."""


def results(
    wanted: tuple[Order, ...], out: Path, executor: Executor | None = None, workers: int = 0
) -> Generator[Made | NotMade]:
    """The result of each order, in order; as `jobs.running.make` says of its arguments.

    Whoever stops before the last one closes it. Raises WorkersEnded.
    """
    try:
        if executor is not None:
            yield from _lent(wanted, out, executor)
        elif workers == 1 or (workers == 0 and len(wanted) < POOL_FROM):
            yield from (make_one(order, out) for order in wanted)
        else:
            with _pool(workers) as pool:
                yield from _in_order(wanted, out, pool, deque())
    except BrokenExecutor as error:
        wrong = "a worker ended before its work was done: it was killed, or memory ran out"
        mend = "make it again: what is there is kept; --workers 1 needs the least memory"
        raise WorkersEnded([Fault("workers", "", "", wrong, mend)]) from error


def _lent(wanted: tuple[Order, ...], out: Path, executor: Executor) -> Iterator[Made | NotMade]:
    """The results from an executor that lives on: nothing of the call's is left in it."""
    waiting: _Parcels = deque()
    try:
        yield from _in_order(wanted, out, executor, waiting)
    finally:
        for parcel in waiting:
            parcel.cancel()
        all_done(waiting)


@contextmanager
def _pool(workers: int) -> Iterator[Executor]:
    """Processes that end when the block does, or the process that started them."""
    # Forked workers would inherit the progress bar's thread half-way through its work.
    context = get_context("forkserver")
    ear, mouth = context.Pipe(duplex=False)
    with ear, mouth, ProcessPoolExecutor(workers or None, context, _begin, (ear,)) as pool:
        # An interrupt from the keyboard goes to all processes of a terminal. The first worker
        # brings the server with it that starts them all, and hands down what it doesn't hear.
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            pool.submit(int)
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
        try:
            yield pool
        except BaseException:
            mouth.close()
            raise


def _begin(ear: Connection) -> None:
    """In a worker: leave interrupts to the process that started it, and end with that."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_follow, args=(ear,), daemon=True).start()


def _follow(ear: Connection) -> None:
    """Nothing is ever said: the pipe's end is closed by the caller, or with the caller."""
    wait([ear])
    os._exit(1)


_Parcels = deque[Future[tuple[Made | NotMade, ...]]]


def _in_order(
    wanted: tuple[Order, ...], out: Path, executor: Executor, waiting: _Parcels
) -> Iterator[Made | NotMade]:
    """The results, while `waiting` holds the parcels that aren't told of yet."""
    for start in range(0, len(wanted), AT_ONCE):
        waiting.append(executor.submit(make_some, wanted[start : start + AT_ONCE], out))
        if len(waiting) >= UNDER_WAY:
            yield from _first(waiting)
    while waiting:
        yield from _first(waiting)


def _first(waiting: _Parcels) -> tuple[Made | NotMade, ...]:
    """What came of the first parcel, which is waited for."""
    told = waiting[0].result()
    waiting.popleft()
    return told
