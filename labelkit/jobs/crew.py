"""A crew: processes of the call's own that make its files, and that end when it does.

Each has a line of its own to the caller (a pipe): orders go down, one result a file comes back, so
that the caller knows what a worker was at when it ended. The line's end is the only sign of
life: a worker whose line is closed ends at once, also when the caller was killed, and a
worker that was killed closes its own. Nothing here waits without a bound: not on a library's
shutdown, not on a lock, not on a pipe that nobody reads.
"""

import os
import signal
from collections import deque
from collections.abc import Generator
from dataclasses import dataclass, field
from math import ceil
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path
from queue import SimpleQueue
from threading import Thread
from time import monotonic
from types import TracebackType

from labelkit.jobs.making import make_one
from labelkit.jobs.order import Order
from labelkit.jobs.parcels import AT_ONCE, Parcels, WorkersEnded
from labelkit.jobs.results import Made, NotMade

MOST = 60
"""Workers of a call. Windows waits for 64 handles at once (MAXIMUM_WAIT_OBJECTS, winnt.h), and
Python needs some of them."""

LEAVE_S = 1.0
"""Seconds in which a worker whose line was closed ends by itself; then it is killed."""

KILLED_S = 2.0
"""Seconds in which a system ends a killed process. One that waits for a disk may take longer, but
does nothing more of its own."""

# Spawned, not forked: the same on every system, nothing of the caller's threads in it, and each a
# child of the caller's own, so that a kill is sure to meet it.
_CONTEXT = get_context("spawn")


@dataclass(eq=False)
class _Worker:
    process: SpawnProcess
    line: "Connection[tuple[Order, ...], Made | NotMade | None]"
    starter: Thread
    """A thread of its own starts the process. An interrupt is raised in the main thread
    alone, so no start is cut in half."""
    ready: bool = False
    doing: deque[int] = field(default_factory=deque)
    """Numbers of the orders it has, in order: it is at the first of them."""


def made_by_crew(wanted: tuple[Order, ...], out: Path, workers: int) -> Generator[Made | NotMade]:
    """The result of each order, in order, from so many processes (0: one for each processor).

    Raises WorkersEnded where no worker could be started, or none was left that could.
    """
    parcels = Parcels(wanted)
    size = min(workers or os.cpu_count() or 1, ceil(len(wanted) / AT_ONCE), MOST)
    with _Crew(size, out) as crew:
        while not parcels.all_told:
            crew.hand_out(parcels)
            crew.listen(parcels)
            crew.hand_out(parcels)
            yield from parcels.tell()


class _Crew:
    """The workers of one call, as long as the block lasts."""

    def __init__(self, size: int, out: Path) -> None:
        self._size = size
        self._out = out
        self._workers: list[_Worker] = []

    def __enter__(self) -> "_Crew":
        try:
            for _ in range(self._size):
                self._hire()
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end()

    def hand_out(self, parcels: Parcels) -> None:
        """Give every worker that has nothing to do a parcel, as long as there are any."""
        for worker in self._workers:
            if worker.doing or not worker.ready:
                continue
            parcel = parcels.next()
            if not parcel:
                return
            try:
                # It reads at once, and has nothing to say meanwhile: neither waits for the other.
                worker.line.send(parcels.orders(parcel))
            except OSError:
                # It has ended idle; its line tells.
                parcels.back(parcel)
            else:
                worker.doing.extend(parcel)

    def listen(self, parcels: Parcels) -> None:
        """Wait until a worker says something, or ends: what it was at is tried again, and
        another takes its place. Raises WorkersEnded."""
        lines = {worker.line: worker for worker in self._workers}
        for line in wait(list(lines)):
            worker = lines[line]  # type: ignore[index]
            try:
                said = worker.line.recv()
            except (EOFError, OSError):
                self._lose(worker, parcels)
                continue
            worker.ready = True
            if said is not None:
                parcels.came(worker.doing.popleft(), said)

    def _lose(self, worker: _Worker, parcels: Parcels) -> None:
        self._workers.remove(worker)
        _end([worker])
        at, *rest = worker.doing or (None,)
        if at is not None:
            parcels.ended([at], "its worker ended (killed, or memory ran out)")
            parcels.back(rest)
        if worker.ready:
            self._hire()
        elif not self._workers:
            # One that never came so far isn't tried again, or that would go on for ever.
            raise WorkersEnded(
                "no worker could be started: each was killed, or memory ran out",
                "make it again: what is there is kept; --workers 1 needs the least memory",
            )

    def _hire(self) -> None:
        ours, theirs = _CONTEXT.Pipe()
        process = _CONTEXT.Process(target=_work, args=(theirs, self._out), daemon=True)
        starter = Thread(target=_start, args=(process, theirs), daemon=True)
        worker = _Worker(process, ours, starter)
        self._workers.append(worker)
        starter.start()
        starter.join()

    def _end(self) -> None:
        _end(self._workers)
        self._workers = []


def _start(process: SpawnProcess, theirs: "Connection[object, object]") -> None:
    """Start a worker that doesn't hear the keyboard: an interrupt there goes to all processes of
    a terminal, and the caller decides what comes of it."""
    # The line is the caller's no more: its end must tell that the worker's is closed.
    with theirs:
        if hasattr(signal, "pthread_sigmask"):
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        process.start()


def _end(workers: list[_Worker]) -> None:
    """End workers: by their line, and whoever isn't gone soon is killed."""
    for worker in workers:
        worker.line.close()
    until = monotonic() + LEAVE_S
    for worker in workers:
        # Joined already, unless this is what an interrupt amid its start led to.
        worker.starter.join(max(0.0, until - monotonic()))
    started = [worker.process for worker in workers if worker.process.pid is not None]
    for process in started:
        process.join(max(0.0, until - monotonic()))
    until = monotonic() + KILLED_S
    for process in started:
        process.kill()
    for process in started:
        process.join(max(0.0, until - monotonic()))


def _work(line: "Connection[Made | NotMade | None, tuple[Order, ...]]", out: Path) -> None:
    """In a worker: make what comes down the line, until it is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parcels: SimpleQueue[tuple[Order, ...]] = SimpleQueue()
    Thread(target=_hear, args=(line, parcels), daemon=True).start()
    try:
        line.send(None)
        while True:
            for order in parcels.get():
                line.send(make_one(order, out))
    except OSError:
        # The line is closed, and the thread that hears it ends this process, amid anything.
        os._exit(1)


def _hear(
    line: "Connection[Made | NotMade | None, tuple[Order, ...]]",
    parcels: "SimpleQueue[tuple[Order, ...]]",
) -> None:
    """In a worker: take in parcels, and end the process with the line, whatever it is at."""
    try:
        while True:
            parcels.put(line.recv())
    except (EOFError, OSError):
        pass
    finally:
        os._exit(1)
