"""Who makes the files of a call: this process, a crew of its own, or the caller's executor.

However the call ends, nobody works on afterwards: a crew is ended at once, and the files that
another executor's workers are at are waited for.
"""

from collections.abc import Generator
from concurrent.futures import Executor
from pathlib import Path

from labelkit.jobs.crew import made_by_crew
from labelkit.jobs.lent import made_by_lent
from labelkit.jobs.making import make_one
from labelkit.jobs.order import Order
from labelkit.jobs.results import Made, NotMade

CREW_FROM = 100
"""Files from which a crew is worth its start."""


def results(
    wanted: tuple[Order, ...], out: Path, executor: Executor | None = None, workers: int = 0
) -> Generator[Made | NotMade]:
    """The result of each order, in order; as `jobs.running.make` says of its arguments.

    Whoever stops before the last one closes it. Raises WorkersEnded and OutputRefused.
    """
    if executor is not None:
        return made_by_lent(wanted, out, executor)
    if workers == 1 or (workers == 0 and len(wanted) < CREW_FROM):
        return (make_one(order, out) for order in wanted)
    return made_by_crew(wanted, out, workers)
