"""A batch: killed and gone on with, the same bytes and order from every kind of worker."""

import json
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, ThreadPoolExecutor
from pathlib import Path

import pytest
from command_line import sixty_prescriptions
from distributed import Client, LocalCluster

from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish

NUMBERS = tuple(str(200_001 + n) for n in range(12))
"""The first of sixty prescriptions."""

SLEEVES = Wish(rx=NUMBERS, only=frozenset({"sleeve"}))


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty prescriptions over eight lots, derived from the sample pharmacy."""
    return sixty_prescriptions(tmp_path_factory.mktemp("batch") / "records")


@pytest.fixture(scope="module")
def made(records: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """File and digest of each sleeve, made by one process."""
    return digests(records, tmp_path_factory.mktemp("one"), workers=1)


def digests(
    records: Path, out: Path, executor: Executor | None = None, workers: int = 0
) -> dict[str, str]:
    """File and digest, in the order in which they are told."""
    outcome = make(records, SLEEVES, out, executor=executor, workers=workers)
    assert not outcome.refused
    return {one.file: one.sha256 for one in outcome.made}


def test_killed_and_gone_on_with(records: Path, made: dict[str, str], tmp_path: Path) -> None:
    """SIGKILL amid two workers: they end too, and the next call makes only what is missing."""
    words = [sys.executable, "-m", "labelkit", "make", str(records), "--only", "sleeve", "--json"]
    words += [word for number in NUMBERS for word in ("--rx", number)]
    words += ["--workers", "2", "--out", str(tmp_path / "out")]
    first = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    while len(list((tmp_path / "out").glob("*.pdf"))) < 3 and first.poll() is None:
        time.sleep(0.05)
    first.send_signal(signal.SIGKILL)
    # The workers hold the same standard error: it ends when the last of them has.
    first.communicate(timeout=30)
    there = {path: path.stat().st_mtime_ns for path in (tmp_path / "out").glob("*.pdf")}
    assert 3 <= len(there) < len(NUMBERS)
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    outcome = json.loads(done.stdout)
    assert {one["file"]: one["sha256"] for one in outcome["made"]} == made
    assert {one["file"] for one in outcome["made"] if one["kept"]} == {p.name for p in there}
    assert all(path.stat().st_mtime_ns == when for path, when in there.items())


def test_results_come_in_the_order_given(records: Path, made: dict[str, str]) -> None:
    """The workspace's order, whichever worker ends first."""
    assert list(made) == [f"sleeve-rx{number}.pdf" for number in NUMBERS]


def test_an_executor_of_the_callers(records: Path, made: dict[str, str], tmp_path: Path) -> None:
    """Any executor does the work: the same files in the same order."""
    with ThreadPoolExecutor(1) as threads:
        found = digests(records, tmp_path, threads)
    assert list(found.items()) == list(made.items())


def test_an_engine_on_other_machines(records: Path, made: dict[str, str], tmp_path: Path) -> None:
    """dask.distributed with two workers is such an executor."""
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        found = digests(records, tmp_path, client.get_executor())
    assert list(found.items()) == list(made.items())


def test_one_bad_prescription_stops_no_other(records: Path, tmp_path: Path) -> None:
    """A name too long for its sleeve is refused by itself."""
    copied = tmp_path / "records"
    subprocess.run(["cp", "-r", str(records), str(copied)], check=True)
    rows = (copied / "patients.csv").read_text().splitlines()
    name = rows[2].split(",")[1]
    rows[2] = rows[2].replace(name, " ".join([name] * 3))
    (copied / "patients.csv").write_text("\n".join(rows) + "\n")
    wish = Wish(rx=NUMBERS[:3], only=frozenset({"sleeve"}))
    outcome = make(copied, wish, tmp_path / "out")
    assert [one.subject for one in outcome.refused] == [f"prescription {NUMBERS[1]}"]
    assert [one.subject for one in outcome.made] == [
        f"prescription {number}" for number in (NUMBERS[0], NUMBERS[2])
    ]
