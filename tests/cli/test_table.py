"""The table of commands and the commands' own words say the same, and help imports none of them."""

import subprocess
import sys
from importlib import import_module

import pytest

from labelkit.cli.app import HERE, TABLE


@pytest.mark.parametrize("name", TABLE)
def test_the_summary_is_the_first_sentence_of_the_command(name: str) -> None:
    """The table's sentence is the one with which the command's own help begins."""
    where, summary = TABLE[name]
    module, function = where.split(":")
    words = getattr(import_module(f"{HERE}.{module}"), function).__doc__
    assert words.split("\n")[0].strip() == summary


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["nonsense"]])
def test_nothing_of_the_work_is_imported_for_help(words: list[str]) -> None:
    """Help, the version and a mistyped command load none of the floors beneath the command line."""
    program = (
        "import sys, labelkit.cli\n"
        f"sys.argv = ['labelkit', *{words!r}]\n"
        "try:\n    labelkit.cli.main()\n"
        "finally:\n    print('LOADED', sorted(m for m in sys.modules if m.startswith('labelkit')))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert done.stdout.splitlines()[-1] == "LOADED ['labelkit', 'labelkit.cli', 'labelkit.cli.app']"
