"""How hard an English leaflet reads is told with what was made, and of nothing else."""

import json
from pathlib import Path

from typer.testing import CliRunner

from labelkit.cli.app import app

SAMPLE = Path(__file__).parents[2] / "samples" / "languages"
MOST_GRADE = 6
"""AAFP: health leaflets at or below a 5th- to 6th-grade level (from memory)."""


def test_grades_of_the_english_leaflet_alone(tmp_path: Path) -> None:
    """The English leaflet has a grade, at most 6; its sleeve and the French one have none."""
    words = ["make", str(SAMPLE), "--rx", "205101", "--rx", "205103", "--out", str(tmp_path)]
    found = CliRunner().invoke(app, [*words, "--json"], catch_exceptions=False)
    made = {
        (m["artwork"], m["language"]): m["reading_grade"] for m in json.loads(found.stdout)["made"]
    }
    grade = made.pop(("leaflet", "en"))
    assert 0 < grade["coleman_liau"] <= MOST_GRADE
    assert set(made) == {("sleeve", "en"), ("sleeve", "fr"), ("leaflet", "fr")}
    assert not any(made.values())
    told = CliRunner().invoke(app, words, catch_exceptions=False).stdout
    assert f"at grade {grade['coleman_liau']:.1f} (Coleman-Liau)" in " ".join(told.split())
    only = CliRunner().invoke(app, [*words, "--only", "sleeve"], catch_exceptions=False).stdout
    assert "Coleman-Liau" not in only
