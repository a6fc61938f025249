"""A scheduler's address: its workers make the files, and what is wrong is said soon."""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from amid_work import NUMBERS, STOP_S, amid, kill, words
from command_line import ROOT, run, sixty_prescriptions
from test_killed import whole

from labelkit.jobs import scheduler
from labelkit.jobs.lent import LEAVE_S
from labelkit.jobs.scheduler import ExecutorRefused, executor_at

Start = Callable[..., subprocess.Popen[bytes]]


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty prescriptions over eight lots, derived from the sample pharmacy."""
    return sixty_prescriptions(tmp_path_factory.mktemp("scheduler") / "records")


@pytest.fixture
def start() -> Iterator[Start]:
    """What starts a program of ``distributed``; each is ended with the test, nannies first."""
    started: list[subprocess.Popen[bytes]] = []

    def begin(
        program: str, *asked: str, folder: Path | None = None, **env: str
    ) -> subprocess.Popen[bytes]:
        said = [sys.executable, "-m", f"distributed.cli.dask_{program}", *asked]
        said += ["--no-dashboard", "--host", "127.0.0.1"]
        quiet = subprocess.DEVNULL
        process = subprocess.Popen(
            said, stdout=quiet, stderr=quiet, cwd=folder, env={**os.environ, **env}
        )
        started.append(process)
        return process

    yield begin
    for process in reversed(started):
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def address(start: Start, **env: str) -> str:
    """A scheduler's address, once it answers there."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    process = start("scheduler", "--port", str(port), **env)
    for _ in range(600):
        assert process.poll() is None
        with socket.socket() as one:
            if one.connect_ex(("127.0.0.1", port)) == 0:
                return f"127.0.0.1:{port}"
        time.sleep(0.05)
    raise AssertionError("no scheduler")


def test_a_killed_worker_of_a_scheduler(records: Path, tmp_path: Path, start: Start) -> None:
    """The files it was to make are made by the other; they are whole, and come in order."""
    out = tmp_path / "out"
    at = address(start)
    one, _ = [start("worker", at, "--no-nanny", "--nthreads", "1") for _ in range(2)]
    asked = [*words(records, out, 0), "--executor", at]
    process = subprocess.Popen(asked, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    while len(list(out.glob("*.pdf"))) < 3 and process.poll() is None:
        time.sleep(0.01)
    kill(one.pid)
    stdout, stderr = process.communicate(timeout=400)
    assert process.returncode == 0, stderr
    made = [one["file"] for one in json.loads(stdout)["made"]]
    assert made == [f"sleeve-rx{number}.pdf" for number in NUMBERS]
    whole(out)


def test_an_order_that_kills_a_schedulers_workers(
    records: Path, tmp_path: Path, start: Start
) -> None:
    """It is refused alone, though its worker held other parcels each time."""
    notes = tmp_path / "notes"
    notes.mkdir()
    deadly = {"DEADLY_NUMBER": NUMBERS[10], "DEADLY_TIMES": "100", "DEADLY_NOTES": str(notes)}
    at = address(start, DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES="0")
    preload = str(Path(__file__).with_name("deadly_make.py"))
    start("worker", at, "--nthreads", "1", "--preload", preload, **deadly)
    done = run(*words(records, tmp_path / "out", 0)[3:], "--executor", at)
    assert done.returncode == 1, done.stderr
    outcome = json.loads(done.stdout)
    (refused,) = outcome["refused"]
    assert refused["subject"] == f"prescription {NUMBERS[10]}"
    assert refused["faults"][0]["wrong"] == (
        "the executor failed (KilledWorker) while making it, 2 times"
    )
    assert len(outcome["made"]) == len(NUMBERS) - 1
    assert len(list(notes.iterdir())) == 2
    whole(tmp_path / "out")


@pytest.mark.parametrize(
    ("at", "wrong"),
    [
        ("nonsense", "this isn't an address"),
        ("localhost:port", "this isn't an address"),
        ("127.0.0.1:1", "no scheduler answers there"),
    ],
)
def test_no_scheduler(at: str, wrong: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """An address that is none, and one where nobody answers (port 1, tcpmux, RFC 1078)."""
    monkeypatch.setattr(scheduler, "ANSWER_S", 2.0)
    began = time.monotonic()
    with pytest.raises(ExecutorRefused) as refused, executor_at(at):
        pass
    assert [(f.file, f.wrong) for f in refused.value.faults] == [(f"--executor {at}", wrong)]
    assert time.monotonic() - began < 10


def test_a_name_that_is_never_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A name server that is silent holds nobody up."""
    monkeypatch.setattr(scheduler, "ANSWER_S", 0.2)
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_: time.sleep(60))
    began = time.monotonic()
    with (
        pytest.raises(ExecutorRefused, match="no scheduler answers there"),
        executor_at("scheduler.example:8786"),
    ):
        pass
    assert time.monotonic() - began < 5


def test_a_scheduler_without_workers(start: Start, monkeypatch: pytest.MonkeyPatch) -> None:
    """Work given to it would wait for ever."""
    monkeypatch.setattr(scheduler, "ANSWER_S", 2.0)
    at = address(start)
    with pytest.raises(ExecutorRefused, match="the scheduler has no workers"), executor_at(at):
        pass


def test_a_worker_with_another_labelkit(tmp_path: Path, start: Start) -> None:
    """Its files would be another program's; nothing is given to it."""
    shutil.copytree(ROOT / "labelkit", tmp_path / "labelkit")
    with (tmp_path / "labelkit" / "jobs" / "making.py").open("a") as file:
        file.write("# another\n")
    at = address(start)
    start("worker", at, "--no-nanny", folder=tmp_path, PYTHONPATH=str(tmp_path))
    with pytest.raises(ExecutorRefused, match="has another labelkit, or none"), executor_at(at):
        pass


def test_a_worker_of_several_threads(start: Start) -> None:
    """The library that reads files back isn't made for them."""
    at = address(start)
    start("worker", at, "--no-nanny", "--nthreads", "2")
    with pytest.raises(ExecutorRefused, match="works in 2 threads at once"), executor_at(at):
        pass


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    """The refusal names what to install."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ExecutorRefused) as refused, executor_at("localhost:8786"):
        pass
    assert refused.value.faults[0].mend.endswith('pip install "labelkit[distributed]"')


def test_the_command_line_says_it(records: Path, tmp_path: Path) -> None:
    """A refusal like any other: the fault on standard error, exit status 1, nothing made."""
    done = run("make", str(records), "--all", "--out", str(tmp_path), "--executor", "nonsense")
    assert done.returncode == 1
    assert "--executor nonsense: this isn't an address." in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_stop_amid_a_schedulers_work(records: Path, tmp_path: Path, start: Start) -> None:
    """The workers end the file they are at, and make no other; the folder is free and whole."""
    out = tmp_path / "out"
    at = address(start)
    start("worker", at, "--no-nanny", "--nthreads", "1")
    asked = [*words(records, out, 0), "--executor", at]
    process = amid(asked, out)
    process.send_signal(signal.SIGINT)
    stdout, stderr = process.communicate(timeout=STOP_S + LEAVE_S)
    there = len(list(out.glob("*.pdf")))
    assert process.returncode == 128 + signal.SIGINT, stderr
    assert json.loads(stdout) == {"stopped": "SIGINT", "made": there}
    assert there < len(NUMBERS)
    whole(out)
    time.sleep(1)
    assert len(list(out.glob("*.pdf"))) == there
