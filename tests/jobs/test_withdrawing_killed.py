"""Killed at any step of taking a file away, it is where it was or taken away, never half of it."""

import hashlib
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from works_of_yesterday import Day, few_records

from labelkit.ground import door
from labelkit.jobs.prints import Print, note
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish

LEAFLET = Wish(rx=("104321",), only=frozenset({"leaflet"}))
NITRATE = "p-001,glyceryl trinitrate,takes,,Ines Calloway-Reyes,2026-11-23"

DEADLY = """
import os, pathlib, signal, sys
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
records, out, step, nth = sys.argv[1:]
real, left = getattr(pathlib.Path, step), int(nth)
def deadly(path, *words, **named):
    global left
    # The lock's file and the report's are no step of taking a file away.
    left -= "104321" in str(path)
    if left < 0:
        os.kill(os.getpid(), signal.SIGKILL)
    return real(path, *words, **named)
setattr(pathlib.Path, step, deadly)
make(records, Wish(rx=("104321",), only=frozenset({"leaflet"})), out)
"""
"""The call, killed before the step of that number: a name more, a move, a removal."""


@pytest.fixture(scope="module")
def yesterday(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records of a prescription that is refused today, and its leaflet of yesterday, printed."""
    folder = tmp_path_factory.mktemp("yesterday")
    few_records(folder / "records")
    assert make(folder / "records", LEAFLET, folder / "artwork").made
    pdf = folder / "artwork" / "leaflet-rx104321.pdf"
    digest = hashlib.sha256(pdf.read_bytes()).hexdigest()
    at, to = "2026-11-27T09:30:00+00:00", "ipp://bench.example/ipp/print"
    note(pdf, Print(at=at, to=to, sha256=digest, pages=2, job=7))
    Day(folder).add("medicines.csv", NITRATE)
    return folder


def digests(folder: Path) -> dict[str, str]:
    """Name and digest of the files of a folder that are the leaflet's."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.glob("leaflet-rx104321.*")
        if path.is_file()
    }


STEPS = [("hardlink_to", n) for n in range(7)] + [("replace", n) for n in range(2)]
STEPS += [("unlink", n) for n in range(7)]


@pytest.mark.parametrize(("step", "nth"), STEPS)
def test_killed_at_any_step(yesterday: Path, tmp_path: Path, step: str, nth: int) -> None:
    """SIGKILL before the nth name, move or removal. While the file stands in its place it stands
    there whole; once its PDF has gone, all of it is kept; the next call ends what was begun, with
    one folder for it, and nothing half-made anywhere."""
    day = Day(Path(shutil.copytree(yesterday, tmp_path / "day")))
    before = digests(day.out)
    assert len(before) == 7
    words = [sys.executable, "-c", DEADLY, str(day.records), str(day.out), step, str(nth)]
    done = subprocess.run(words, capture_output=True, timeout=120, check=False, env=os.environ)
    assert done.returncode == -signal.SIGKILL, done.stderr
    kept = day.out / "superseded" / "leaflet-rx104321.1"
    if "leaflet-rx104321.pdf" in (there := digests(day.out)):
        assert there == before
    else:
        assert digests(kept) == before
    day.make(LEAFLET)
    assert digests(day.out) == {}
    assert digests(kept) == before
    assert {path.name for path in (day.out / "superseded").iterdir()} == {kept.name}
    assert not list(day.out.rglob(f"{door.PART}*"))
