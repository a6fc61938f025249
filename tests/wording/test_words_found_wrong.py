"""Words that said another thing than the English: each stays mended.

From memory of each language; nobody qualified has read the words that stand there now.
"""

import pytest

from labelkit.wording.catalogs import catalog
from labelkit.wording.statements import statements


@pytest.mark.parametrize(
    ("language", "statement", "says", "says_not"),
    [
        # A dose is what is taken at one time; what one tablet has is its concentration.
        ("es", "label.strength", "Concentración", "osis"),
        ("es", "basis.base", "concentración", "dosis"),
        ("es", "pad.tick-strength", "Concentración", "osis"),
        ("es", "comparison.judged", "concentraciones", "dosis"),
        # "Ziehen" is to pull at something; a label is peeled off.
        ("de", "peel.do-not-push", "Abziehen", " Ziehen"),
        ("de", "step.peel", "ab.", "zurück"),
        # Not smallpox; and to stop the medicine, not to stand still.
        ("hi", "caution.steroid-infection", "छोटी माता", "चेचक"),
        ("hi", "caution.chest-pain", "दवा लेना बंद करें", "रुकें"),
        ("hi", "caution.vision-loss", "दवा लेना बंद करें", "रुकें"),
        ("hi", "leaflet.urgent-intro", "दवा लेना बंद करें", "रुकें"),
        # A physician may give a nitrate too, not a paramedic alone.
        ("pl", "caution.nitrate-wait.tadalafil", "lekarze lub ratownicy", "tylko ratownik"),
        ("pl", "caution.nitrate-wait.unknown", "lekarze lub ratownicy", "tylko ratownik"),
        # The United Kingdom's name, and whom to call there.
        ("en-GB", "caution.nitrates", "glyceryl trinitrate", "nitroglycerin"),
        ("en-GB", "limit.overdose", "NHS 111", "poison"),
        ("en-GB", "caution.child-takes-one", "999", "poison"),
    ],
)
def test_it_says_what_was_meant(language: str, statement: str, says: str, says_not: str) -> None:
    """The word that was meant stands in every form, the one that was found wrong in none."""
    for text in catalog(language).entries[statement].texts:
        assert says in text
        assert says_not not in text


def test_spanish_keeps_dose_for_what_is_taken() -> None:
    """Where the Spanish says "dosis", the English says "dose" or "doses"."""
    for id_, entry in catalog("es").entries.items():
        if "dosis" in " ".join(entry.texts).casefold():
            assert "dose" in statements()[id_].english, id_
