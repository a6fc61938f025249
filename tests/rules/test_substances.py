"""Names of substances and the groups that rules speak of."""

import pytest

from labelkit.rules.identifying import identify
from labelkit.rules.substances import (
    canonical,
    groups,
    in_group,
    known,
    known_as,
    means_something,
)
from labelkit.rules.vocabulary import CLASS_WORDS


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
        "molsidomine", "SIN-1", "erythrityl tetranitrate", "eritrityl tetranitrate",
        "propatylnitrate", "NTG", "ISDN", "ISMN", "trinitrine", "nitrogliceryna", "trolnitrate",
        "Isosorbiddinitrat", "tenitramine", "nitric oxide", "trinitrina", "IS-5-MN",
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


def test_a_longer_name_is_in_the_groups_of_its_base() -> None:
    """A salt's own name (codeine phosphate) never leads out of a group that its base is in."""
    meanings = known()
    for key, meaning in meanings.items():
        base = meanings.get(key[:1])
        if len(key) == 1 or base is None or base.inn in {meaning.inn, *CLASS_WORDS}:
            continue
        for group in groups():
            if in_group(base.inn, group):
                assert in_group(meaning.inn, group), (key, group)
