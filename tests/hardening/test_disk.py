"""A full disk, a folder that may not be written, and two at once: nothing is left half-made."""

import errno
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import pytest
from needed import need

from labelkit.ground import door
from labelkit.jobs.publishing import LOCK, OutputRefused
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "samples" / "pharmacy"
SLEEVE = Wish(rx=("104321",), only=frozenset({"sleeve"}))
WORDS = [sys.executable, "-m", "labelkit", "make"]


def whole(folder: Path) -> int:
    """How many PDFs there are; each with its companions, as checked, and nothing else."""
    names = {path.name for path in folder.iterdir() if path.is_file()} - {LOCK, "report.html"}
    stems = {name.partition(".")[0] for name in names}
    for stem in stems:
        pdf = folder / f"{stem}.pdf"
        checked = json.loads((folder / f"{stem}.check.json").read_text("utf-8"))
        assert checked["sha256"] == sha256(pdf.read_bytes()).hexdigest()
        assert f"{stem}.manifest.json" in names
        assert f"{stem}.proof-1.png" in names
    assert not any(name.startswith(door.PART) for name in names)
    return len(stems)


@pytest.fixture
def made(tmp_path: Path) -> Path:
    """A sleeve made before, from the same record in other words."""
    records = Path(shutil.copytree(SAMPLE, tmp_path / "before"))
    table = records / "patients.csv"
    table.write_text(table.read_text("utf-8").replace("Tomás", "Tomas"), "utf-8")
    assert make(records, SLEEVE, tmp_path / "out").made
    return tmp_path / "out"


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("nth", [1, 2, 3, 4, 5])
def test_a_disk_that_is_full_at_any_write(
    made: Path, monkeypatch: pytest.MonkeyPatch, step: str, nth: int
) -> None:
    """At each write and each move of a call that makes a file anew: the folder holds the older file
    whole, the newer one whole, or neither; and a later call makes it."""
    owner = os if step == "fsync" else Path
    real, count = getattr(owner, step), 0

    def full(*words: object) -> object:
        nonlocal count
        count += 1
        if count >= nth:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(*words)

    with monkeypatch.context() as patched:
        patched.setattr(owner, step, full)
        with pytest.raises(OutputRefused, match="No space left on device") as refused:
            make(SAMPLE, SLEEVE, made)
    assert all("make room" in fault.mend for fault in refused.value.faults)
    assert whole(made) <= 1
    again = make(SAMPLE, SLEEVE, made)
    assert len(again.made) == 1
    assert whole(made) == 1


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 200 kB: two sleeves with all their companions don't fit. Where nobody may mount
    one, the fake above is all that is tried."""
    place = tmp_path / "disk"
    place.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", str(place)]
    if shutil.which("mount") is None or subprocess.run(words, capture_output=True).returncode:
        pytest.skip("nobody may mount a small disk here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_small_disk(small_disk: Path) -> None:
    """A real full disk, from the command line: a sentence, status 1, whole files alone."""
    words = [*WORDS, str(SAMPLE), "--all", "--only", "sleeve", "--out", str(small_disk / "out")]
    done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "No space left on device" in done.stderr
    assert "To mend: make room" in done.stderr
    assert whole(small_disk / "out") >= 1


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """The sample's records, in a folder of their own."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def _bound_by_modes(*words: str) -> subprocess.CompletedProcess[str]:
    """The command line as a user whom the modes of files bind. Root is one without the two
    capabilities that override them (Linux, capabilities(7)); any other user of the same
    interpreter, checkout and records would need them to lie where all may look."""
    become = []
    if os.getuid() == 0:
        need([] if shutil.which("setpriv") else ["setpriv (util-linux)"])
        dropped = "-dac_override,-dac_read_search"
        become = ["setpriv", f"--inh-caps={dropped}", f"--bounding-set={dropped}"]
    return subprocess.run(
        [*become, sys.executable, "-B", "-m", "labelkit", *words],
        capture_output=True, text=True, check=False, timeout=120, cwd="/",
        env={"PYTHONPATH": str(ROOT), "HOME": "/nonexistent", "PATH": os.environ["PATH"]},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("mode", "status", "says"),
    [(0o555, 1, "out: can't be written (Permission denied)"), (0o000, 2, "is not readable")],
)
def test_a_folder_that_may_not_be_written(records: Path, mode: int, status: int, says: str) -> None:
    """A sentence that names the folder, and nothing is changed."""
    out = records.parent / "out"
    out.mkdir()
    out.chmod(mode)
    words = ("make", str(records), "--rx", "104321", "--out", str(out))
    done = _bound_by_modes(*words)
    out.chmod(0o755)
    assert done.returncode == status, done.stderr
    assert "Traceback" not in done.stderr
    assert str(out) in done.stderr
    assert says in done.stderr
    assert list(out.iterdir()) == []


def test_a_finished_folder_that_may_not_be_written_any_more(records: Path) -> None:
    """Half-made files of an earlier call that can't be removed are told, not fallen over."""
    out = records.parent / "out"
    out.mkdir()
    (out / ".part-half").write_text("half", "utf-8")
    (out / LOCK).touch()
    out.chmod(0o555)
    done = _bound_by_modes("make", str(records), "--rx", "104321", "--out", str(out))
    out.chmod(0o755)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "can't be written (Permission denied)" in done.stderr


def test_records_that_may_not_be_read(records: Path) -> None:
    """A record that its reader may not open: named with its mending."""
    (records / "lots.csv").chmod(0o000)
    done = _bound_by_modes("explain", "104321", "--in", str(records))
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "lots.csv: can't be read: Permission denied" in done.stderr


def _begun(out: Path) -> subprocess.Popen[str]:
    """A call for all sleeves, when it has made one."""
    words = [*WORDS, str(SAMPLE), "--all", "--only", "sleeve", "--out", str(out)]
    process = subprocess.Popen(
        [*words, "--workers", "1"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    for _ in range(600):
        if list(out.glob("*.pdf")):
            return process
        time.sleep(0.05)
    process.kill()
    raise AssertionError("nothing was made in 30 s")


def test_two_calls_at_once(tmp_path: Path) -> None:
    """The second one is refused in a sentence, and the first ends as if alone."""
    out = tmp_path / "out"
    first = _begun(out)
    words = [*WORDS, str(SAMPLE), "--rx", "104321", "--out", str(out)]
    first.send_signal(signal.SIGSTOP)  # however slowly the second one starts
    second = subprocess.run(words, capture_output=True, text=True, check=False, timeout=60)
    first.send_signal(signal.SIGCONT)
    first.communicate(timeout=240)
    assert second.returncode == 1
    assert "another labelkit is writing into this folder" in second.stderr
    assert "To mend: wait until it has ended" in second.stderr
    assert first.returncode == 0
    assert whole(out) == 12


def test_a_lock_that_outlived_its_owner(tmp_path: Path) -> None:
    """After SIGKILL the lock's file is still there, and holds nobody up."""
    out = tmp_path / "out"
    first = _begun(out)
    first.send_signal(signal.SIGKILL)
    first.communicate()
    assert (out / LOCK).exists()
    words = [*WORDS, str(SAMPLE), "--rx", "104321", "--only", "sleeve", "--out", str(out)]
    again = subprocess.run(words, capture_output=True, text=True, check=False, timeout=60)
    assert again.returncode == 0, again.stderr
    assert whole(out) >= 1
