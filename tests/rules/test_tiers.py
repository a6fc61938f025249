"""Every rule has a tier, and what a decision depends on is named where one may pass it."""

import ast
import re
from pathlib import Path

import pytest
from pydantic import ValidationError

from labelkit import rules
from labelkit.rules.classes import rule_sets
from labelkit.rules.findings import OF_PREPARATION, OF_PRESCRIPTION
from labelkit.rules.substances import groups
from labelkit.rules.tiers import STOPS, Tier, TierDatum, of_rule, tier_of, tiers
from labelkit.wording.statements import statements

ID = re.compile(r"[a-z-]+\.[a-z0-9.-]+")
NO_RULE = ("circumstance.", "class.", "excipient.", "limits.", "comparison.", "fact.")
"""Beginnings of names that look like a rule's id: of cautions, fields and facts."""


def _beginnings(node: ast.expr) -> set[str]:
    """A rule's id as it stands in the code, or the beginning of one that is put together."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return {node.value} if ID.fullmatch(node.value) else set()
    if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
        start = str(node.values[0].value)
        return {start} if re.fullmatch(r"[a-z-]+\.[a-z0-9.-]*", start) else set()
    return set()


def _given() -> set[str]:
    """Ids that the code gives a fault, anywhere in a call or an assignment of a rule."""
    found: set[str] = set()
    for path in Path(rules.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                named = {kw.value for kw in node.keywords if kw.arg == "rule"}
                for arg in (*node.args, *named):
                    found |= _beginnings(arg)
    return {one for one in found if not one.startswith(NO_RULE) and not one.endswith(".toml")}


def test_every_rule_of_the_code_has_a_tier() -> None:
    """None falls back on the entry for rules that nobody named."""
    given = _given()
    assert len(given) >= 50
    assert {"conflict.unknown.", "interaction.", "ingredient.controlled", "told.denied"} <= given
    unnamed = {
        one
        for one in given
        if of_rule(one.rstrip(".-")) is STOPS
        and not any(name.startswith(one) for name in tiers() if one.endswith("."))
    }
    assert unnamed == set()


def test_every_rule_of_the_classes_has_a_tier() -> None:
    """Conflicts, interactions and ages, by the ids that their data make."""
    made = {f"conflict.{group}" for group in groups()}
    for one in rule_sets():
        made |= {f"conflict.{datum.group.replace(' ', '-')}" for datum in one.conflicts}
        made |= {f"interaction.{datum.group}" for datum in one.interactions}
        for age in one.ages:
            bound = f"below-{age.below_years}" if age.below_years else f"from-{age.from_years}"
            made.add(f"age.{one.id}.{bound}")
    assert made and all(of_rule(rule) is not STOPS for rule in made)


def test_every_input_is_one_that_can_be_had() -> None:
    """A name in the table that nothing gives would be left out of every finding."""
    known = {*OF_PREPARATION, *OF_PRESCRIPTION}
    for name, datum in tiers().items():
        assert set(datum.inputs) <= known, name
    assert known <= {one for datum in tiers().values() for one in datum.inputs}


@pytest.mark.parametrize(
    ("rule", "tier"),
    [
        # US sildenafil, tadalafil and vardenafil labels, section 4.
        ("conflict.nitrates", Tier.STOP),
        ("conflict.sgc-stimulators", Tier.STOP),
        # UK SmPC of nicorandil, section 4.3.
        ("conflict.nicorandil", Tier.STOP),
        ("ingredient.controlled", Tier.STOP),
        ("ingredient.unknown", Tier.STOP),
        ("asked.possible-nitrate", Tier.STOP),
        ("asked.medicines", Tier.STOP),
        ("dose.single", Tier.STOP),
        ("conflict.unknown.зелье", Tier.DECIDE),
        ("conflict.nitrates-like", Tier.DECIDE),
        ("told.denied", Tier.TELL),
        ("a-rule-of-tomorrow", Tier.STOP),
    ],
)
def test_tiers_in_every_profile(rule: str, tier: Tier) -> None:
    """Whatever the country; parts of an id are compared whole."""
    assert {tier_of(rule, country) for country in ("us", "ca", "uk", "eu", "union")} == {tier}


@pytest.mark.parametrize(
    ("country", "tier"),
    [("us", "decide"), ("union", "decide"), ("eu", "tell"), ("uk", "tell"), ("ca", "tell")],
)
def test_a_starting_dose_of_one_label_stops_in_its_own_country(country: str, tier: str) -> None:
    """US sildenafil label, section 2; EU SmPC, section 4.2: no adjustment for age."""
    assert tier_of("age.pde5-inhibitors.from-65", country) == tier
    assert tier_of("age.pde5-inhibitors.below-18", country) == Tier.DECIDE


def test_every_rule_that_tells_has_its_words() -> None:
    """Whatever is told of a prescription can be said on the checklist, in every language."""
    telling = {
        name: datum
        for name, datum in tiers().items()
        if Tier.TELL in (datum.tier, *datum.profiles.values())
    }
    spoken = {name for name, datum in telling.items() if datum.says in statements()}
    assert set(telling) - spoken == {"told.decision-of-nothing"}


def test_a_rule_that_may_be_decided_on_names_its_inputs() -> None:
    """Without inputs or a version a decision would hold for anything."""
    with pytest.raises(ValidationError, match="inputs and a version"):
        TierDatum(tier=Tier.DECIDE, inputs=("dose",))
    with pytest.raises(ValidationError, match="inputs and a version"):
        TierDatum(tier=Tier.STOP, profiles={"eu": Tier.DECIDE})
