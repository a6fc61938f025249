"""What starts the project says the same everywhere: versions of Python, commands, locked sets."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
VERSIONS = [
    found[1]
    for line in PROJECT["classifiers"]
    if (found := re.fullmatch(r"Programming Language :: Python :: (3\.\d+)", line))
]


def pins(name: str) -> set[str]:
    """``name==version`` of all that a locked set holds, without the markers of one platform."""
    lines = (ROOT / "requirements" / name).read_text("utf-8").splitlines()
    return {line.partition(";")[0].strip() for line in lines if line}


def locked(name: str) -> set[str]:
    """Names of a locked set, as PEP 503 normalises them."""
    return {re.sub(r"[-_.]+", "-", pin.partition("==")[0]).lower() for pin in pins(name)}


def test_readme_and_classifiers_name_the_same_pythons() -> None:
    """The README names the first and last of the classifiers; the first is the least required."""
    said = re.search(r"Python (3\.\d+) to (3\.\d+)", (ROOT / "README.md").read_text("utf-8"))
    assert said is not None
    assert [*said.groups()] == [VERSIONS[0], VERSIONS[-1]]
    assert PROJECT["requires-python"] == f">={VERSIONS[0]}"


def test_what_makes_artwork_is_part_of_what_is_tested() -> None:
    """Tests run with the very versions that a user gets."""
    assert pins("runtime.txt") <= pins("tests.txt")


def test_what_the_tests_use_is_not_installed_for_artwork() -> None:
    """Tools of contributors stay out of a pharmacy's environment."""
    assert not locked("runtime.txt") & {"pytest", "mypy", "ruff", "hypothesis", "weasyprint"}


@pytest.mark.skipif(sys.platform == "win32", reason="the Makefile wants a POSIX shell")
def test_the_interpreter_that_is_found_is_a_supported_one() -> None:
    """`tools/python` prints one interpreter, of a version among the classifiers."""
    found = subprocess.run(
        [ROOT / "tools" / "python"], capture_output=True, text=True, check=True
    ).stdout.strip()
    shown = subprocess.run([found, "--version"], capture_output=True, text=True, check=True).stdout
    assert re.fullmatch(r"Python (3\.\d+)\.\S+", shown.strip())[1] in VERSIONS  # type: ignore[index]
