"""What a call costs before it does anything, and from start to exit, beside two libraries' import.

Processor time differs from machine to machine and with what else runs, so each is told as a
ratio to a process that imports numpy and pydantic at the same time: the least of several.
"""

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "samples" / "pharmacy"
TURNS = 3
BESIDE = 5
"""Imports of the two libraries in a turn, before and after: together about as long as the papers
take, so that a busy machine slows both alike."""

MOST_HELP = 1.5
"""Help took 0.5 of the two libraries' import when this was written."""

MOST_PAPERS = 15.0
"""Sleeve, leaflet and lidding took 12.2 to 12.9 where much else ran. A dictionary of
pronunciations, which a grade of reading once opened, takes 5 and more, and is told by this."""

LIBRARIES = ["-c", "import numpy, pydantic"]


def cost(words: list[str], env: dict[str, str]) -> float:
    """Processor seconds of a command, user and system, its start and exit included."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], env=env, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (after.ru_utime - before.ru_utime) + (after.ru_stime - before.ru_stime)


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """An environment in which every module of the commands is compiled already."""
    folder = tmp_path_factory.mktemp("compiled")
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(folder)}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    cost(papers(folder / "first"), env)
    cost(LIBRARIES, env)
    return env


def papers(out: Path) -> list[str]:
    """The call that makes one patient's lidding, sleeve and leaflet into an empty folder."""
    return ["-m", "labelkit", "make", str(SAMPLE), "--rx", "104323", "--out", str(out)]


def ratio(words: list[str], env: dict[str, str]) -> float:
    """A command's cost by that of importing the two libraries, before and after it."""
    beside = [cost(LIBRARIES, env) for _ in range(BESIDE)]
    took = cost(words, env)
    beside += [cost(LIBRARIES, env) for _ in range(BESIDE)]
    return took / (sum(beside) / len(beside))


def test_help_is_told_at_once(compiled: dict[str, str]) -> None:
    """`labelkit --help` costs little more than starting Python."""
    assert min(ratio(["-m", "labelkit", "--help"], compiled) for _ in range(TURNS)) <= MOST_HELP


def test_papers_of_one_patient_hold_no_second_dictionary(
    compiled: dict[str, str], tmp_path: Path
) -> None:
    """One patient's sleeve, leaflet and lidding, from a cold start into an empty folder."""
    found = [ratio(papers(tmp_path / str(turn)), compiled) for turn in range(TURNS)]
    assert min(found) <= MOST_PAPERS
