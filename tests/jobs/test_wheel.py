"""An installed wheel carries layouts, locales and samples, and makes the demonstration."""

import os
import subprocess
import sys
import venv
from pathlib import Path

from command_line import ROOT


def test_the_wheel_makes_the_demo_in_a_clean_environment(tmp_path: Path) -> None:
    """Built, installed into an empty environment with the locked packages, run elsewhere."""
    build = ["-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(ROOT)]
    subprocess.run([sys.executable, *build], check=True, capture_output=True, timeout=300)
    (wheel,) = tmp_path.glob("labelkit-*.whl")
    venv.create(tmp_path / "env", with_pip=True)
    python = tmp_path / "env" / "bin" / "python"
    locked = ["-q", "-c", str(ROOT / "requirements" / "runtime.txt")]
    subprocess.run(
        [python, "-m", "pip", "install", *locked, str(wheel)],
        check=True,
        capture_output=True,
        timeout=900,
    )
    env = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    done = subprocess.run(
        [tmp_path / "env" / "bin" / "labelkit", "demo", "--out", "shown"],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    assert len(list((tmp_path / "shown" / "artwork").glob("*.pdf"))) > 30
