"""A command amid its work, seen from outside: its processes, and whether they are gone."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

from labelkit.jobs.wishes import Wish

NUMBERS = tuple(str(200_001 + n) for n in range(32))
"""Prescriptions of the derived pharmacy."""

SLEEVES = Wish(rx=NUMBERS, only=frozenset({"sleeve"}))

STOP_S = 5.0
"""Seconds after which nothing may be left running."""


def words(
    records: Path,
    out: Path,
    workers: int,
    numbers: tuple[str, ...] = NUMBERS,
    command: tuple[str, ...] = ("-m", "labelkit"),
) -> list[str]:
    """The command line for these prescriptions' sleeves."""
    said = [sys.executable, *command, "make", str(records), "--only", "sleeve", "--json"]
    said += [word for number in numbers for word in ("--rx", number)]
    return [*said, "--workers", str(workers), "--out", str(out)]


def amid(said: list[str], out: Path) -> subprocess.Popen[str]:
    """The command amid its work, in a session of its own as a terminal gives it."""
    process = subprocess.Popen(
        said, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    while len(list(out.glob("*.pdf"))) < 3 and process.poll() is None:
        time.sleep(0.01)
    assert process.poll() is None
    return process


def nobody_left(group: int, until: float) -> bool:
    """Whether every process of a session has ended by then (`time.monotonic`)."""
    while _running(group):
        if time.monotonic() > until:
            return False
        time.sleep(0.02)
    return True


def _running(group: int) -> list[int]:
    """The session's processes that can still do something: a dead one may wait for its parent."""
    return [pid for pid, (state, session) in _states().items() if session == group and state != "Z"]


def workers_of(process: subprocess.Popen[str]) -> list[int]:
    """The command's workers: processes of its session that were spawned to make files."""
    found = []
    for pid, (_, session) in _states().items():
        asked = Path(f"/proc/{pid}/cmdline")
        if session == process.pid != pid and b"spawn_main" in asked.read_bytes():
            found.append(pid)
    return sorted(found)


def _states() -> dict[int, tuple[str, int]]:
    """State and session of each process (Linux, proc(5): fields 3 and 6 of ``stat``)."""
    found = {}
    for entry in Path("/proc").iterdir():
        if not entry.name.isdigit():
            continue
        try:
            stated = (entry / "stat").read_text()
        except OSError:
            continue
        fields = re.sub(r".*\) ", "", stated, flags=re.DOTALL).split()
        found[int(entry.name)] = fields[0], int(fields[3])
    return found


def kill(pid: int) -> None:
    """End a process as the system does when memory runs out."""
    os.kill(pid, signal.SIGKILL)
