"""What a shell completes: commands, and the options of one."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from needed import need

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with a command that is called labelkit: completion goes by that name."""
    command = tmp_path / "labelkit"
    command.write_text(f"#!{sys.executable}\nfrom labelkit.cli import main\n\nmain()\n", "utf-8")
    command.chmod(0o755)
    return tmp_path


def completed(place: Path, line: str) -> set[str]:
    """What bash offers for the last word of a line, by the script that labelkit gives it."""
    need([] if shutil.which("bash") else ["bash"])
    script = (
        'source <(_LABELKIT_COMPLETE=source_bash labelkit) && read -ra COMP_WORDS <<<"$1" && '
        "COMP_CWORD=$((${#COMP_WORDS[@]} - 1)) && _labelkit_completion labelkit && "
        'printf "%s\\n" "${COMPREPLY[@]}"'
    )
    path = f"{place}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["bash", "-c", script, "bash", line], capture_output=True, text=True, check=True,
        timeout=60, env={**os.environ, "PATH": path, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    return set(done.stdout.split())


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("labelkit la", {"languages", "layouts"}),
        ("labelkit make --st", {"--start-at"}),
        ("labelkit check --", {"--help", "--in", "--json", "--manifest", "--scan"}),
    ],
)
def test_a_shell_offers_commands_and_options(place: Path, line: str, offered: set[str]) -> None:
    """Those that begin like the word, and no others."""
    assert completed(place, line) == offered
