"""The pharmacy's own names of medicines: what they may say, and what they can't unsay."""

from datetime import date

import pytest
from rules_builders import patient, prescription_of, sildenafil, tadalafil, workspace

from labelkit.records.model import MedicineName, Preparation, Workspace
from labelkit.rules.ceilings import judge_patient_limits
from labelkit.rules.conflicts import judge_conflicts
from labelkit.rules.identifying import identify
from labelkit.rules.judging import judge_preparation
from labelkit.rules.own_names import judge_medicine_names, own_names


def own(name: str, is_: str) -> MedicineName:
    """What a named pharmacist wrote into medicines.toml."""
    return MedicineName(
        name=name, is_=is_, by="Rowan Achterberg", licence="DEMO-1", on=date(2026, 11, 20)
    )


def space(*names: MedicineName, entry: str = "", of: Preparation | None = None) -> Workspace:
    """A workspace with these names, and a patient who takes that entry."""
    preparation = of or tadalafil()
    rx = prescription_of(preparation, patient=patient(entry) if entry else patient())
    made = workspace(preparation, prescriptions=(rx,))
    return made.model_copy(update={"medicine_names": names})


def conflicts(at: Workspace) -> set[str]:
    """Rules that refuse the workspace's one prescription for what the patient takes."""
    return {fault.rule for fault in judge_conflicts(at, at.prescriptions[0])}


@pytest.mark.parametrize(
    ("name", "is_", "entry", "substances"),
    [
        ("Herzglück", "bisoprolol", "Herzglück 5 mg Tabletten", ("bisoprolol",)),
        ("Zorbifex forte", "amlodipine + valsartan", "ZORBIFEX FORTE", ("amlodipine", "valsartan")),
        ("심장편한", "bisoprolol", "심장편한정 5밀리그램", ("bisoprolol",)),
        ("青石宁", "metoprolol", "青石宁片每日一次", ("metoprolol",)),
        ("метформин", "metformin", "метформин 500 мг", ("metformin",)),
        ("Nitrofoam", "glyceryl trinitrate", "Nitrofoam spray", ("glyceryl trinitrate",)),
        ("azotan srebra", "silver nitrate", "azotan srebra", ("silver nitrate",)),
        ("my heart pill", "bisoprolol", "my heart pill", ("bisoprolol",)),
    ],
)
def test_a_local_name_is_what_the_pharmacy_says(
    name: str, is_: str, entry: str, substances: tuple[str, ...]
) -> None:
    """It is read like a shipped name, with forms and strengths, and no question is left."""
    at = space(own(name, is_))
    assert judge_medicine_names(at) == ()
    read = identify(entry, own_names(at))
    assert read.substances == substances
    assert not (read.unknown or read.unsure or read.possible_nitrates)


def test_other_words_resolve_what_may_be_a_nitrate() -> None:
    """What isn't a substance of the lists is said in words, and asks no more."""
    name = own("Nitrolin", "other: wood preservative for the boat, not taken")
    assert conflicts(space(entry="Nitrolin")) == {"asked.possible-nitrate"}
    assert conflicts(space(name, entry="Nitrolin")) == set()


def test_a_local_name_of_a_nitrate_stops() -> None:
    """Before it is said, it is asked about; afterwards it is a nitrate."""
    assert conflicts(space(entry="Zorbifex")) == {"conflict.unknown.zorbifex"}
    named = own("Zorbifex", "isosorbide mononitrate")
    assert conflicts(space(named, entry="Zorbifex 20 mg")) == {"conflict.nitrates"}


def test_a_local_name_limits_doses_too() -> None:
    """A brand of ritonavir lowers the dose of sildenafil as ritonavir itself does."""
    entry = "Zorbifex 100 mg"
    without = space(entry=entry, of=sildenafil())
    named = space(own("Zorbifex", "ritonavir"), entry=entry, of=sildenafil())
    rules = [
        {f.rule for f in judge_patient_limits(at, at.prescriptions[0])} for at in (without, named)
    ]
    assert "interaction.ritonavir" not in rules[0]
    assert "interaction.ritonavir" in rules[1]


@pytest.mark.parametrize(
    ("name", "is_", "rule"),
    [
        ("nitroglycerin", "metformin", "remapped"),
        ("nitroglycerin", "other: vitamins", "remapped"),
        ("triazotan glicerolu", "other: vitamins", "remapped"),
        ("硝酸甘油", "metformin", "remapped"),
        ("nitrates", "other: beetroot", "remapped"),
        ("ritonavir", "other: vitamins", "remapped"),
        ("metformin", "bisoprolol", "remapped"),
        ("xnitroglycerinx", "other: vitamins", "remapped"),
        ("Nitrolin", "other: nitrate of something", "nitrate"),
        ("Nitrolin", "other: GTN", "nitrate"),
        ("Nitrolin", "other:", "nothing"),
        ("Nitrolin", "other: no", "nothing"),
        ("Nitrolin", "nothing", "unknown"),
        ("Nitrolin", "harmless", "unknown"),
        ("Zorbifex", "metformina", "unknown"),
        ("mg", "metformin", "no-name"),
        ("500", "metformin", "no-name"),
        ("tablet", "other: anything", "no-name"),
    ],
)
def test_what_a_local_name_cant_say(name: str, is_: str, rule: str) -> None:
    """It is refused with its rule, and read as if it weren't there."""
    at = space(own(name, is_))
    assert f"medicine-name.{rule}" in {fault.rule for fault in judge_medicine_names(at)}
    assert identify(name, own_names(at)) == identify(name)
    assert f"medicine-name.{rule}" in {f.rule for f in judge_preparation(at, tadalafil())}


def test_a_name_with_two_meanings_has_none() -> None:
    """Neither of two entries for one name is taken."""
    at = space(own("Zorbifex", "bisoprolol"), own("ZORBIFEX", "metformin"))
    assert {f.rule for f in judge_medicine_names(at)} == {"medicine-name.twice"}
    assert identify("Zorbifex", own_names(at)).unknown == ("zorbifex",)


def test_a_local_name_never_hides_the_beginning_of_a_longer_shipped_name() -> None:
    """A name that is the first word of a nitrate's leaves the nitrate what it is."""
    at = space(own("glyceryl", "other: soap for the hands"))
    assert identify("glyceryl trinitrate", own_names(at)).substances == ("glyceryl trinitrate",)
