"""A draft's mark is required text: the manifest holds its words in both languages."""

import shutil
from pathlib import Path

import pytest

from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.manifest.model import Manifest

SAMPLE = Path(__file__).parents[2] / "samples" / "languages"


@pytest.mark.parametrize(
    ("rx", "file", "words"),
    [
        (
            "205111",
            "drafts/sleeve-rx205111",
            (("मसौदा – उपयोग न करें", "Draft – not for use"), ("मसौदा", "Draft")),
        ),
        (
            "205110",
            "drafts/sleeve-rx205110",
            (("مسودة – لا تستعمل", "Draft – not for use"), ("مسودة", "Draft")),
        ),
        ("205102", "sleeve-rx205102", ()),
    ],
)
def test_the_manifest_asks_for_the_marks_words(
    tmp_path: Path, rx: str, file: str, words: tuple[tuple[str, ...], ...]
) -> None:
    """Hindi and Arabic drafts say so in two languages; what isn't a draft has no such words."""
    records = Path(shutil.copytree(SAMPLE, tmp_path / "records"))
    make(records, Wish(rx=(rx,), only=frozenset({"sleeve"})), tmp_path / "out")
    stated = Manifest.model_validate_json((tmp_path / "out" / f"{file}.manifest.json").read_bytes())
    marks = [mark for page in stated.pages for mark in page.draft_marks]
    assert marks
    assert {mark.words for mark in marks} == {words}
