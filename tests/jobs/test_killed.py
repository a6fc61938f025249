"""Killed at any moment and started again, the folder holds whole, checked files only."""

import hashlib
import json
import subprocess
import sys
import time
from pathlib import Path

import pytest
from command_line import SAMPLE, run

from labelkit.ground import door


def whole(folder: Path) -> None:
    """Every PDF matches the digest its check was made on; nothing is half-made."""
    names = {path.name for path in folder.iterdir()} - {"report.html"}
    assert not {name for name in names if name.startswith(door.PART)}
    stems = {name.split(".")[0] for name in names if not name.startswith(".")}
    for stem in stems:
        pdf = (folder / f"{stem}.pdf").read_bytes()
        checked = json.loads((folder / f"{stem}.check.json").read_text())
        assert checked["sha256"] == hashlib.sha256(pdf).hexdigest()
        assert (folder / f"{stem}.manifest.json").exists()


@pytest.mark.parametrize("entries", [1, 4, 7, 23])
def test_killed_and_started_again(tmp_path: Path, entries: int) -> None:
    """SIGKILL when so many files are there, the lock among them, amid one file or between two; the
    next call leaves whole files, and all of them."""
    out = tmp_path / "out"
    words = ["make", str(SAMPLE), "--all", "--only", "sleeve", "--out", str(out)]
    process = subprocess.Popen([sys.executable, "-m", "labelkit", *words])
    while process.poll() is None and len(list(out.glob("*"))) < entries:
        time.sleep(0.002)
    assert process.poll() is None
    process.kill()
    process.wait()
    again = run(*words)
    assert again.returncode == 0, again.stderr
    whole(tmp_path / "out")
    assert len(list((tmp_path / "out").glob("sleeve-*.pdf"))) == 12
