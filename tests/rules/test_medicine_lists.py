"""Twenty lists of medicines as elderly patients say them: no false stop, no missed nitrate.

Each list says by hand what is found and what is asked. Names that only memory has ask too:
the pharmacy says once in medicines.toml what they are.
"""

from dataclasses import dataclass

import pytest
from rules_builders import patient, prescription_of, tadalafil, workspace

from labelkit.rules.conflicts import judge_conflicts, told


@dataclass(frozen=True, slots=True)
class Said:
    """One patient's list, and what a PDE5 inhibitor beside it must give."""

    who: str
    entries: tuple[str, ...]
    stops: tuple[str, ...] = ()
    """Ids of the groups that stop, each once."""
    asks: int = 0
    """Entries that are asked about: a name from memory, a spelling, a word that nobody knows."""
    told: tuple[str, ...] = ()


LISTS = (
    Said("English, 78, heart", (
        "Bisoprolol 2.5 mg once daily in the morning", "Ramipril 5 mg capsules",
        "Atorvastatin 40mg at night", "Aspirin 75 mg", "GTN spray under the tongue when needed",
    ), ("nitrates",)),
    Said("English, 82, no nitrate", (
        "amlodipine 5 mg tabs", "furosemide 40 mg each morning", "potassium chloride 600 mg",
        "thiamine mononitrate 100 mg", "miconazole nitrate cream 2%", "paracetamol 500 mg prn",
    )),
    Said("English, 71, abbreviations", (
        "ISMN XL 60 mg", "NTG 0.4 mg SL prn", "HCTZ 12.5 mg", "my metformin 1 g bid",
    ), ("nitrates",), 1),
    Said("English, 75, eyes", (
        "latanoprostene bunod eye drops at night", "timolol drops", "lisinopril 10 mg",
        "sodium fluoride toothpaste", "no nitrates",
    ), told=("told.nitric-oxide-donors-of-eye-and-skin", "told.denied")),
    Said("English, 80, vague", ("the heart pill", "warfarin 3 mg", "calcium and vitamin D3")
         , (), 1),
    Said("German, 79", (
        "Metoprolol 47,5 mg morgens", "Ramipril 5 mg", "ISDN 20 mg Retardkapseln",
        "Nitroglycerinspray bei Bedarf",
    ), ("nitrates",), 1),
    Said("German, 73", ("Kaliumnitrat-Zahnpasta", "Ibuprofen 400", "Pantoprazol 20 mg morgens"),
         (), 2),
    Said("French, 77", (
        "Trinitrine 0,15 mg, 1 dose sous la langue si besoin", "Metformine 850 mg matin et soir",
        "Atorvastatine 20 mg le soir", "Bisoprolol 5 mg",
    ), ("nitrates",)),
    Said("French, 84", (
        "paracétamol 1 g, 3 fois par jour", "furosémide 40 mg", "lévothyroxine 50 µg le matin",
        "nitrate d'éconazole crème", "pas de nitrates",
    ), told=("told.denied",)),
    Said("Spanish, 76", (
        "losartan 50 mg cada mañana", "mononitrato de isosorbida 20 mg", "omeprazol 20 mg",
    ), ("nitrates",), 1),
    Said("Portuguese, 81", (
        "propatilnitrato 10 mg sublingual", "sinvastatina 20 mg à noite", "AAS 100 mg",
    ), ("nitrates",), 2),
    Said("Polish, 74", (
        "bisoprolol 5 mg rano", "nitrogliceryna aerozol pod język",
        "metformina 500 mg 2 x dziennie",
    ), ("nitrates",), 1),
    Said("Polish, 70", ("triazotan glicerolu 0,5 mg", "ramipril 10 mg"), ("nitrates",), 1),
    Said("Russian, 79", (
        "бисопролол 5 мг утром", "нитроглицерин под язык при необходимости",
        "изосорбида мононитрат 40 мг", "аторвастатин 20 мг на ночь",
    ), ("nitrates",), 2),
    Said("Russian, 68", ("нитрофурантоин 100 мг", "метформин 850 мг", "миконазола нитрат крем"),
         (), 2),
    Said("Arabic, 72", (
        "نيتروجليسرين ٠٫٥ ملغ تحت اللسان", "metformin ٥٠٠ ملغ مرتين يوميا", "أسبرين ١٠٠ ملغ",
    ), ("nitrates",), 1),
    Said("Hindi, 75", (
        "नाइट्रोग्लिसरीन स्प्रे", "मेटफॉर्मिन ५०० मि.ग्रा. सुबह शाम", "amlodipine 5 mg",
    ), ("nitrates",), 1),
    Said("Chinese, 80", (
        "硝酸甘油片０．５ｍｇ舌下含服", "单硝酸异山梨酯缓释片 每日一次", "阿司匹林肠溶片100毫克",
        "硝苯地平缓释片", "硝酸咪康唑乳膏",
    ), ("nitrates",), 2),
    Said("Korean, 77", (
        "니트로글리세린 설하정 0.6밀리그램", "아스피린 100밀리그램 하루 한번", "니코란딜정 5mg",
    ), ("nitrates", "nicorandil"), 1),
    Said("Vietnamese, 73", (
        "isosorbid dinitrat viên nén 10 mg", "amlodipin 5 mg sáng", "paracetamol 500 mg khi cần",
    ), ("nitrates",), 1),
)  # fmt: skip


@pytest.mark.parametrize("said", LISTS, ids=lambda one: one.who)
def test_the_list_is_read_as_a_pharmacist_would(said: Said) -> None:
    """Exactly the stops that are due, and a question for exactly what isn't certain."""
    rx = prescription_of(tadalafil(), patient=patient(*said.entries))
    space = workspace(tadalafil(), prescriptions=(rx,))
    rules = [fault.rule for fault in judge_conflicts(space, rx)]
    asked = {
        fault.wrong.split("' ")[0]
        for fault in judge_conflicts(space, rx)
        if fault.rule.startswith(("conflict.spelling", "conflict.unknown", "asked."))
    }
    stops = {
        r for r in rules if not r.startswith(("conflict.spelling", "conflict.unknown", "asked."))
    }
    assert stops == {f"conflict.{group}" for group in said.stops}
    assert len(asked) == said.asks, asked
    assert {fault.rule for fault in told(space, rx)} == set(said.told)


def test_there_are_twenty_lists_in_ten_languages() -> None:
    """The lists are many enough to be called a trial, and half of them hold no stop or few."""
    assert len(LISTS) == 20
    assert len({one.who.split(",")[0] for one in LISTS}) >= 10
    assert sum(not one.stops for one in LISTS) >= 5
