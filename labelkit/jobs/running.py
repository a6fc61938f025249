"""Whole calls: make what a workspace needs, the demonstration, a starter workspace."""

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from multiprocessing import get_context, parent_process
from multiprocessing.connection import wait
from pathlib import Path
from threading import Thread

from labelkit.ground import door
from labelkit.ground.errors import Fault
from labelkit.jobs.handling import handled
from labelkit.jobs.making import make_one, make_some
from labelkit.jobs.order import Order
from labelkit.jobs.orders import orders
from labelkit.jobs.publishing import OutputRefused, opened, unwritable
from labelkit.jobs.reporting import report
from labelkit.jobs.results import Made, NotMade, Outcome
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

Progress = Callable[[int, int], None]
"""Called with how many files are done, and how many there are."""

POOL_FROM = 100
"""Files from which a pool of processes is worth its start."""

AT_ONCE = 8
"""Files that travel to a worker together."""

UNDER_WAY = 32
"""Parcels of files under way at once."""

SAMPLE = "pharmacy"
STARTER = "starter"


def make(
    folder: Path | str,
    wish: Wish,
    out: Path | str,
    progress: Progress = lambda done, total: None,
    executor: Executor | None = None,
    workers: int = 0,
) -> Outcome:
    """Make what is wished for from a workspace, each file on its own, in the order given.

    `executor` does the work (any `concurrent.futures.Executor`, on this machine or others
    that share `out`); without one, `workers` processes: 1 is this process alone, 0 one for
    each processor where there is much to do. Raises
    RecordsRefused (with every fault of the workspace, nothing written), LayoutRefused and
    OutputRefused. A file that is refused is among the outcome's `refused`; the others go on.
    """
    out = Path(out)
    workspace = read_workspace(Path(folder))
    ordered = orders(workspace, wish)
    wanted = handled(ordered.orders, wish, Path(folder))
    made: list[Made] = []
    refused: list[NotMade] = list(ordered.refused)
    results = _results(wanted, out.absolute(), executor, workers)
    with opened(out):
        for number, result in enumerate(results):
            progress(number, len(wanted))
            if isinstance(result, Made):
                made.append(result)
            else:
                refused.append(result)
        progress(len(wanted), len(wanted))
        outcome = Outcome(
            workspace=str(folder), out=str(out), made=tuple(made), refused=tuple(refused)
        )
        report(outcome, workspace)
    return outcome


def _results(
    wanted: tuple[Order, ...], out: Path, executor: Executor | None, workers: int
) -> Iterator[Made | NotMade]:
    if executor is not None:
        yield from _in_order(wanted, out, executor)
    elif workers == 1 or (workers == 0 and len(wanted) < POOL_FROM):
        for order in wanted:
            yield make_one(order, out)
    else:
        # Forked workers would inherit the progress bar's thread half-way through its work.
        context = get_context("forkserver")
        with ProcessPoolExecutor(workers or None, context, end_with_caller) as pool:
            yield from _in_order(wanted, out, pool)


def end_with_caller() -> None:
    """Let this worker end when the process that started it is gone, however it went: a worker
    whose caller was killed would wait for work for ever."""
    caller = parent_process()
    if caller is not None:
        Thread(target=_follow, args=(caller.sentinel,), daemon=True).start()


def _follow(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)


def _in_order(wanted: tuple[Order, ...], out: Path, executor: Executor) -> Iterator[Made | NotMade]:
    """Results in the orders' order, with a bounded number under way so that memory is flat."""
    waiting: deque[Future[tuple[Made | NotMade, ...]]] = deque()
    for start in range(0, len(wanted), AT_ONCE):
        waiting.append(executor.submit(make_some, wanted[start : start + AT_ONCE], out))
        if len(waiting) >= UNDER_WAY:
            yield from waiting.popleft().result()
    while waiting:
        yield from waiting.popleft().result()


def copy_sample(name: str, to: Path) -> Path:
    """Copy a shipped folder of records. Raises OutputRefused when `to` isn't empty."""
    if to.exists() and (not to.is_dir() or any(_visible(to.iterdir()))):
        raise OutputRefused(
            [
                Fault(
                    str(to),
                    "",
                    "",
                    "there is something in this folder already",
                    "name an empty or new folder, so that no record of yours is overwritten",
                )
            ]
        )
    try:
        door.copy_tree(door.resource_dir("samples") / name, to)
    except OSError as error:
        raise OutputRefused([unwritable(to, error)]) from error
    return to


def _visible(paths: Iterable[Path]) -> Iterable[Path]:
    return (path for path in paths if not path.name.startswith("."))


def demo(out: Path, progress: Progress = lambda done, total: None) -> Outcome:
    """Copy the sample pharmacy to ``OUT/records`` and make all of it in ``OUT/artwork``.

    Records that are there already are kept as they are, so that a person can edit them and
    run the demonstration again. Raises as `make`.
    """
    records = out / "records"
    if not records.exists():
        copy_sample(SAMPLE, records)
    return make(records, Wish(everything=True), out / "artwork", progress)


def new_workspace(to: Path) -> Path:
    """Copy the commented starter workspace. Raises OutputRefused when `to` isn't empty."""
    return copy_sample(STARTER, to)
