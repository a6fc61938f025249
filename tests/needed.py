"""Tools that tests need beside the package's own."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest


def need(missing: list[str]) -> None:
    """Skip where tools are missing on a laptop; under CI they must be there."""
    if missing and os.environ.get("CI") == "true":
        pytest.fail(f"missing under CI: {', '.join(missing)}; tools/apt-packages installs them")
    if missing:
        said = f"not installed here: {', '.join(missing)} (tools/apt-packages)"
        pytest.skip(said, allow_module_level=True)


def told_by(program: str, *words: str | Path) -> bytes:
    """What a program that isn't Python's writes on standard output, where it is installed."""
    need([] if shutil.which(program) else [program])
    return subprocess.run([program, *words], check=True, capture_output=True, timeout=60).stdout
