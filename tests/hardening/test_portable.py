"""Without what only POSIX has, labelkit makes and checks the same files.

A stand-in for systems that aren't tried: Python's own modules for them, and their file locks, are
not what runs here.
"""

import ast
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from labelkit.jobs.publishing import LOCK

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SAMPLE = ROOT / "samples" / "pharmacy"
POORER = HERE / "poorer"
ABSENT = ("fcntl", "resource", "termios", "pwd", "grp")
"""Modules that Python's documentation calls Unix's alone, as far as labelkit might want them."""


def environment(*before: Path) -> Mapping[str, str]:
    """That of this process, with folders that Python looks through first."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, (*before, ROOT)))}


def run(*words: str, poorer: bool = True) -> str:
    """What a command prints on a poorer system, or on this one. It succeeds."""
    done = subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, check=False, timeout=240,
        env=environment(POORER) if poorer else environment(),
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def made(out: Path, workers: int, poorer: bool) -> dict[str, bytes]:
    """One lot's lidding and one patient's papers, by name; all but the report, which has a day."""
    words = ["-m", "labelkit", "make", str(SAMPLE), "--out", str(out), "--workers", str(workers)]
    run(*words, "--lot", "TV2611", "--rx", "104323", poorer=poorer)
    left_out = {LOCK, "report.html"}
    return {path.name: path.read_bytes() for path in out.iterdir() if path.name not in left_out}


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What this system makes."""
    return made(tmp_path_factory.mktemp("usual"), 1, poorer=False)


def test_the_stand_in_is_poorer() -> None:
    """Modules can't be imported, functions and signals aren't there: no test below is idle."""
    tried = (
        "import os, signal, sys; from importlib.util import find_spec\n"
        f"for name in {ABSENT}:\n"
        "    try: __import__(name)\n"
        "    except ImportError: print(name)\n"
        "print(*(n for n in ('fork', 'getuid', 'O_NONBLOCK') if not hasattr(os, n)))\n"
        "print(*(n for n in ('SIGHUP', 'SIGXCPU', 'pthread_sigmask') if not hasattr(signal, n)))\n"
    )
    absent = "fork getuid O_NONBLOCK SIGHUP SIGXCPU pthread_sigmask"
    assert run("-c", tried).split() == [*ABSENT, *absent.split()]
    assert run("-c", tried, poorer=False).split() == []


def test_no_module_of_posix_is_imported_anywhere() -> None:
    """Not by name, in no module of the package, also where no test below comes by."""
    found = []
    for path in sorted((ROOT / "labelkit").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            found += [(path.name, name) for name in names if name in ABSENT]
    assert found == []


@pytest.mark.parametrize("workers", [1, 2])
def test_the_same_files_are_made(tmp_path: Path, usual: dict[str, bytes], workers: int) -> None:
    """Byte for byte: lidding of a lot; lidding, sleeve and leaflet of a patient."""
    files = made(tmp_path / "out", workers, poorer=True)
    assert {name for name in files if name.endswith(".pdf")} == {
        "lidding-TV2611.pdf", "lidding-rx104323.pdf", "sleeve-rx104323.pdf", "leaflet-rx104323.pdf",
    }  # fmt: skip
    assert files == usual


def test_a_file_is_checked_apart(tmp_path: Path, usual: dict[str, bytes]) -> None:
    """The check reads it back whole, and finds the code of another file."""
    for name, data in usual.items():
        (tmp_path / name).write_bytes(data)
    words = ("-m", "labelkit", "check", "--json")
    report = json.loads(run(*words, str(tmp_path / "sleeve-rx104323.pdf")))
    assert report["ok"]
    assert report["counts"]["codes"] > 0
    other = subprocess.run(
        [sys.executable, *words, str(tmp_path / "sleeve-rx104323.pdf"),
         "--manifest", str(tmp_path / "lidding-rx104323.manifest.json")],
        capture_output=True, text=True, check=False, timeout=120, env=environment(POORER),
    )  # fmt: skip
    assert other.returncode == 1, other.stderr
    assert json.loads(other.stdout)["findings"]


def test_work_without_end_is_ended_by_the_clock() -> None:
    """Where no processor time can be bounded, an endless loop isn't left running."""
    tried = (
        f"import sys; sys.path.append({str(HERE)!r})\n"
        "import works; from labelkit.ground import apart\n"
        "apart.START_S, apart.PATIENCE = 2, 1\n"
        "try: apart.apart(works.spin, 1, 1 << 30)\n"
        "except apart.TookTooLong: print('ended')\n"
    )
    assert run("-c", tried) == "ended\n"


def test_two_at_once_and_a_lock_that_outlived_its_owner(tmp_path: Path) -> None:
    """A lock that is a file naming its owner: another is refused while the owner lives, and takes
    it over when it was killed."""
    hold = (
        "import os, sys; from pathlib import Path; from labelkit.ground import door\n"
        "with door.locked(Path(sys.argv[1])):\n"
        "    print('held', flush=True)\n"
        "    if sys.argv[2:]: sys.stdin.read(); os._exit(9)\n"
    )
    words = [sys.executable, "-c", hold, str(tmp_path / LOCK)]
    owner = subprocess.Popen(
        [*words, "until told"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, env=environment(POORER),
    )  # fmt: skip
    assert owner.stdout is not None
    assert owner.stdout.readline() == b"held\n"
    tried = {"capture_output": True, "check": False, "timeout": 60, "env": environment(POORER)}
    refused = subprocess.run(words, **tried)  # type: ignore[call-overload]
    assert b"BlockingIOError" in refused.stderr
    owner.communicate(b"")
    assert owner.returncode == 9
    assert (tmp_path / LOCK).exists()
    assert subprocess.run(words, **tried).stdout == b"held\n"  # type: ignore[call-overload]
