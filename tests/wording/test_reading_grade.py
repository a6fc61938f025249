"""The leaflet's English can be read: its grade by a published formula is at most 6."""

from pathlib import Path

import pytest

from labelkit.records.reading import read_workspace
from labelkit.rules.cautions import cautions_for
from labelkit.rules.products import product
from labelkit.wording.catalogs import catalog
from labelkit.wording.documents import compose
from labelkit.wording.reading_grade import HIGHEST, advice, coleman_liau, reading_grade
from labelkit.wording.statements import statements

SAMPLE = read_workspace(Path(__file__).resolve().parents[2] / "samples" / "pharmacy")


ABSTRACT = (
    "Existing computer programs that measure readability are based largely upon subroutines which "
    "estimate number of syllables, usually by counting vowels. The shortcoming in estimating "
    "syllables is that it necessitates keypunching the prose into the computer. There is no need "
    "to estimate syllables since word length in letters is a better predictor of readability than "
    "word length in syllables. Therefore, a new readability formula was computed that has for its "
    "predictors letters per 100 words and sentences per 100 words. Both predictors can be counted "
    "by an optical scanning device, and thus the formula makes it economically feasible for an "
    "organization such as the U.S. Office of Education to calibrate the readability of all "
    "textbooks for the public school system."
)
"""The abstract of Coleman and Liau 1975, and the text of the usual worked example."""


def test_the_worked_example_of_the_formula() -> None:
    """The abstract of its paper: 5 sentences, 119 words, 639 letters, a grade of 14.5.

    As worked in the encyclopedia's article on the index, to a tenth.
    """
    assert coleman_liau(ABSTRACT) == pytest.approx(14.5, abs=0.05)


def test_the_formula_in_round_numbers() -> None:
    """Each ten words of 4 letters a sentence: 0.0588 · 400 - 0.296 · 10 - 15.8 = 4.76."""
    assert coleman_liau(" ".join(["Take care that they read this when they need it'll."] * 9)) == (
        pytest.approx(4.76, abs=0.001)
    )


def test_no_word_no_grade() -> None:
    """What holds no word is refused, rather than told to be easy."""
    with pytest.raises(ValueError, match="without a word"):
        coleman_liau("… !")


@pytest.mark.parametrize("preparation", SAMPLE.preparations, ids=lambda p: p.id)
def test_the_sample_leaflets_are_at_most_grade_six(preparation) -> None:
    """What to do and what to avoid, without medicines' names."""
    rx = next(rx for rx in SAMPLE.prescriptions if rx.preparation == preparation.id)
    document = compose(
        "leaflet",
        SAMPLE,
        product(preparation, rx.strength),
        cautions_for(preparation, SAMPLE),
        rx,
        catalog("en", None, (), "us"),
    )
    assert reading_grade(document, statements(), preparation.ingredients[0].inn) <= HIGHEST
    told = advice(document, statements(), preparation.ingredients[0].inn)
    assert preparation.ingredients[0].inn not in told.lower()
    assert "Keep out of the sight and reach of children." in told


def test_other_languages_are_not_measured() -> None:
    """The formula holds for English; a Spanish document is refused."""
    preparation = SAMPLE.preparations[0]
    document = compose(
        "pad-back",
        SAMPLE,
        preparation,
        cautions_for(preparation, SAMPLE),
        None,
        catalog("es", None, (), "us"),
    )
    with pytest.raises(ValueError, match="holds for English"):
        reading_grade(document, statements(), preparation.ingredients[0].inn)
