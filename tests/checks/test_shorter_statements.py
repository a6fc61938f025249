"""A shorter statement may stand for the one it replaces, and nothing else may."""

from dataclasses import replace

import pytest
from checked_sheets import good_page, good_sheet, manifest

from labelkit.checks.model import FindingKind as K
from labelkit.checks.reading_back import check

READ_IN = 2026


@pytest.mark.parametrize(
    ("said", "instead", "expected"),
    [
        ("Do not push. Keep dry.", "Do not push.", set()),
        ("Do not push. Keep dry.", "", {K.TEXT_MISSING}),
        ("Peel. Keep dry.", "Do not push.", {K.TEXT_MISSING}),
    ],
)
def test_the_shorter_text_or_the_whole_one(said: str, instead: str, expected: set[K]) -> None:
    """Where the manifest names a shorter text, that or the whole one is found; a part of either
    isn't, nor is the shorter one where none is named."""
    page, sheet = good_page(), good_sheet()
    texts = (
        t.model_copy(update={"instead": instead if t.id == "peel" else ""}) for t in page.texts
    )
    page = page.model_copy(update={"texts": tuple(texts)})
    at = next(i for i, words in enumerate(sheet.words) if words.text.startswith("Peel"))
    sheet.words[at] = replace(sheet.words[at], text=said)
    found = check(sheet.pdf(), manifest(page), read_in=READ_IN).findings
    assert {finding.kind for finding in found} & {K.TEXT_MISSING} == expected
