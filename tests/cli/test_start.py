"""What a call costs before it does anything, and from start to exit, beside two libraries' import.

Processor time differs from machine to machine and with what else runs, so each is told as a
ratio to a process that imports numpy and pydantic, of the same minutes: the least of several.
"""

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "samples" / "pharmacy"
TURNS = 4

MOST_HELP = 1.5
"""Help took 0.5 of the two libraries' import when this was written."""

MOST_PAPERS = 13.0
"""Sleeve, leaflet and lidding took 9 to 11. A dictionary of pronunciations, which a grade of
reading once opened, takes 5 more and is told by this."""


def cost(words: list[str], env: dict[str, str]) -> float:
    """Processor seconds of a command, user and system, its start and exit included."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], env=env, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (after.ru_utime - before.ru_utime) + (after.ru_stime - before.ru_stime)


@pytest.fixture(scope="module")
def costs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, float]:
    """The least cost of each command over several turns; the first, which compiles, isn't one."""
    folder = tmp_path_factory.mktemp("start")
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(folder / "compiled")}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    least: dict[str, float] = {}
    for turn in range(TURNS + 1):
        out = str(folder / f"out-{turn}")
        for name, words in {
            "libraries": ["-c", "import numpy, pydantic"],
            "help": ["-m", "labelkit", "--help"],
            "papers": ["-m", "labelkit", "make", str(SAMPLE), "--rx", "104323", "--out", out],
        }.items():
            took = cost(words, env)
            if turn:
                least[name] = min(took, least.get(name, took))
    return least


def test_help_is_told_at_once(costs: dict[str, float]) -> None:
    """`labelkit --help` costs little more than starting Python."""
    assert costs["help"] / costs["libraries"] <= MOST_HELP


def test_papers_of_one_patient_hold_no_second_dictionary(costs: dict[str, float]) -> None:
    """One patient's sleeve, leaflet and lidding, from a cold start into an empty folder."""
    assert costs["papers"] / costs["libraries"] <= MOST_PAPERS
