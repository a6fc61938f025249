"""Controlled substances: the shipped lists hold every name of the published schedules."""

from pathlib import Path

import pytest
from rules_builders import preparation_of, workspace

from labelkit.rules.controlled_lists import controlled, controlled_lists
from labelkit.rules.particulars import profiles
from labelkit.rules.unknown import judge_ingredients

PUBLISHED = Path(__file__).resolve().parents[1] / "data" / "controlled"
FILES = sorted(PUBLISHED.glob("*.txt"))


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_every_name_of_a_published_schedule_is_controlled(file: Path) -> None:
    """Each line of the schedule as it was read is refused in its country, and in the union."""
    first, *names = file.read_text(encoding="utf-8").splitlines()
    assert first.startswith("# ") and len(names) >= 10
    country = file.stem.split("-")[0]
    missing = [name for name in names if not controlled(name, country)]
    assert missing == []
    assert all(controlled(name, "union") for name in names)


@pytest.mark.parametrize("country", ["us", "ca", "uk", "eu", "union"])
@pytest.mark.parametrize(
    "name",
    [
        "phenobarbital", "phenobarbitone", "Phenobarbital sodium", "fenobarbital", "dronabinol",
        "cocaine", "cocaine hydrochloride", "cocaína", "amfetamine", "amphetamine",
        "dexamphetamine sulphate", "methylphenidate", "morphine sulfate", "吗啡", "морфин",
        "alprazolam", "zolpidem tartrate", "testosterone enanthate", "pethidine", "meperidine",
        "diamorphine", "heroin", "buprenorphine", "secobarbital", "quinalbarbitone",
    ],
)  # fmt: skip
def test_inn_usan_and_old_names_are_controlled_everywhere(name: str, country: str) -> None:
    """INN, USAN, British names, salts, esters and other scripts (1961 and 1971 conventions;
    testosterone from memory for the European Union)."""
    assert controlled(name, country)


@pytest.mark.parametrize(
    ("name", "countries"),
    [
        ("modafinil", {"us", "eu", "union"}),
        ("gabapentin", {"uk", "union"}),
        ("pregabalin", {"us", "uk", "union"}),
        ("carisoprodol", {"us", "eu", "union"}),
        ("lacosamide", {"us", "union"}),
        ("prasterone", {"uk", "union"}),
        ("tramadol", {"us", "uk", "ca", "eu", "union"}),
    ],
)
def test_a_country_controls_what_its_own_schedules_hold(name: str, countries: set[str]) -> None:
    """What one country lists isn't refused in another by mistake."""
    assert {c for c in controlled_lists() if controlled(name, c)} == countries


@pytest.mark.parametrize(
    "name",
    [
        "tadalafil", "sildenafil", "vardenafil", "avanafil", "ondansetron", "melatonin",
        "apomorphine", "oxytocin", "estradiol", "progesterone", "liothyronine", "minoxidil",
        "trazodone", "atropine", "glycopyrronium", "hyoscyamine", "metoclopramide", "rizatriptan",
        "captopril", "clonidine", "cabergoline", "desmopressin", "naltrexone", "ketotifen",
        "loratadine", "diphenhydramine", "cyanocobalamin", "naloxone", "metformin",
    ],
)  # fmt: skip
def test_what_no_schedule_holds_is_free(name: str) -> None:
    """US labels: 'DEA schedule: none'; apomorphine, naloxone and naltrexone are excepted by
    21 CFR 1308.12(b)(1); the others from memory."""
    assert controlled(name, "us") == ()
    assert controlled(name, "union") == ()


def test_every_profile_has_a_list_with_its_editions() -> None:
    """Each country profile of the particulars has a controlled list that says what was read."""
    assert set(controlled_lists()) == set(profiles())
    for one in controlled_lists().values():
        assert one.as_of and one.note
        assert one.schedules or one.includes


@pytest.mark.parametrize("inn", ["phenobarbital", "dronabinol", "modafinil", "cocaine"])
def test_a_controlled_ingredient_is_refused_as_controlled(inn: str) -> None:
    """Not as 'no rule set: record a decision' alone: the schedule and its source are named."""
    preparation = preparation_of(inn, "5 mg")
    faults = {f.rule: f for f in judge_ingredients(preparation, workspace(preparation))}
    fault = faults["ingredient.controlled"]
    assert f"{inn} is a controlled substance" in fault.wrong
    assert "21 CFR 1308.1" in fault.wrong
