"""The leaflet's English can be read: grades by the published formulas, and at most 6."""

from pathlib import Path

import pytest

from labelkit.records.reading import read_workspace
from labelkit.rules.cautions import cautions_for
from labelkit.rules.products import product
from labelkit.wording.catalogs import catalog
from labelkit.wording.documents import compose
from labelkit.wording.reading_grade import HIGHEST, advice, measure, reading_grade
from labelkit.wording.statements import statements

SAMPLE = read_workspace(Path(__file__).resolve().parents[2] / "samples" / "pharmacy")


def sentences(count: int, words: int, long_words: int, long_word: str) -> str:
    """That many sentences of so many words, of which some are `long_word`, the rest 'cat'."""
    total = ["cat"] * (count * words - long_words) + [long_word] * long_words
    return " ".join(
        " ".join(total[start : start + words]).capitalize() + "."
        for start in range(0, count * words, words)
    )


def test_flesch_kincaid_is_the_published_formula() -> None:
    """100 words, 10 sentences, 130 syllables: 0.39 · 10 + 11.8 · 1.3 - 15.59 = 3.65."""
    assert measure(sentences(10, 10, 30, "paper")).flesch_kincaid == pytest.approx(3.65, abs=0.01)


def test_smog_is_the_published_formula() -> None:
    """25 words of three and more syllables in 30 sentences: 1.043 · 5 + 3.1291 = 8.344."""
    assert measure(sentences(30, 10, 25, "emergency")).smog == pytest.approx(8.344, abs=0.01)


@pytest.mark.parametrize("preparation", SAMPLE.preparations, ids=lambda p: p.id)
def test_the_sample_leaflets_are_at_most_grade_six(preparation) -> None:
    """What to do and what to avoid, without medicines' names, by both formulas."""
    rx = next(rx for rx in SAMPLE.prescriptions if rx.preparation == preparation.id)
    document = compose(
        "leaflet",
        SAMPLE,
        product(preparation, rx.strength),
        cautions_for(preparation, SAMPLE),
        rx,
        catalog("en", None, (), "us"),
    )
    grade = reading_grade(document, statements(), preparation.ingredients[0].inn)
    assert grade.sentences >= 30, "SMOG is normed on 30 sentences and more"
    assert grade.flesch_kincaid <= HIGHEST
    assert grade.smog <= HIGHEST
    told = advice(document, statements(), preparation.ingredients[0].inn)
    assert preparation.ingredients[0].inn not in told.lower()
    assert "Keep out of the sight and reach of children." in told


def test_other_languages_are_not_measured() -> None:
    """The formulas hold for English; a Spanish document is refused."""
    preparation = SAMPLE.preparations[0]
    document = compose(
        "pad-back",
        SAMPLE,
        preparation,
        cautions_for(preparation, SAMPLE),
        None,
        catalog("es", None, (), "us"),
    )
    with pytest.raises(ValueError, match="hold for English"):
        reading_grade(document, statements(), preparation.ingredients[0].inn)
