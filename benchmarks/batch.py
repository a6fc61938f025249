"""A long batch, end to end: killed part way, gone on with, kept, and the same bytes everywhere.

Writes a workspace of 10,000 prescriptions over 40 lots, some of them bad on purpose, and makes
all sleeves on the command line with two workers: killed (SIGKILL) part way, the same call again,
and a third time, when all is there. Then a few are made again by other kinds of worker. The
figures are kept in `batch.json` beside this file, from which the page of benchmarks is written.

    python benchmarks/batch.py [--prescriptions 10000] [--bad 40] [--folder NEW]
"""

import argparse
import json
import os
import platform
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter, process_time, sleep

import psutil
from distributed import Client, LocalCluster
from pharmacies import FIRST_NUMBER, write_workspace

from labelkit.ground import door
from labelkit.jobs.orders import orders
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

KEPT = Path(__file__).with_suffix(".json")
"""The figures of the last whole run."""

WORKERS = 2
COMPARED = 24
"""Prescriptions made again by each kind of worker."""

KILLED_AT = 0.6
"""Share of the files that are there when the first call is killed."""

EVERY_S = 2.0
"""Seconds between two looks at memory and folder."""

SLEEVES = frozenset({"sleeve"})
MB = 1024 * 1024


def command(folder: Path, out: Path) -> list[str]:
    """The command line that makes all sleeves."""
    words = [sys.executable, "-m", "labelkit", "make", str(folder), "--out", str(out)]
    return [*words, "--only", "sleeve", "--workers", str(WORKERS), "--json"]


def sleeves_in(out: Path) -> dict[str, tuple[int, int]]:
    """Each PDF that is there, with what changes when it is made again: its inode and time."""
    if not out.exists():
        return {}
    with os.scandir(out) as entries:
        found = [entry for entry in entries if entry.name.endswith(".pdf")]
        return {entry.name: (entry.inode(), entry.stat().st_mtime_ns) for entry in found}


@dataclass
class Watched:
    """One call, watched: memory as it went on, and what it used."""

    there: list[int] = field(default_factory=list)
    """PDFs at each look."""
    caller_mb: list[int] = field(default_factory=list)
    worker_mb: list[int] = field(default_factory=list)
    """Of the largest worker."""
    seconds: float = 0
    processor_s: float = 0
    """Of the caller and its workers, as far as they were seen."""
    killed: bool = False
    outcome: dict[str, list[dict[str, object]]] = field(default_factory=dict)

    def look(self, caller: psutil.Process, used: dict[int, float], out: Path) -> None:
        """Note memory (resident) and processor time of the caller and its workers."""
        sizes = []
        for process in [caller, *caller.children(recursive=True)]:
            try:
                with process.oneshot():
                    sizes.append(process.memory_info().rss // MB)
                    used[process.pid] = sum(process.cpu_times()[:2])
            except psutil.Error:
                continue
        if sizes and sizes[0]:  # one that is ending has no memory any more
            self.there.append(len(sleeves_in(out)))
            self.caller_mb.append(sizes[0])
            self.worker_mb.append(max(sizes[1:], default=0))

    def memory(self, of: str, sizes: list[int]) -> tuple[str, str]:
        """A row: early, half-way and late in its time, and the most. At the very end workers are
        gone already."""
        some = " / ".join(str(sizes[int(share * (len(sizes) - 1))]) for share in (0.1, 0.5, 0.9))
        return f"memory of {of}: at 10 %, 50 %, 90 %; most", f"{some}; {max(sizes)} MB"


def called(folder: Path, out: Path, kill_at: int = 0) -> Watched:
    """Run the command and watch it; killed when so many files are there, if `kill_at` is given."""
    seen, used = Watched(), dict[int, float]()
    start = perf_counter()
    with tempfile.TemporaryFile("w+", encoding="utf-8") as said:
        process = subprocess.Popen(command(folder, out), stdout=said)
        caller = psutil.Process(process.pid)
        while process.poll() is None:
            seen.look(caller, used, out)
            if kill_at and seen.there and seen.there[-1] >= kill_at:
                process.send_signal(signal.SIGKILL)
                seen.killed = True
                process.wait()
                break
            sleep(EVERY_S)
        seen.seconds, seen.processor_s = perf_counter() - start, sum(used.values())
        said.seek(0)
        if not seen.killed:
            seen.outcome = json.load(said)
    return seen


def planned(folder: Path) -> Iterator[tuple[str, str]]:
    """How long reading and judging the whole workspace takes."""
    start = process_time()
    workspace = read_workspace(folder)
    read = process_time()
    found = orders(workspace, Wish(everything=True, only=SLEEVES))
    judged = process_time()
    yield "prescriptions, lots", f"{len(workspace.prescriptions):,}, {len(workspace.lots)}"
    yield "reading the records", f"{read - start:.1f} s"
    yield "rules, lots chosen, packs", f"{judged - read:.1f} s"
    yield "sleeves ordered, refused by a rule", f"{len(found.orders):,}, {len(found.refused)}"


def three_calls(folder: Path, out: Path, count: int, bad: set[str]) -> Iterator[tuple[str, str]]:
    """Killed part way; the same call again; and once more when all is there."""
    first = called(folder, out, int(KILLED_AT * count))
    sleep(2)  # workers whose caller is gone end by themselves
    after_kill = sleeves_in(out)
    parts = len(list(out.glob(".part-*")))
    yield "first call: sleeves there when killed", f"{len(after_kill):,}"
    yield "half-made files that the kill left", str(parts)
    yield from timed(first, len(after_kill))
    second = called(folder, out)
    after_second = sleeves_in(out)
    made = second.outcome["made"]
    kept = [str(one["file"]) for one in made if one["kept"]]
    untouched = sum(after_second[name] == after_kill.get(name) for name in kept)
    again = len((after_second.keys() & after_kill.keys()) - set(kept))
    yield "second call: kept, of them untouched", f"{len(kept):,}, {untouched:,}"
    yield "made, of them for the second time", f"{len(made) - len(kept):,}, {again}"
    refused = {str(one["subject"]).rpartition(" ")[2] for one in second.outcome["refused"]}
    yield "refused; exactly the bad ones", f"{len(refused)}; {refused == bad}"
    wanted = [
        f"sleeve-rx{FIRST_NUMBER + n}.pdf" for n in range(count) if str(FIRST_NUMBER + n) not in bad
    ]
    yield "results in the order given", str([one["file"] for one in made] == wanted)
    yield "half-made files left", str(len(list(out.glob(".part-*"))))
    yield from timed(second, len(made) - len(kept))
    third = called(folder, out)
    kept_now = sum(bool(one["kept"]) for one in third.outcome["made"])
    after_third = sleeves_in(out)
    untouched = sum(after_third[name] == seen for name, seen in after_second.items())
    yield "third call: kept, of them untouched", f"{kept_now:,}, {untouched:,}"
    yield "wall time, per file", per_file(third.seconds, kept_now)
    yield third.memory("the caller", third.caller_mb)
    files = [path for path in out.rglob("*") if path.is_file()]
    size = sum(path.stat().st_size for path in files)
    report = [path.stat().st_size for path in out.glob("report*.html")]
    yield "on the disk", f"{len(files):,} files, {size / MB:,.0f} MB"
    yield "report", f"{len(report)} pages, the largest {max(report) / 1000:,.0f} kB"


def timed(call: Watched, made: int) -> Iterator[tuple[str, str]]:
    """What a call used for the files it made, and its memory."""
    yield "wall time, per file", per_file(call.seconds, made)
    yield "processor time per file", f"{call.processor_s / made * 1000:.0f} ms"
    yield call.memory("the caller", call.caller_mb)
    yield call.memory("the largest worker", call.worker_mb)


def per_file(seconds: float, files: int) -> str:
    """Seconds, and milliseconds for each file."""
    return f"{seconds:,.0f} s, {seconds / files * 1000:.0f} ms"


def same_bytes(folder: Path, made: Path, out: Path) -> Iterator[tuple[str, str]]:
    """The first files made again by other workers: digests compared with those of the run."""
    known = {
        path.name: json.loads(path.read_text())["sha256"] for path in made.glob("*.check.json")
    }
    numbers = tuple(str(FIRST_NUMBER + n) for n in range(COMPARED))
    asked = Wish(rx=numbers, only=SLEEVES)

    def equal(found: dict[str, str]) -> str:
        same = [known[name.replace(".pdf", ".check.json")] == d for name, d in found.items()]
        return f"{sum(same)} of {COMPARED}"

    def digests(name: str, **how: object) -> dict[str, str]:
        outcome = make(folder, asked, out / name, **how)  # type: ignore[arg-type]
        return {one.file: one.sha256 for one in outcome.made}

    yield "made again by one worker: same digests", equal(digests("one", workers=1))
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("forkserver")) as pool:
        yield "by a process pool of the caller's", equal(digests("pool", executor=pool))
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        found = digests("dask", executor=client.get_executor())
        yield "by dask.distributed, two local workers", equal(found)


def revision() -> str:
    """The commit that was measured."""
    asked = ["git", "-C", str(Path(__file__).parent), "rev-parse", "--short", "HEAD"]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    return done.stdout.strip() or "unknown"


def main() -> None:
    """Run all, print the rows of a table as they come, and keep them."""
    parser = argparse.ArgumentParser(description="A long batch, killed and resumed.")
    parser.add_argument("--prescriptions", type=int, default=10_000)
    parser.add_argument("--bad", type=int, default=40)
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    base = asked.folder or Path(tempfile.mkdtemp())
    records, out = base / "records", base / "artwork"
    bad = set(write_workspace(records, asked.prescriptions, bad=asked.bad))
    rows: list[tuple[str, str]] = []
    for part in (
        planned(records),
        three_calls(records, out, asked.prescriptions, bad),
        same_bytes(records, out, base),
    ):
        for what, found in part:
            rows.append((what, found))
            print(f"| {what} | {found} |", flush=True)
    kept = {
        "on": door.today().isoformat(),
        "commit": revision(),
        "python": platform.python_version(),
        "machine": platform.machine(),
        "processors": os.cpu_count(),
        "note": "",
        "rows": rows,
    }
    KEPT.write_text(json.dumps(kept, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
