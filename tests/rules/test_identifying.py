"""What an entry of a list of medicines is read as: to its last character, in every script."""

import pytest
from rapidfuzz.distance import OSA

from labelkit.rules.identifying import Identified, identify
from labelkit.rules.substances import in_group


def certain(written: str) -> tuple[str, ...]:
    """The substances of an entry that leaves no question."""
    found = identify(written)
    assert found == Identified(written, found.substances), found
    return found.substances


@pytest.mark.parametrize(
    ("written", "substances"),
    [
        ("Isosorbide mononitrate 30 mg ER tablet", ("isosorbide mononitrate",)),
        ("NITROGLYCERIN spray as needed", ("glyceryl trinitrate",)),
        ("sildenafil citrate", ("sildenafil",)),
        ("losartan potassium 50 mg daily", ("losartan",)),
        ("amlodipine/valsartan", ("amlodipine", "valsartan")),
        ("ritonavir + nirmatrelvir", ("ritonavir", "nirmatrelvir")),
        ("St. John’s wort", ("hypericum",)),
        ("calcium and magnesium", ("calcium", "magnesium")),
        ("levothyroxine sodium 75 mcg every morning", ("levothyroxine",)),
        ("Levothyroxine 75µg", ("levothyroxine",)),
        ("acetaminophen", ("paracetamol",)),
        ("ciclosporín", ("ciclosporin",)),
        ("Vitamin B12 1000 mcg", ("cyanocobalamin",)),
        ("Nitroglycerinspray bei Bedarf", ("glyceryl trinitrate",)),
        ("Isosorbiddinitrat-Kapseln 20 mg", ("isosorbide dinitrate",)),
    ],
)
def test_names_with_salts_forms_and_doses_are_known(
    written: str, substances: tuple[str, ...]
) -> None:
    """Salts, forms, doses, accents and joined forms change nothing."""
    assert certain(written) == substances


@pytest.mark.parametrize(
    ("written", "substances"),
    [
        ("metformin、硝酸甘油", ("metformin", "glyceryl trinitrate")),
        ("metformin硝酸甘油片", ("metformin", "glyceryl trinitrate")),
        ("metformin нитроглицерин", ("metformin", "glyceryl trinitrate")),
        ("aspirin 100 mg + 硝酸甘油", ("acetylsalicylic acid", "glyceryl trinitrate")),
        ("metformin / نيتروجليسرين", ("metformin", "glyceryl trinitrate")),
        ("metformin والنيتروجليسرين ٥ ملغ", ("metformin", "glyceryl trinitrate")),
        ("metformin नाइट्रोग्लिसरीन ०.५ मि.ग्रा.", ("metformin", "glyceryl trinitrate")),
        ("metformin 니트로글리세린설하정 0.6밀리그램", ("metformin", "glyceryl trinitrate")),
        ("lisinopril；单硝酸异山梨酯缓释片２０ｍｇ", ("lisinopril", "isosorbide mononitrate")),
        ("ｎｉｔｒｏｇｌｙｃｅｒｉｎ", ("glyceryl trinitrate",)),
        ("warfarin, изосорбида мононитрат", ("warfarin", "isosorbide mononitrate")),
        ("warfarin ニトログリセリン錠", ("warfarin", "glyceryl trinitrate")),
    ],
)
def test_what_isnt_latin_never_vanishes(written: str, substances: tuple[str, ...]) -> None:
    """A published name in another script stands beside a Latin one, with that script's signs."""
    assert certain(written) == substances


@pytest.mark.parametrize(
    ("written", "left"),
    [
        ("metformin、神药", ("神药",)),
        ("metformin зелье", ("зелье",)),
        ("metformin / دواءالقلب", ("دواءالقلب",)),
        ("metformin दवाईवाला", ("दवाईवाला",)),
        ("metformin 신비약초", ("신비", "초")),
        ("metformin 💊", ("💊",)),
        ("metformin & heart pill", ("heart",)),
        ("metformin ヒミツ", ("ヒミツ",)),
        ("metformin ยาหัวใจ", ("ยาหัวใจ",)),
        ("", ("",)),
        ("none", ("none",)),
        ("5 mg", ("5 mg",)),
        ("zzyqx", ("zzyqx",)),
        ("my heart pill", ("my", "heart")),
    ],
)
def test_what_no_list_explains_is_asked_about(written: str, left: tuple[str, ...]) -> None:
    """No brand is looked up, a vague line isn't 'nothing', and no script is skipped."""
    assert identify(written).unknown == left


@pytest.mark.parametrize(
    "written",
    [
        "metformin and a spray under the tongue", "metformin + sublingual tablet",
        "metformin, spray", "metformin und Spray unter die Zunge", "metformin et un spray",
        "метформин и спрей под язык", "metformin 和舌下喷雾", "metformin과 스프레이",
        "metformin and a pill", "metformin و بخاخ تحت اللسان", "metformin और स्प्रे",
    ],
)  # fmt: skip
def test_a_medicine_that_nobody_named_is_asked_about(written: str) -> None:
    """Forms and joiners alone, beside a named medicine: a second one is meant."""
    assert identify(written).unknown


@pytest.mark.parametrize(
    "written",
    [
        "metformin 500 mg, 1 tablet in the morning and 2 tablets at night", "timolol eye drops",
        "metformin tablets, 500 mg", "lisinopril 20/12,5 mg", "metformin 1,5 Tabletten",
        "metformin 500 mg and 1 at night", "amlodipine/valsartan tablets",
        "trinitrine 0,15 mg, 1 dose sous la langue", "calcium and vitamin D3 tablets",
    ],
)  # fmt: skip
def test_a_dose_after_a_joiner_is_no_second_medicine(written: str) -> None:
    """A count before the form tells a dose of the medicine before it."""
    assert certain(written)


@pytest.mark.parametrize(
    ("written", "inn"),
    [
        ("tamsulozin", "tamsulosin"),
        ("nitroglicerin", "glyceryl trinitrate"),
        ("metformina", "metformin"),
        ("метформин 500 мг 2 раза в день", "metformin"),
        ("itraconazol", "itraconazole"),
        ("lewotyroksyna", "levothyroxine"),
        ("triazotan glicerolu 0,5 mg", "glyceryl trinitrate"),
        ("диазепам", "diazepam"),
        ("nitro glycerin", "glyceryl trinitrate"),
        ("двунитрат нитроглицериновый", ""),
        ("आइसोसोरबाइड डाइनाइट्रेट", "isosorbide dinitrate"),
        ("亚硝酸异戊酯", "amyl nitrite"),
    ],
)
def test_a_name_from_memory_or_spelt_otherwise_counts_and_is_asked_about(
    written: str, inn: str
) -> None:
    """It may widen a stop: the substance is found, and the entry isn't understood for that."""
    found = identify(written)
    assert found.unsure or found.unknown or found.possible_nitrates
    if inn:
        assert found.substances == (inn,)
        assert [guess.inn for guess in found.unsure] == [inn]


@pytest.mark.parametrize(
    ("written", "near"),
    [
        ("riociguta", "riociguat"),
        ("codiene", "codeine"),
        ("metforrmun", "metformin"),
        ("варфарн", "warfarin"),
        ("доксазизин", "doxazosin"),
        ("ritonuvir", "ritonavir"),
    ],
)
def test_a_misspelling_is_a_question(written: str, near: str) -> None:
    """The near name is offered, not taken; the distance is that of a kept library."""
    found = identify(written)
    assert found.substances == ()
    assert near in found.near
    if found.unknown[0].isascii():
        assert OSA.distance(found.unknown[0], near) <= 2


def test_a_nitrate_is_never_offered_as_another_medicine() -> None:
    """Words that tell of a nitrate are near to nitrates alone: never triazolam."""
    for written in ("triazotan glicerolowy", "triazotam glicerolu", "нитроглицирин"):
        found = identify(written)
        assert found.possible_nitrates or found.unsure
        assert "triazolam" not in found.near
    assert "triazolam" in identify("triazolan").near


@pytest.mark.parametrize(
    "written",
    [
        "Nitrolin", "beetroot nitrate", "calcium nitrate", "azotan srebra", "нитрат серебра",
        "硝酸益康唑乳膏", "질산은", "نترات الفضة", "नाइट्रेट वाली गोली", "Silbernitrat",
        "xyz nitrite", "मेरी नाइट्रोवाली दवा", "ニトロアワ", "ไนโตรกลีเซอรีน", "nitrosorbex",
    ],
)  # fmt: skip
def test_what_may_be_a_nitrate_has_a_finding_of_its_own(written: str) -> None:
    """A stem of nitrate or nitrite in any script asks; it is neither nothing nor a decision."""
    found = identify(written)
    assert found.possible_nitrates, found
    assert not any(in_group(inn, "nitrates") for inn in found.substances)


@pytest.mark.parametrize(
    ("written", "inn"),
    [
        ("miconazole nitrate cream 2%", "miconazole"),
        ("econazole nitrate", "econazole"),
        ("silver nitrate", "silver nitrate"),
        ("potassium nitrate toothpaste 5 %", "potassium nitrate"),
        ("thiamine mononitrate 100 mg", "thiamine"),
        ("sodium fluoride mouthwash", "sodium fluoride"),
        ("nitrofurantoin 100 mg", "nitrofurantoin"),
        ("nitrazepam", "nitrazepam"),
        ("nitrate de miconazole", "miconazole"),
        ("nitrato de miconazol creme", "miconazole"),
        ("硝酸咪康唑乳膏", "miconazole"),
    ],
)
def test_harmless_look_alikes_are_known(written: str, inn: str) -> None:
    """Salts named nitrate, by published names, and names that only sound alike."""
    assert certain(written) == (inn,)


@pytest.mark.parametrize(
    "written",
    [
        "no nitrates", "No nitroglycerin", "keine Nitrate", "sin nitratos", "pas de nitrates",
        "ne prend pas de nitrates", "sem nitratos", "bez azotanów", "нет нитратов",
        "не принимает нитраты", "لا نترات", "कोई नाइट्रेट नहीं", "没有硝酸甘油", "不服用硝酸酯类",
        "질산염 없음", "không dùng nitrat", "nitrates: none", "does not take nitrates",
    ],
)  # fmt: skip
def test_a_denial_is_no_medicine(written: str) -> None:
    """It says that none is taken: no substance, and no question of its own."""
    assert identify(written) == Identified(written, (), denies=True)


@pytest.mark.parametrize(
    "written",
    [
        "no nitrates, nitroglycerin", "No, nitrates", "no longer nitroglycerin",
        "nitroglycerin no 5",
        "not without nitrates", "ne prend que des nitrates", "no metformin, nitrates",
        "не только нитроглицерин", "нитроглицерин не помогает", "없음, 니트로글리세린",
    ],
)  # fmt: skip
def test_what_only_sounds_like_a_denial_is_none(written: str) -> None:
    """A second medicine, a comma after the answer, a number or another word: it counts as taken."""
    found = identify(written)
    assert not found.denies
    assert found.possible_nitrates or any(in_group(i, "nitrates") for i in found.substances)


def test_drops_and_gels_that_give_nitric_oxide_are_a_group_of_their_own() -> None:
    """They are told of and stop nothing: not among the nitrates."""
    for written in ("nipradilol eye drops", "latanoprostene bunod", "berdazimer sodium gel"):
        (inn,) = certain(written)
        assert in_group(inn, "nitric-oxide-donors-of-eye-and-skin")
        assert not in_group(inn, "nitrates")
