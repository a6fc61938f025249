"""Names of medicines as people write them: known, near, or asked about."""

import pytest
from rapidfuzz.distance import OSA

from labelkit.rules.substances import (
    canonical,
    identify,
    in_group,
    known_as,
    means_something,
)


@pytest.mark.parametrize(
    ("written", "substances"),
    [
        ("Isosorbide mononitrate 30 mg ER tablet", ("isosorbide mononitrate",)),
        ("NITROGLYCERIN spray as needed", ("glyceryl trinitrate",)),
        ("sildenafil citrate", ("sildenafil",)),
        ("losartan potassium 50 mg daily", ("losartan",)),
        ("amlodipine/valsartan", ("amlodipine", "valsartan")),
        ("ritonavir + nirmatrelvir", ("ritonavir", "nirmatrelvir")),
        ("amyl nitrite (poppers)", ("amyl nitrite",)),
        ("St. John’s wort", ("hypericum",)),
        ("calcium and magnesium", ("calcium", "magnesium")),
        ("levothyroxine sodium 75 mcg every morning", ("levothyroxine",)),
        ("acetaminophen", ("paracetamol",)),
        ("ciclosporín", ("ciclosporin",)),
    ],
)
def test_names_with_salts_forms_and_doses_are_known(
    written: str, substances: tuple[str, ...]
) -> None:
    """Salts, forms, doses and accents stand beside a name and change nothing."""
    found = identify(written)
    assert found.substances == substances
    assert found.unknown == ()


@pytest.mark.parametrize(
    ("written", "near"),
    [
        ("tamsulozin", "tamsulosin"),
        ("nitroglicerin", "nitroglycerin"),
        ("isosorbid mononitrate", "isosorbide"),
        ("riociguta", "riociguat"),
        ("metformina", "metformin"),
        ("codiene", "codeine"),
        ("itraconazol", "itraconazole"),
    ],
)
def test_a_misspelling_is_a_question(written: str, near: str) -> None:
    """The near name is offered, not taken; the distance is that of a kept library."""
    found = identify(written)
    assert found.unknown
    assert near in found.near
    assert OSA.distance(found.unknown[0], near) <= 2


@pytest.mark.parametrize("written", ["Nitrolin", "zzyqx", "my heart pill", "", "none", "5 mg"])
def test_what_no_list_explains_is_unknown(written: str) -> None:
    """No brand is looked up, and an empty or vague line isn't 'nothing'."""
    found = identify(written)
    assert found.substances == ()
    assert found.unknown


@pytest.mark.parametrize(
    ("inn", "group", "belongs"),
    [
        ("isosorbide dinitrate", "nitrates", True),
        ("amyl nitrite", "nitrates", True),
        ("nicorandil", "nitrates", False),
        ("newafil", "pde5-inhibitors", True),  # by stem: WHO stem book, -afil
        ("praliciguat", "sgc-stimulators", True),  # by stem: WHO stem book, -ciguat
        ("tamsulosin", "alpha-blockers", True),
        ("omeprazole", "cyp3a4-strong", False),
        ("lithium", "lithium", True),  # an INN instead of a group
        ("lithium", "sodium", False),
    ],
)
def test_groups_hold_members_and_safe_stems(inn: str, group: str, belongs: bool) -> None:
    """Membership by name, or by a stem that WHO keeps for the class."""
    assert in_group(inn, group) is belongs


@pytest.mark.parametrize(
    "written",
    [
        "pentaerythritol tetranitrate", "PETN", "pentaerithrityl tetranitrate", "linsidomine",
        "molsidomine", "SIN-1", "erythrityl tetranitrate", "propatylnitrate",
    ],
)  # fmt: skip
def test_nitrates_and_donors_of_nitric_oxide_are_known(written: str) -> None:
    """INN, USAN and common abbreviations (from memory) lead to the group of nitrates."""
    found = identify(written)
    assert found.unknown == ()
    assert [in_group(inn, "nitrates") for inn in found.substances] == [True]


@pytest.mark.parametrize(
    ("written", "known"),
    [
        ("nitrates", "nitrates"),
        ("Nitrates", "nitrates"),
        ("nitrate", "nitrates"),
        ("PDE5 inhibitors", "pde5-inhibitors"),
        ("opioid", "opioids"),
        ("Nitroglycerin", "glyceryl trinitrate"),
        ("lithium", "lithium"),
        ("zzyqx", "zzyqx"),
    ],
)
def test_a_pharmacys_entry_is_the_group_it_names(written: str, known: str) -> None:
    """Case and number don't turn a group into the one substance that stands for it in a list."""
    assert known_as(written) == known
    assert means_something(written) is (written != "zzyqx")


def test_other_names_lead_to_one() -> None:
    """USAN and INN of a substance are the same substance to every rule."""
    assert canonical("Nitroglycerin") == canonical("GTN") == "glyceryl trinitrate"
    assert canonical("sildenafil citrate") == "sildenafil citrate"
    assert means_something("nitrates") and means_something("riociguat")
    assert not means_something("nitratez")
