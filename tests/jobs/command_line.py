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


def sixty_prescriptions(folder: Path) -> Path:
    """Records in a new folder: sixty prescriptions over eight lots, derived from the sample."""
    script = ROOT / "benchmarks" / "pharmacies.py"
    subprocess.run([sys.executable, str(script), str(folder), "60", "8"], check=True)
    return folder
