"""Fuzz the readers: damaged files in, refusals out.

    python tools/fuzz.py --seconds 60 --seed 1 [--reader NAME] [--input N] [--write]

Each reader gets a share of the seconds (by the clock). Inputs are damaged copies of the
sample's own files; the same seed gives the same inputs in the same order. Anything but a
refusal or a result is a crash: it is printed with the input's number, and the exit status is 1.

One worker at a time reads; this process watches it. An input may take 10 s of processor time and
1 GB: more addresses than that it can't get, and more memory in use is counted against it, as is
a worker that died. `--write` puts the figures into docs/fuzzing.md, in place of those of the
same readers. `--input N` tries one input of a reader alone.
"""

import argparse
import multiprocessing
import os
import random  # noqa: TID251  (seeded: the same seed gives the same inputs)
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path

from fuzz_readers import ROOT, Reader, readers

from labelkit.ground.errors import Refused

PAGE = ROOT / "docs" / "fuzzing.md"
LONGEST_S = 10
MOST_BYTES = 1024**3
PATIENCE_S = 300
"""Seconds by the clock after which an input hangs, whatever the processor did."""

KINDS = ("refused", "accepted", "crashed", "over 10 s", "over 1 GB")
COLUMNS = ("reader", "seed", "clock, s", "processor, s", "tried", *KINDS, "longest, s", "most, MB")


class Hang(BaseException):
    """One input took longer than is allowed."""


@dataclass
class Figures:
    """What came of one reader's inputs."""

    counts: Counter[str] = field(default_factory=Counter)
    clock_s: float = 0.0
    processor_s: float = 0.0
    longest: tuple[float, int] = (0.0, 0)
    """Seconds, and the number of the input."""
    most: tuple[int, int] = (0, 0)
    """Bytes in use, and the number of the input."""

    @property
    def bad(self) -> int:
        """Inputs that ended as none may."""
        return sum(self.counts[kind] for kind in KINDS[2:])

    def row(self, name: str, seed: int) -> tuple[str, ...]:
        """A row of the table."""
        counts = [str(self.counts[kind]) for kind in KINDS]
        figures = (f"{self.longest[0]:.1f}", f"{self.most[0] / 1e6:.0f}")
        tried = str(self.counts.total())
        seconds = (f"{self.clock_s:.0f}", f"{self.processor_s:.0f}")
        return name, str(seed), *seconds, tried, *counts, *figures


def _ring(_signal: int, _frame: object) -> None:
    raise Hang


def _in_use(name: str) -> int:
    """Bytes by a line of /proc/self/status (Linux, proc(5))."""
    found = re.search(rf"{name}:\s+(\d+) kB", Path("/proc/self/status").read_text("utf-8"))
    return int(found[1]) * 1024 if found else 0


def work(said: Connection, name: str, read: Reader, seed: int, first: int, last: int) -> None:
    """Try inputs until told to stop: say each one's beginning and end."""
    addresses = _in_use("VmSize") + MOST_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (addresses, addresses))
    signal.signal(signal.SIGPROF, _ring)
    warnings.simplefilter("error")
    # A glyph of no size gives numpy a nought to divide by: told, and no verdict hangs on it.
    warnings.simplefilter("default", RuntimeWarning)
    for number in range(first, last):
        Path("/proc/self/clear_refs").write_text("5", "utf-8")
        said.send(number)
        chance = random.Random(f"{seed} {name} {number}")
        text, start = "", time.process_time()
        signal.setitimer(signal.ITIMER_PROF, LONGEST_S)
        try:
            try:
                read(chance)
                kind = "accepted"
            except Refused:
                kind = "refused"
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
        except MemoryError:
            kind, text = "over 1 GB", traceback.format_exc(limit=-6)
        except Hang:
            kind, text = "over 10 s", traceback.format_exc(limit=-6)
        except Exception:
            kind, text = "crashed", traceback.format_exc(limit=-6)
        took, most = time.process_time() - start, _in_use("VmHWM")
        if kind in ("refused", "accepted") and most > MOST_BYTES:
            kind, text = "over 1 GB", f"{most / 1e6:.0f} MB in use\n"
        said.send((number, kind, took, most, text))


def _processor_s(pid: int) -> float:
    """Processor time of another process (proc(5): fields 14 and 15, in clock ticks)."""
    words = Path(f"/proc/{pid}/stat").read_text("utf-8").rpartition(")")[2].split()
    return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")


def tried(
    name: str, read: Reader, seconds: float, seed: int, first: int = 1, last: int = 2**31
) -> Figures:
    """What came of as many inputs as so much time by the clock allows."""
    figures, context = Figures(), multiprocessing.get_context("fork")
    start = time.monotonic()
    while time.monotonic() < start + seconds and first < last:
        mine, theirs = context.Pipe(duplex=False)
        worker = context.Process(target=work, args=(theirs, name, read, seed, first, last))
        worker.start()
        theirs.close()
        first = _watched(worker, mine, name, figures, start + seconds, first, last)
        worker.kill()
        worker.join()
        mine.close()
    figures.clock_s = time.monotonic() - start
    return figures


def _watched(
    worker: multiprocessing.process.BaseProcess,
    mine: Connection,
    name: str,
    figures: Figures,
    end: float,
    number: int,
    last: int,
) -> int:
    """Follow one worker to the end of its time, or its own; the number of the next input."""
    pid, begun, since, before = worker.pid or 0, False, time.monotonic(), 0.0
    while number < last and (begun or time.monotonic() < end):
        if not mine.poll(1):
            spent = _processor_s(pid) - before
            if begun and (spent > LONGEST_S + 3 or time.monotonic() - since > PATIENCE_S):
                _count(figures, name, number, "over 10 s", spent, 0, "it had to be killed\n")
                return number + 1
            continue
        try:
            message = mine.recv()
        except EOFError:
            worker.join()
            text = f"the worker died (exit status {worker.exitcode})\n"
            _count(figures, name, number, "crashed", 0.0, 0, text)
            return number + 1
        if isinstance(message, int):
            number, begun, since, before = message, True, time.monotonic(), _processor_s(pid)
        else:
            begun = False
            _count(figures, name, *message)
            number += 1
    return number


def _count(
    figures: Figures, name: str, number: int, kind: str, took: float, most: int, text: str
) -> None:
    figures.counts[kind] += 1
    figures.processor_s += took
    figures.longest = max(figures.longest, (took, number))
    figures.most = max(figures.most, (most, number))
    if text:
        print(f"{name}, input {number}: {kind}\n{text}", flush=True)


def write(rows: dict[str, tuple[str, ...]]) -> None:
    """Put the figures into the page, in place of those of the same readers."""
    before, _, rest = PAGE.read_text("utf-8").partition("<!-- figures -->\n")
    table, _, after = rest.partition("<!-- end of figures -->\n")
    kept = {}
    for line in table.splitlines()[2:]:
        cells = tuple(cell.strip() for cell in line.strip("|").split("|"))
        if len(cells) == len(COLUMNS) and cells[0] != "all":
            kept[cells[0]] = cells
    kept |= rows
    sums = [sum(int(row[place]) for row in kept.values()) for place in range(2, 10)]
    most = [f"{max(float(row[place]) for row in kept.values()):g}" for place in (10, 11)]
    total = ("all", "", *map(str, sums), *most)
    lines = [COLUMNS, ("---", *("---:",) * (len(COLUMNS) - 1)), *kept.values(), total]
    text = "".join(f"| {' | '.join(line)} |\n" for line in lines)
    page = f"{before}<!-- figures -->\n{text}<!-- end of figures -->\n{after}"
    PAGE.write_text(page, "utf-8")


def main() -> int:
    """Run the readers, print the table; 1 when anything ended as none may."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    words.add_argument("--seconds", type=float, default=60, help="by the clock, in all")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--reader", action="append", default=[], help="alone; repeatable")
    words.add_argument("--input", type=int, default=0, help="one input alone, by its number")
    words.add_argument("--write", action="store_true", help="put the figures into the docs")
    said = words.parse_args()
    first, last = (said.input, said.input + 1) if said.input else (1, 2**31)
    bad, rows = 0, {}
    with tempfile.TemporaryDirectory() as folder:
        found = readers(Path(folder))
        chosen = {name: read for name, read in found.items() if name in (said.reader or found)}
        for name, read in chosen.items():
            share = said.seconds / len(chosen)
            figures = tried(name, read, share, said.seed, first, last)
            bad += figures.bad
            rows[name] = figures.row(name, said.seed)
            print(" | ".join(f"{c}: {v}" for c, v in zip(COLUMNS, rows[name], strict=True)))
            print(f"    longest: input {figures.longest[1]}; most: input {figures.most[1]}")
            sys.stdout.flush()
            if said.write:
                write({name: rows[name]})
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
