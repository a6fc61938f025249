"""Files appear whole and checked, or not at all."""

import errno
import os
from pathlib import Path

import pytest

from labelkit.ground import door
from labelkit.jobs import publishing
from labelkit.jobs.publishing import MANIFEST, OutputRefused, opened, publish, recover

COMPANIONS = {MANIFEST: b"{}", ".check.json": b"{}", ".proof-1.png": b"png", ".txt": b"t"}


def names(folder: Path) -> set[str]:
    """What a person sees in the folder."""
    return {path.name for path in folder.iterdir() if not path.name.startswith(".labelkit")}


def test_a_published_pdf_has_all_its_companions(tmp_path: Path) -> None:
    """The PDF stands beside its manifest, check, proof and text, private to the owner."""
    path = publish(tmp_path, "lidding-A1", b"%PDF", COMPANIONS)
    assert names(tmp_path) == {"lidding-A1.pdf", *(f"lidding-A1{s}" for s in COMPANIONS)}
    assert path.read_bytes() == b"%PDF"
    assert {p.stat().st_mode & 0o777 for p in tmp_path.iterdir()} == {0o600}


def dying(monkeypatch: pytest.MonkeyPatch, moved: int, how: type[BaseException]) -> None:
    """Let the move into place after `moved` others fail as `how` says."""
    real, count = Path.replace, 0

    def replace(part: Path, target: Path) -> Path:
        nonlocal count
        if count == moved:
            raise how
        count += 1
        return real(part, target)

    monkeypatch.setattr(Path, "replace", replace)


def begun(folder: Path) -> None:
    """An older file of the same name, another one, and one that isn't labelkit's."""
    publish(folder, "lidding-A1", b"%PDF old", COMPANIONS)
    publish(folder, "lidding-A2", b"%PDF other", COMPANIONS)
    (folder / "notes.txt").write_text("the pharmacist's own")


LEFT = {"lidding-A2.pdf", *(f"lidding-A2{s}" for s in COMPANIONS), "notes.txt"}


@pytest.mark.parametrize("moved", range(5))
def test_a_crash_at_any_step_leaves_nothing_after_the_next_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moved: int
) -> None:
    """However many files were in place, the next start removes parts and lone companions."""
    begun(tmp_path)
    dying(monkeypatch, moved, SystemError)
    # Who is killed cleans nothing.
    monkeypatch.setattr(publishing, "_clean", lambda *_: None)
    with pytest.raises(SystemError):
        publish(tmp_path, "lidding-A1", b"%PDF new", COMPANIONS)
    assert names(tmp_path) != LEFT
    recover(tmp_path)
    assert names(tmp_path) == LEFT


@pytest.mark.parametrize("moved", range(5))
@pytest.mark.parametrize("how", [KeyboardInterrupt, MemoryError])
def test_whatever_stops_it_nothing_half_made_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moved: int, how: type[BaseException]
) -> None:
    """A stop by the person and a failure that nobody thought of clean up at once."""
    begun(tmp_path)
    dying(monkeypatch, moved, how)
    with pytest.raises(how):
        publish(tmp_path, "lidding-A1", b"%PDF new", COMPANIONS)
    assert names(tmp_path) == LEFT


def test_a_stop_while_the_parts_are_written_leaves_the_older_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before anything was moved, the older file and its companions stay as they were."""
    begun(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    real = door.write_part

    def stopped(folder: Path, data: bytes, mode: int = door.PRIVATE) -> Path:
        if data == b"%PDF new":
            raise KeyboardInterrupt
        return real(folder, data, mode)

    monkeypatch.setattr(door, "write_part", stopped)
    with pytest.raises(KeyboardInterrupt):
        publish(tmp_path, "lidding-A1", b"%PDF new", COMPANIONS)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_older_proofs_go_with_their_pdf(tmp_path: Path) -> None:
    """A file of fewer pages leaves no picture of the longer one it takes the place of."""
    many = COMPANIONS | {f".proof-{n}.png": b"png" for n in range(1, 13)}
    publish(tmp_path, "lidding-A1", b"%PDF old", many)
    publish(tmp_path, "lidding-A1", b"%PDF new", COMPANIONS)
    assert names(tmp_path) == {"lidding-A1.pdf", *(f"lidding-A1{s}" for s in COMPANIONS)}


def test_a_full_disk_is_said_and_the_older_file_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ENOSPC while the new PDF is written: a refusal, and the older file is untouched."""
    publish(tmp_path, "lidding-A1", b"%PDF old", COMPANIONS)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    real = door.write_part

    def full(folder: Path, data: bytes, mode: int = door.PRIVATE) -> Path:
        if data == b"%PDF new":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(folder, data, mode)

    monkeypatch.setattr(door, "write_part", full)
    with pytest.raises(OutputRefused, match="No space left on device"):
        publish(tmp_path, "lidding-A1", b"%PDF new", COMPANIONS)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_what_a_killed_call_left_goes_when_the_folder_is_opened(tmp_path: Path) -> None:
    """Parts, and companions without their PDF, before anything new is made; other files stay."""
    for name in (f"{door.PART}half", "sleeve-1.check.json", f"sleeve-1{MANIFEST}", "of-mine.txt"):
        (tmp_path / name).write_text("left", "utf-8")
    with opened(tmp_path):
        assert {path.name for path in tmp_path.iterdir()} == {publishing.LOCK, "of-mine.txt"}


def test_two_at_once_are_refused(tmp_path: Path) -> None:
    """The second labelkit in one output folder is told to wait."""
    with opened(tmp_path), pytest.raises(OutputRefused, match="another labelkit"), opened(tmp_path):
        pass


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    """A file where the folder should be is named, without a traceback's words."""
    (tmp_path / "out").write_text("")
    with pytest.raises(OutputRefused, match="can't be written"), opened(tmp_path / "out"):
        pass
