"""Excipients that someone must be told of: by 21 CFR 201.21 and the EC guideline, from memory."""

import pytest
from rules_builders import prescription_of, tadalafil, workspace

from labelkit.rules.cautions import cautions_for
from labelkit.rules.excipients import excipients, of_known_effect
from labelkit.rules.particulars import required


@pytest.mark.parametrize(
    ("written", "known"),
    [
        ("aspartame", ["aspartame"]),
        ("Aspartame (E951)", ["aspartame"]),
        ("E 951", ["aspartame"]),
        ("e-951", ["aspartame"]),
        ("aspartame-acesulfame salt", ["aspartame"]),
        ("lactose monohydrate", ["lactose"]),
        ("lactose, anhydrous", ["lactose"]),
        ("mannitol", []),
        ("sucralose", []),
        ("lactic acid", []),
        ("aspartic acid", []),
    ],
)
def test_a_name_is_read_word_by_word(written: str, known: list[str]) -> None:
    """Whatever salt, hydrate or number stands beside it; a name that only sounds so is none."""
    assert [one.id for one in of_known_effect(tadalafil(excipients=(written,)))] == known


@pytest.mark.parametrize("one", excipients(), ids=lambda one: one.id)
def test_its_statement_is_a_caution_with_its_source(one: object) -> None:
    """It comes with the excipient, and not without it."""
    (listed,) = [e for e in excipients() if e is one]
    holding = tadalafil(excipients=("mannitol", listed.words[0]))
    (found,) = [
        c for c in cautions_for(holding, workspace(holding)) if c.statement == listed.statement
    ]
    assert (found.rule, found.source) == (f"excipient.{listed.id}", listed.source)
    plain = tadalafil(excipients=("mannitol",))
    assert listed.statement not in {c.statement for c in cautions_for(plain, workspace(plain))}


@pytest.mark.parametrize(
    ("country", "artwork", "asked"),
    [
        ("us", "leaflet", True),
        ("us", "sleeve", False),
        ("eu", "leaflet", True),
        ("eu", "sleeve", True),  # Directive 2001/83/EC, art. 54(d)
        ("union", "sleeve", True),
    ],
)
def test_where_it_must_stand(country: str, artwork: str, asked: bool) -> None:
    """On every leaflet, and on the outer pack where excipients must be declared there."""
    holding = tadalafil(excipients=("aspartame",))
    space = workspace(holding, country=country)
    told = {r.satisfied_by for r in required(space, artwork, holding, prescription_of(holding))}
    assert ("statement:caution.excipient.aspartame" in told) is asked
