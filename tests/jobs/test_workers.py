"""Workers that end before their work is done: killed, brought down by a file, or never there."""

import json
import os
import subprocess
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest
from amid_work import NUMBERS, SLEEVES, STOP_S, amid, kill, nobody_left, words, workers_of
from command_line import sixty_prescriptions
from test_killed import whole

from labelkit.ground import door
from labelkit.jobs import crew
from labelkit.jobs.order import Order
from labelkit.jobs.parcels import AT_ONCE, WorkersEnded
from labelkit.jobs.running import make

DEADLY = NUMBERS[10]
"""The prescription whose order kills: third of the second parcel."""


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty prescriptions over eight lots, derived from the sample pharmacy."""
    return sixty_prescriptions(tmp_path_factory.mktemp("workers") / "records")


def test_a_killed_worker_is_replaced(records: Path, tmp_path: Path) -> None:
    """What it was at is made by another: all files, in order, and nothing is said of it."""
    out = tmp_path / "out"
    process = amid(words(records, out, 2), out)
    first, second = workers_of(process)
    kill(first)
    kill(second)
    stdout, stderr = process.communicate(timeout=400)
    until = time.monotonic() + STOP_S
    assert (process.returncode, stderr) == (0, "")
    made = [one["file"] for one in json.loads(stdout)["made"]]
    assert made == [f"sleeve-rx{number}.pdf" for number in NUMBERS]
    whole(out)
    assert nobody_left(process.pid, until)


def deadly(
    records: Path, tmp_path: Path, times: int
) -> tuple[subprocess.CompletedProcess[str], int]:
    """The command line with an order that kills so often, and how often it did."""
    notes = tmp_path / "notes"
    notes.mkdir()
    command = (str(Path(__file__).with_name("deadly_make.py")),)
    env = {
        **os.environ,
        "DEADLY_NUMBER": DEADLY,
        "DEADLY_TIMES": str(times),
        "DEADLY_NOTES": str(notes),
    }
    asked = words(records, tmp_path / "out", 2, NUMBERS[:24], command)
    done = subprocess.run(asked, capture_output=True, text=True, env=env, timeout=400, check=False)
    return done, len(list(notes.iterdir()))


def test_an_order_that_kills_once(records: Path, tmp_path: Path) -> None:
    """It is tried again, and made."""
    done, killed = deadly(records, tmp_path, 1)
    assert (done.returncode, killed) == (0, 1)
    made = [one["file"] for one in json.loads(done.stdout)["made"]]
    assert made == [f"sleeve-rx{number}.pdf" for number in NUMBERS[:24]]
    whole(tmp_path / "out")


def test_an_order_that_kills_every_time(records: Path, tmp_path: Path) -> None:
    """After the second time it is refused by its name, and every other file is made."""
    done, killed = deadly(records, tmp_path, 100)
    assert (done.returncode, killed) == (1, 2)
    outcome = json.loads(done.stdout)
    (refused,) = outcome["refused"]
    assert refused["subject"] == f"prescription {DEADLY}"
    (fault,) = refused["faults"]
    assert fault["file"] == f"sleeve-rx{DEADLY}.pdf"
    assert fault["wrong"] == (
        "its worker ended (killed, or memory ran out) while making it, 2 times"
    )
    made = [one["file"] for one in outcome["made"]]
    assert made == [f"sleeve-rx{number}.pdf" for number in NUMBERS[:24] if number != DEADLY]
    whole(tmp_path / "out")


def test_workers_that_never_come(
    records: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The call ends with a sentence, instead of starting them for ever."""
    monkeypatch.setattr(crew, "_work", os._exit)
    began = time.monotonic()
    with pytest.raises(WorkersEnded, match="no worker could be started"):
        make(records, SLEEVES, tmp_path / "out", workers=2)
    assert time.monotonic() - began < 60
    assert not list((tmp_path / "out").glob("*.pdf"))


class Failing(Executor):
    """Its workers fall at one order, and all that they hold with it, as a scheduler of machines
    says it. It works when the second parcel is there, or one alone."""

    def __init__(self, times: int) -> None:
        self.times = times
        self.sent: list[int] = []

    def submit(self, fn: Callable[..., object], /, *args: object, **kwargs: object) -> Future:  # type: ignore[type-arg]
        """What came of it, or that whoever did it was killed."""
        future: Future[object] = Future()
        some: tuple[Order, ...] = args[0]  # type: ignore[assignment]
        self.sent.append(len(some))
        if any(order.subject.endswith(DEADLY) for order in some) and self.times > 0:
            self.times -= 1
            future.set_exception(RuntimeError("killed"))
        else:
            future.set_result(fn(*args, **kwargs))
        return future


@pytest.mark.parametrize("times", [1, 2])
def test_an_executor_that_goes_on(records: Path, tmp_path: Path, times: int) -> None:
    """A parcel that failed is tried again order by order: only the guilty one is refused."""
    executor = Failing(times)
    outcome = make(records, SLEEVES, tmp_path / "out", executor=executor)
    refused = [one.subject for one in outcome.refused]
    assert refused == [f"prescription {DEADLY}"][: times - 1]
    assert len(outcome.made) == len(NUMBERS) - len(refused)
    assert executor.sent.count(1) == AT_ONCE
    for one in outcome.refused:
        assert one.faults[0].wrong.startswith("the executor failed (RuntimeError)")


class Elsewhere(Executor):
    """Its workers see other folders under the same names."""

    def submit(self, fn: Callable[..., object], /, *args: object, **kwargs: object) -> Future:  # type: ignore[type-arg]
        """What came of it, where the call's own folder isn't."""
        some, out, sign = args
        future: Future[object] = Future()
        future.set_result(fn(some, out, Path("/nowhere") / Path(str(sign)).name))
        return future


def test_an_executor_that_shares_no_folder(records: Path, tmp_path: Path) -> None:
    """It is refused at the first parcel: its files would lie where nobody looks."""
    with pytest.raises(WorkersEnded, match="doesn't see the output folder"):
        make(records, SLEEVES, tmp_path / "out", executor=Elsewhere())
    assert not list((tmp_path / "out").glob(f"{door.PART}*"))


def test_a_pool_of_the_callers_that_breaks_is_said(records: Path, tmp_path: Path) -> None:
    """A refusal like any other, not a traceback."""
    with ProcessPoolExecutor(1, get_context("forkserver")) as pool:
        broken = pool.submit(os._exit, 1)
        assert broken.exception()
        with pytest.raises(WorkersEnded):
            make(records, SLEEVES, tmp_path / "out", executor=pool)
