"""The same workspace gives the same bytes, whatever the zone, the hash seed or the day."""

import json
import os
from pathlib import Path

from command_line import run

from labelkit.jobs.results import Outcome


def test_time_zone_and_hash_seed_change_nothing(
    demo: Path, outcome: Outcome, tmp_path: Path
) -> None:
    """Made again half the world away, every PDF has the same digest."""
    env = os.environ | {"TZ": "Pacific/Kiritimati", "PYTHONHASHSEED": "4711", "LC_ALL": "C"}
    words = ("make", str(demo / "records"), "--all", "--out", str(tmp_path / "again"), "--json")
    again = run(*words, env=env)
    assert again.returncode == 0, again.stderr
    made = Outcome.model_validate(json.loads(again.stdout)).made
    assert [(m.file, m.sha256) for m in made] == [(m.file, m.sha256) for m in outcome.made]
