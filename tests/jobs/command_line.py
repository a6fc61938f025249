"""The command line as tests call it."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "samples" / "pharmacy"


def run(*words: str, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """The command line as a person runs it."""
    return subprocess.run(
        [sys.executable, "-m", "labelkit", *words],
        capture_output=True,
        text=True,
        env=env,
        check=False,
        timeout=300,
    )
