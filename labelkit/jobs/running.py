"""Whole calls: make what a workspace needs, the demonstration, a starter workspace."""

from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from contextlib import closing
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault
from labelkit.jobs.handling import handled
from labelkit.jobs.keeping import kept_for
from labelkit.jobs.orders import orders
from labelkit.jobs.parcels import AT_ONCE, UNDER_WAY
from labelkit.jobs.publishing import OutputRefused, opened, unwritable
from labelkit.jobs.reporting import forget_report, report
from labelkit.jobs.results import Made, NotMade, Outcome
from labelkit.jobs.wishes import Wish
from labelkit.jobs.workers import results
from labelkit.records.reading import read_workspace

Progress = Callable[[int, int], None]
"""Called with how many files are done, and how many there are."""

SAMPLE = "pharmacy"
STARTER = "starter"


class Stopped(KeyboardInterrupt):
    """A call that was stopped on request; the same call again goes on from there."""

    def __init__(self, made: int, wanted: int) -> None:
        super().__init__(f"{made} of {wanted} files made")
        self.made = made
        """Files of the call that are there, whole and checked."""
        self.wanted = wanted


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
    RecordsRefused (with every fault of the workspace, nothing written), LayoutRefused,
    OutputRefused and WorkersEnded. A file that is refused is among the outcome's `refused`; the
    others go on. A KeyboardInterrupt becomes Stopped: nothing is left half-made, no worker of
    the call works on, and the folder is free again.
    """
    out = Path(out)
    workspace = read_workspace(Path(folder))
    ordered = orders(workspace, wish)
    wanted = handled(ordered.orders, wish, Path(folder))
    made: list[Made] = []
    refused: list[NotMade] = []
    with opened(out):
        forget_report(out)
        try:
            with closing(results(wanted, out.absolute(), executor, workers)) as found:
                progress(0, len(wanted))
                for result in found:
                    if isinstance(result, Made):
                        made.append(result)
                    else:
                        refused.append(result)
                    progress(len(made) + len(refused), len(wanted))
            outcome = Outcome(
                workspace=str(folder),
                out=str(out),
                made=tuple(made),
                refused=(*ordered.refused, *refused),
                pending=ordered.pending,
            )
            report(outcome, workspace)
        except KeyboardInterrupt as asked:
            told = len(made) + len(refused)
            begun = wanted[told : told + AT_ONCE * UNDER_WAY]
            also = sum(kept_for(order, out) is not None for order in begun)
            raise Stopped(len(made) + also, len(wanted)) from asked
    return outcome


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
