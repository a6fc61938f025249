"""The samples' papers say what their records come to, by the oracle's reckoning."""

import shutil
from pathlib import Path

import pytest
from needed import need
from oracle import judge

import labelkit

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.mark.parametrize(("sample", "papers"), [("pharmacy", 35), ("languages", 37)])
def test_every_figure_of_a_sample_is_right(sample: str, papers: int, tmp_path: Path) -> None:
    """Each figure of all papers, in thirteen languages, is the oracle's own, and none is over."""
    need([] if shutil.which("pdftotext") else ["pdftotext"])
    records = SAMPLES / sample
    labelkit.make(records, labelkit.Wish(everything=True), out=tmp_path, workers=1)
    verdict = judge(records, tmp_path)
    assert verdict.wrong == ()
    assert verdict.papers == papers
    assert verdict.figures.total() > 50 * papers
