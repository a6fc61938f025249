"""One demonstration for all workers: made once per test session, read by many tests."""

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from command_line import run

from labelkit.ground import door
from labelkit.jobs.results import Outcome


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Iterator[Path]:
    """Folder with ``records`` and ``artwork`` of the whole sample, made by the command line."""
    base = tmp_path_factory.getbasetemp()
    shared = base if worker_id == "master" else base.parent
    folder, lock = shared / "demo", shared / "demo.lock"
    while True:
        try:
            with door.locked(lock):
                if not (shared / "demo.json").exists():
                    done = run("demo", "--out", str(folder), "--json")
                    (shared / "demo.exit").write_text(f"{done.returncode}\n{done.stderr}")
                    (shared / "demo.json").write_text(done.stdout)
            break
        except BlockingIOError:
            time.sleep(0.2)
    yield folder


@pytest.fixture(scope="session")
def outcome(demo: Path) -> Outcome:
    """What the demonstration said it did."""
    stated = json.loads((demo.parent / "demo.json").read_text())
    return Outcome.model_validate(stated)
