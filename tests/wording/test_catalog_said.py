"""Statements said from catalogs: filled, counted, refused, and never accepted by default."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

import pytest

from labelkit.ground.errors import WordingRefused
from labelkit.records.model import Acceptance
from labelkit.wording.catalogs import catalog
from labelkit.wording.model import ReviewState


def accepted(language: str, words: Mapping[str, str]) -> Acceptance:
    """A person's acceptance of those words."""
    return Acceptance(
        language=language,
        words=tuple(sorted(words.items())),
        name="A. Person",
        licence="PH-1",
        on=date(2026, 1, 5),
        reads="native",
    )


def test_english_is_unreviewed_until_someone_accepts_it() -> None:
    """English has no privilege: without an acceptance of its words it is unreviewed."""
    plain = catalog("en")
    assert plain.say("peel.do-not-push").state is ReviewState.UNREVIEWED
    kept = catalog("en", None, (accepted("en", plain.words),))
    assert kept.say("peel.do-not-push").state is ReviewState.ACCEPTED


def test_an_acceptance_is_of_a_statement() -> None:
    """Words that were accepted are, and no others; another digest of theirs counts for nothing."""
    words = catalog("es").words
    one = {"peel.here": words["peel.here"], "caution.nitrates": "0" * 16}
    found = catalog("es", None, (accepted("es", one),))
    assert found.state_of("peel.here") is ReviewState.ACCEPTED
    assert found.state_of("caution.nitrates") is ReviewState.UNREVIEWED
    assert found.state_of("peel.do-not-push") is ReviewState.UNREVIEWED


def test_acceptance_of_one_language_does_not_cover_another() -> None:
    """The words of the Spanish catalog, accepted as French, accept no Spanish."""
    found = catalog("es", None, (accepted("fr", catalog("es").words),))
    assert found.state_of("peel.here") is ReviewState.UNREVIEWED


def test_a_region_needs_its_own_words_accepted() -> None:
    """Who accepted English accepted what British English takes from it, and nothing it says."""
    found = catalog("en-GB", None, (accepted("en", catalog("en").words),))
    assert found.state_of("peel.here") is ReviewState.ACCEPTED
    assert found.state_of("call.emergency") is ReviewState.UNREVIEWED


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (1, "Do not take more than 1 tablet in 24 hours."),
        (2, "Do not take more than 2 tablets in 24 hours."),
        (Decimal("1.0"), "Do not take more than 1 tablet in 24 hours."),
    ],
)
def test_counted_statements_take_the_right_form(count: object, said: str) -> None:
    """English has a form for one and another for the rest (CLDR plural rules, en)."""
    assert catalog("en", None, ()).say("limit.in-24-h", {"in_24_h_tablets": count}).text == said


def test_missing_value_is_refused_with_its_name() -> None:
    """A placeholder without a value stops the job and names the placeholder."""
    with pytest.raises(WordingRefused, match="single_dose_tablets"):
        catalog("en", None, ()).say("limit.single-dose")
    with pytest.raises(WordingRefused, match="drug"):
        catalog("en", None, ()).say("caution.chest-pain", {"drug": " "})


def test_unknown_statement_and_unknown_language_are_refused() -> None:
    """What can't be said is refused, not skipped."""
    with pytest.raises(WordingRefused, match="no such statement"):
        catalog("en", None, ()).say("caution.no-such-thing")
    with pytest.raises(WordingRefused, match="no catalog for the language 'fi'"):
        catalog("fi", None, ())
