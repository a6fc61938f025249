"""The Dockerfile's steps: what they copy is there and is enough, and who runs the command.

They are taken, in a bare Debian, by ``tools/docker-steps.py``, which takes minutes, root and a
network; here is what is known without them.
"""

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def steps() -> list[tuple[str, str]]:
    """Instruction and words of each step, as the tool reads them."""
    words = [sys.executable, str(ROOT / "tools" / "docker-steps.py"), "--show"]
    shown = subprocess.run(words, capture_output=True, text=True, check=True).stdout
    return [(word, rest) for _, word, rest in json.loads(shown)]


def copied(steps: list[tuple[str, str]]) -> set[str]:
    """What the steps copy into the image, by its name at the top of the project."""
    return {name for word, rest in steps if word == "COPY" for name in rest.split()[:-1]}


def test_what_is_copied_is_there_and_let_through(steps: list[tuple[str, str]]) -> None:
    """A runtime sees of the project only what ``.dockerignore`` excepts, and that is what the steps
    copy."""
    lines = (ROOT / ".dockerignore").read_text("utf-8").splitlines()
    assert lines[0] == "*"
    assert {line[1:] for line in lines if line.startswith("!")} == copied(steps)
    assert all((ROOT / name).exists() for name in copied(steps))


def test_the_package_can_be_built_from_what_is_copied(steps: list[tuple[str, str]]) -> None:
    """All that pyproject.toml names as part of the wheel or of its description."""
    stated = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    wheel = stated["tool"]["hatch"]["build"]["targets"]["wheel"]
    named = {"pyproject.toml", stated["project"]["readme"], *stated["project"]["license-files"]}
    assert named | {*wheel["packages"], *wheel["force-include"]} <= copied(steps)


def test_the_command_is_no_roots(steps: list[tuple[str, str]]) -> None:
    """The last user is one of the image's own, and the command is labelkit."""
    said = dict(steps)
    assert said["USER"] == "labelkit"
    assert "useradd --create-home labelkit" in said["RUN"]
    assert json.loads(said["ENTRYPOINT"]) == ["labelkit"]
    # What is installed after that would be the user's to change.
    words = [word for word, _ in steps]
    assert "RUN" not in words[words.index("USER") :]


def test_the_tool_knows_every_instruction(steps: list[tuple[str, str]]) -> None:
    """A new instruction in the Dockerfile is taught to the tool, or its steps aren't tried."""
    known = {"FROM", "RUN", "COPY", "ENV", "USER", "WORKDIR", "ENTRYPOINT", "CMD"}
    assert {word for word, _ in steps} <= known
