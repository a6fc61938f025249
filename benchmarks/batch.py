"""A long batch: killed half-way, gone on with, and the same bytes from every kind of worker.

Writes a workspace of 10,000 prescriptions over 40 lots, plans all of it, and makes the
sleeves of the first ones.

    python benchmarks/batch.py [--prescriptions 10000] [--make 200] [--folder NEW]
"""

import argparse
import json
import resource
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter, process_time, sleep

from distributed import Client, LocalCluster
from pharmacies import FIRST_NUMBER, write_workspace

from labelkit.jobs.orders import orders
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

COMPARED = 24
"""Prescriptions made again by each kind of worker."""


def wish(count: int) -> Wish:
    """The sleeves of the first prescriptions."""
    numbers = tuple(str(FIRST_NUMBER + n) for n in range(count))
    return Wish(rx=numbers, only=frozenset({"sleeve"}))


def command(folder: Path, count: int, out: Path) -> list[str]:
    """The command line that makes them with two workers."""
    words = [sys.executable, "-m", "labelkit", "make", str(folder), "--out", str(out)]
    words += ["--only", "sleeve", "--workers", "2", "--json"]
    return words + [word for number in wish(count).rx for word in ("--rx", number)]


def made_in(out: Path) -> int:
    """PDFs that are there."""
    return len(list(out.glob("*.pdf"))) if out.exists() else 0


def peak_mb() -> int:
    """Peak memory of the largest child that has ended."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024


def planned(folder: Path) -> Iterator[tuple[str, str]]:
    """How long reading and judging the whole workspace takes."""
    start = process_time()
    workspace = read_workspace(folder)
    read = process_time()
    found = orders(workspace, Wish(everything=True, only=frozenset({"sleeve"})))
    judged = process_time()
    yield "prescriptions, lots", f"{len(workspace.prescriptions):,}, {len(workspace.lots)}"
    yield "reading the records", f"{read - start:.1f} s"
    yield "rules, lots chosen, packs", f"{judged - read:.1f} s"
    yield "sleeves ordered, refused", f"{len(found.orders):,}, {len(found.refused)}"


def killed_and_resumed(folder: Path, count: int, out: Path) -> Iterator[tuple[str, str]]:
    """SIGKILL when half is there; then the same call again."""
    start = perf_counter()
    first = subprocess.Popen(command(folder, count, out), stdout=subprocess.DEVNULL)
    while made_in(out) < count // 2 and first.poll() is None:
        sleep(0.1)
    first.send_signal(signal.SIGKILL)
    first.wait()
    # Workers whose caller is gone end by themselves.
    sleep(1)
    there = {path.name: path.stat().st_mtime_ns for path in out.glob("*.pdf")}
    yield "sleeves asked for", str(count)
    yield "there when killed", str(len(there))
    again = subprocess.run(command(folder, count, out), capture_output=True, text=True, check=False)
    outcome = json.loads(again.stdout)
    kept = [made["file"] for made in outcome["made"] if made["kept"]]
    same = sum((out / name).stat().st_mtime_ns == there.get(name) for name in kept)
    wanted = [f"sleeve-rx{number}.pdf" for number in wish(count).rx]
    yield "kept by the second call, files untouched", f"{len(kept)}, {same}"
    yield "made by the second call", str(len(outcome["made"]) - len(kept))
    yield "results in the order given", str([m["file"] for m in outcome["made"]] == wanted)
    yield "wall time of both, two workers", f"{perf_counter() - start:.0f} s"
    yield "peak memory of the calling process", f"{peak_mb()} MB"


def same_bytes(folder: Path, made: Path, out: Path) -> Iterator[tuple[str, str]]:
    """The first files made again by other workers: digests compared with those of the run."""
    known = {
        path.name: json.loads(path.read_text())["sha256"] for path in made.glob("*.check.json")
    }
    asked = wish(COMPARED)

    def equal(found: dict[str, str]) -> str:
        return str(
            all(known[name.replace(".pdf", ".check.json")] == d for name, d in found.items())
        )

    def digests(name: str, **how: object) -> dict[str, str]:
        outcome = make(folder, asked, out / name, **how)  # type: ignore[arg-type]
        return {one.file: one.sha256 for one in outcome.made}

    yield f"{COMPARED} again, one worker: same digests", equal(digests("one", workers=1))
    with ProcessPoolExecutor(2, mp_context=get_context("forkserver")) as pool:
        yield "a process pool of the caller's", equal(digests("pool", executor=pool))
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        yield (
            "dask.distributed, two local workers",
            equal(digests("dask", executor=client.get_executor())),
        )


def main() -> None:
    """Run all and print the rows of a table."""
    parser = argparse.ArgumentParser(description="A long batch, killed and resumed.")
    parser.add_argument("--prescriptions", type=int, default=10_000)
    parser.add_argument("--make", type=int, default=200)
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    base = asked.folder or Path(tempfile.mkdtemp())
    records, out = base / "records", base / "artwork"
    write_workspace(records, asked.prescriptions)
    for part in (
        planned(records),
        killed_and_resumed(records, asked.make, out),
        same_bytes(records, out, base),
    ):
        for what, found in part:
            print(f"| {what} | {found} |", flush=True)


if __name__ == "__main__":
    main()
