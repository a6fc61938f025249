"""Stopped on request: nothing half-made, nobody works on, the folder is free, and it is said.

Exit statuses are those of shells: 128 and the signal's number (130 for SIGINT, 143 for SIGTERM).
"""

import json
import os
import signal
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from amid_work import NUMBERS, SLEEVES, STOP_S, amid, kill, nobody_left, words, workers_of
from command_line import sixty_prescriptions
from test_killed import whole

from labelkit.ground import door
from labelkit.jobs import making, running
from labelkit.jobs.publishing import opened
from labelkit.jobs.running import Stopped, make
from labelkit.jobs.wishes import Wish


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty prescriptions over eight lots, derived from the sample pharmacy."""
    return sixty_prescriptions(tmp_path_factory.mktemp("stopping") / "records")


@pytest.mark.parametrize("sent", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize(
    ("workers", "to_all"), [(1, False), (2, False), (2, True)], ids=["one", "pool", "pool-to-all"]
)
def test_a_signal_ends_it_cleanly(
    records: Path, tmp_path: Path, workers: int, sent: signal.Signals, to_all: bool
) -> None:
    """To the command alone (kill) or to all its processes (a terminal, a service manager)."""
    out = tmp_path / "out"
    process = amid(words(records, out, workers), out)
    assert len(workers_of(process)) == (workers if workers > 1 else 0)
    (os.killpg if to_all else os.kill)(process.pid, sent)
    until = time.monotonic() + STOP_S
    stdout, stderr = process.communicate(timeout=30)
    assert nobody_left(process.pid, until)
    assert process.returncode == 128 + sent
    made = len(list(out.glob("*.pdf")))
    assert stderr.splitlines() == [
        f"Stopped: {made} of {len(NUMBERS)} files made; the same call again goes on."
    ]
    assert json.loads(stdout) == {"stopped": sent.name, "made": made}
    assert 3 <= made < len(NUMBERS)
    assert {path.name.partition(".")[0] for path in out.iterdir()} == {
        "",
        *(path.stem for path in out.glob("*.pdf")),
    }
    whole(out)
    with opened(out):
        # The lock is free.
        pass
    there = {path.name for path in out.glob("*.pdf")}
    asked = words(records, out, 1, NUMBERS[:6])
    again = json.loads(subprocess.run(asked, capture_output=True, check=True).stdout)
    assert [one["file"] for one in again["made"]] == [f"sleeve-rx{n}.pdf" for n in NUMBERS[:6]]
    assert all(one["kept"] == (one["file"] in there) for one in again["made"])
    assert (out / "report.html").exists()


def test_the_caller_is_killed(records: Path, tmp_path: Path) -> None:
    """SIGKILL gives nobody a chance to say goodbye: its workers end by themselves, amid their
    work, and what they left half-made is gone after the next call, which makes the rest."""
    out = tmp_path / "out"
    process = amid(words(records, out, 2), out)
    assert len(workers_of(process)) == 2
    kill(process.pid)
    until = time.monotonic() + STOP_S
    assert nobody_left(process.pid, until)
    process.communicate()
    there = {path.name for path in out.glob("*.pdf")}
    assert len(there) < len(NUMBERS)
    done = subprocess.run(words(records, out, 2), capture_output=True, text=True, check=True)
    again = json.loads(done.stdout)
    assert {one["file"] for one in again["made"] if one["kept"]} == there
    assert len(again["made"]) == len(NUMBERS)
    whole(out)


def stopping_at(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    """Let the work on the file of that number be interrupted as it is put in place."""
    real, count = making.publish, 0

    def publish(*args: object) -> Path:
        nonlocal count
        count += 1
        if count == number:
            raise KeyboardInterrupt
        return real(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(making, "publish", publish)


def test_a_call_from_python_says_how_far_it_came(
    records: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped is a KeyboardInterrupt with counts; an earlier call's report doesn't stay."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "report.html").write_text("of an earlier call")
    stopping_at(monkeypatch, 4)
    with pytest.raises(Stopped) as stopped:
        make(records, SLEEVES, out)
    assert (stopped.value.made, stopped.value.wanted) == (3, len(NUMBERS))
    assert isinstance(stopped.value, KeyboardInterrupt)
    assert not (out / "report.html").exists()
    whole(out)


def test_an_executor_of_the_callers_lives_on(records: Path, tmp_path: Path) -> None:
    """What it had begun is waited for, what it hadn't is taken back, and it works for others."""

    def stop(done: int, total: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with ThreadPoolExecutor(1) as threads:
        with pytest.raises(Stopped):
            make(records, SLEEVES, tmp_path / "out", stop, executor=threads)
        there = len(list((tmp_path / "out").glob("*.pdf")))
        time.sleep(0.5)
        assert len(list((tmp_path / "out").glob("*.pdf"))) == there < len(NUMBERS)
        assert threads.submit(int).result() == 0
    assert not list((tmp_path / "out").glob(f"{door.PART}*"))


def test_a_defect_in_one_file_stops_no_other(
    records: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is refused with kind and place of the failure, and without what it was about."""
    real = making.contents

    def failing(order: making.Order) -> object:
        if order.subject.endswith(NUMBERS[1]):
            raise RuntimeError("Tomás Villaseñor Echeverría")
        return real(order)

    monkeypatch.setattr(making, "contents", failing)
    outcome = make(records, Wish(rx=NUMBERS[:3], only=frozenset({"sleeve"})), tmp_path / "out")
    (refused,) = outcome.refused
    assert refused.subject == f"prescription {NUMBERS[1]}"
    assert "RuntimeError in " in refused.faults[0].wrong
    assert "Tomás" not in str(refused)
    assert len(outcome.made) == 2


def test_a_wish_of_nothing_is_still_told(records: Path, tmp_path: Path) -> None:
    """Progress is told before the first file, so that a bar knows how many there are."""
    told: list[tuple[int, int]] = []
    running.make(
        records,
        Wish(rx=NUMBERS[:2], only=frozenset({"sleeve"})),
        tmp_path / "out",
        lambda done, total: told.append((done, total)),
    )
    assert told == [(0, 2), (1, 2), (2, 2)]
