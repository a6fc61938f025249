"""Words the patient must find although the preparation's file says nothing of them.

Each row reads the whole leaflet of a preparation that lists no caution, contraindication or effect
of its own, so that what stands there follows from the medicine alone.
"""

import re
from dataclasses import replace

import pytest
from published_records import (
    DEXAMETHASONE,
    MELATONIN,
    NALTREXONE,
    ONDANSETRON,
    SILDENAFIL,
    TADALAFIL,
    VARDENAFIL_ODT,
    Fill,
    Medicine,
    comparison,
    sample,
)
from published_rows import Row, table

from labelkit.records.model import ClosureRequest, Prescription, Workspace
from labelkit.rules.cautions import cautions_for
from labelkit.rules.particulars import required
from labelkit.rules.products import product
from labelkit.wording.catalogs import catalog
from labelkit.wording.documents import compose

S = "US sildenafil label, "
T = "US tadalafil label, "
V = "US vardenafil ODT label, "
N = "US naltrexone label, "
D = "US dexamethasone label, "
O5 = "US ondansetron label, section 5: "
M = "UK SmPC of melatonin (jet lag), "
AFIL = "US sildenafil, tadalafil and vardenafil labels, section 4; the INN stem -afil"


def leaflet(medicine: Medicine, language: str = "en", excipients: tuple[str, ...] = ()) -> str:
    """All words of its leaflet, one said thing a line."""
    workspace = Fill(medicine).workspace()
    preparation = workspace.preparations[0].model_copy(update={"excipients": excipients})
    rx = workspace.prescriptions[0]
    document = compose(
        "leaflet",
        workspace.model_copy(update={"preparations": (preparation,)}),
        product(preparation, rx.strength),
        cautions_for(preparation, workspace, rx),
        rx,
        catalog(language, None, ()),
    )
    words = "\n".join(said.text for block in document.blocks for said in block.said)
    return words.replace("\N{NO-BREAK SPACE}", " ")


COMPARED = replace(TADALAFIL, comparison=comparison("5 mg", "10 mg"))
SWEET = ("mannitol", "aspartame")

PDE5 = [
    *(
        Row(f"{inn}: nitrates and poppers", leaflet_of, "never.*nitrates.*poppers", AFIL)
        for inn, leaflet_of in (
            (inn, (Medicine(inn),))
            for inn in (
                "sildenafil",
                "tadalafil",
                "vardenafil",
                "avanafil",
                "udenafil",
                "lodenafil",
            )
        )
    ),
    Row("it can kill", (SILDENAFIL,), "blood pressure.*die", S + "section 5: hypotension"),
    Row("tadalafil: 48 h", (TADALAFIL,), "nitrate.*at least 48 hours", T + "at least 48 hours"),
    Row(
        "sildenafil: 24 h",
        (SILDENAFIL,),
        "nitrate.*24 hours",
        "guideline practice, from memory; the US label gives no interval",
    ),
    Row("riociguat", (SILDENAFIL,), "riociguat", S + "section 4"),
    Row("another PDE5 inhibitor", (TADALAFIL,), "second.*sildenafil", T + "section 5, from memory"),
    Row("alpha-blockers", (SILDENAFIL,), "alpha-blocker.*faint", S + "sections 2 and 5"),
    Row("ritonavir", (SILDENAFIL,), "stronger.*ritonavir", S + "section 2"),
    Row("chest pain", (TADALAFIL,), "chest pain.*emergency number", T + "section 5, from memory"),
    Row("erection over 4 hours", (SILDENAFIL,), "4 hours.*emergency", S + "section 5"),
    Row("sudden loss of sight", (SILDENAFIL,), "sight.*stop", S + "section 5"),
    Row("sudden loss of hearing", (SILDENAFIL,), "hearing.*stop", S + "section 5"),
    Row("stroke or infarction", (SILDENAFIL,), "stroke or heart attack", S + "section 5"),
    Row("retinitis pigmentosa", (SILDENAFIL,), "retinitis", S + "section 5, from memory"),
    Row("on the tongue", (VARDENAFIL_ODT,), "on your tongue", V + "section 2"),
    Row("without liquid", (VARDENAFIL_ODT,), "without|no (liquid|water)", V + "section 2"),
    Row(
        "at once after opening",
        (VARDENAFIL_ODT,),
        "as soon as|at once after|right after",
        V + "section 2: immediately after opening",
    ),
    Row(
        "vardenafil ODT and ritonavir",
        (VARDENAFIL_ODT,),
        "(not|never).*(ritonavir|ketoconazole)",
        V + "section 2: not with moderate or potent CYP3A4 inhibitors",
    ),
    Row(
        "vardenafil and the heart's rhythm",
        (VARDENAFIL_ODT,),
        "rhythm|QT",
        V + "section 5: congenital QT prolongation, from memory",
    ),
    Row(
        "tadalafil and alcohol",
        (TADALAFIL,),
        "alcohol",
        T + "section 5 and patient information: too much alcohol, from memory",
    ),
    Row(
        "tadalafil and the kidneys",
        (TADALAFIL,),
        "kidney",
        T + "section 2: 5 mg in 72 hours in severe impairment or dialysis, from memory",
    ),
]

OTHERS = [
    Row("apomorphine", (ONDANSETRON,), "never.*apomorphine", "US ondansetron label, section 4"),
    Row("ondansetron and the rhythm", (ONDANSETRON,), "QT", O5 + "QT prolongation"),
    Row("serotonin", (ONDANSETRON,), "depression.*fever", O5 + "serotonin syndrome, from memory"),
    Row("severe liver disease", (ONDANSETRON,), "liver.*8 mg", "US ondansetron label, section 2"),
    Row("a swollen belly", (ONDANSETRON,), "belly", O5 + "masked ileus, from memory"),
    Row(
        "aspartame",
        (ONDANSETRON, "en", SWEET),
        "phenylalanine|phenylketonuria|PKU",
        O5 + "phenylketonurics, from memory; 21 CFR 201.21",
    ),
    Row("opioids", (NALTREXONE,), "never.*opioids.*10 days.*withdrawal", N + "sections 4 and 5"),
    Row(
        "two weeks after methadone or buprenorphine",
        (NALTREXONE,),
        "(2|two) weeks|14 days",
        N + "section 5: withdrawal up to two weeks after them, from memory",
    ),
    Row("overcoming it", (NALTREXONE,), "opioids to overcome.*die", N + "section 5, from memory"),
    Row("telling who treats", (NALTREXONE,), "tell every doctor", N + "section 5, from memory"),
    Row(
        "less opioid kills after naltrexone",
        (NALTREXONE,),
        "sensitive|(lower|smaller|less).*(opioid|dose).*(die|kill|overdose)",
        N + "section 5: vulnerability to opioid overdose, from memory",
    ),
    Row("a hurt liver", (NALTREXONE,), "yellow", N + "section 5: hepatotoxicity, from memory"),
    Row("stopping a steroid", (DEXAMETHASONE,), "not stop suddenly", D + "withdraw gradually"),
    Row("hidden infection", (DEXAMETHASONE,), "hide infections", D + "warnings, from memory"),
    Row("fungal infection", (DEXAMETHASONE,), "fungal", D + "contraindications, from memory"),
    Row("driving", (MELATONIN,), "do not drive", M + "section 4.7"),
    Row("alcohol", (MELATONIN,), "not drink alcohol", M + "section 4.5"),
    Row("the hours", (MELATONIN,), "before 8 in the evening.*4 in the morning", M + "section 4.2"),
    Row("fluvoxamine", (MELATONIN,), "fluvoxamine", M + "section 4.5, from memory"),
]

HANDLING = [
    Row(
        "fragile and peeled open",
        (TADALAFIL,),
        "peel. do not push",
        "US ondansetron ODT label: do not push through the foil",
    ),
    Row("dry hands", (TADALAFIL,), "dry hands", "US ondansetron ODT label: dry hands"),
    Row(
        "the old number",
        (COMPARED,),
        "do not take more to reach the old number",
        "US vardenafil ODT label: not interchangeable",
    ),
    Row("children", (MELATONIN,), "reach of children", "Directive 2001/83/EC, article 54(f)"),
    Row("once in 24 h", (TADALAFIL,), "24 hours", T + "section 2: at most once a day"),
    Row(
        "in Spanish: nitrates, nitrites, death",
        (TADALAFIL, "es"),
        "nunca.*nitratos.*nitritos.*morir",
        AFIL + "; 21 CFR 290.6 shows that a label may speak Spanish",
    ),
    Row("in Spanish: 48 h", (TADALAFIL, "es"), "nitrato.*48 horas", T + "at least 48 hours"),
    Row("in Spanish: opioids", (NALTREXONE, "es"), "nunca.*opioides", N + "section 4"),
]


@table(PDE5 + OTHERS + HANDLING)
def test_words_that_follow_from_the_medicine(row: Row) -> None:
    """The leaflet says it, in one sentence or two neighbouring ones of one paragraph."""
    words = leaflet(*row.given)
    assert any(re.search(row.about, line, re.IGNORECASE) for line in words.splitlines()), row.source


def test_hours_are_never_borrowed_from_another_substance() -> None:
    """For a PDE5 inhibitor without published hours the nitrate sentence names none."""
    lines = [line for line in leaflet(Medicine("udenafil")).splitlines() if "nitrate" in line]
    assert lines
    assert not [line for line in lines if "hours" in line]


def test_a_tablet_for_the_tongue_is_never_told_under_it() -> None:
    """The vardenafil ODT's leaflet has no word of the other route (US label, section 2)."""
    assert "under your tongue" not in leaflet(VARDENAFIL_ODT)
    assert "on your tongue" not in leaflet(replace(VARDENAFIL_ODT, route=TADALAFIL.route))


def _asked(artwork: str, medicine: Medicine = TADALAFIL, **changed: object) -> set[str]:
    workspace: Workspace = Fill(medicine).workspace()
    rx: Prescription = workspace.prescriptions[0].model_copy(update=changed)
    return {
        requirement.satisfied_by
        for requirement in required(workspace, artwork, workspace.preparations[0], rx)
    }


@pytest.mark.parametrize("artwork", ["leaflet", "sleeve", "pad"])
def test_the_nitrate_caution_is_required(artwork: str) -> None:
    """Whoever prescribes, fills or takes a PDE5 inhibitor reads of nitrates (US labels, 4)."""
    assert "statement:caution.nitrates" in _asked(artwork)
    assert "statement:caution.nitrates" not in _asked(artwork, MELATONIN)


def test_a_cell_says_what_it_is_alone() -> None:
    """Name, strength, lot and date in each detachable unit (FDA guidance 2022, from memory)."""
    assert {"fact:drug", "fact:strength", "fact:lot", "fact:beyond_use"} <= _asked("lidding")


def test_child_resistance_is_the_rule_and_its_absence_is_asked_for() -> None:
    """16 CFR 1700.14(a)(10): oral medicines need it, unless patient or prescriber asks."""
    asked = ClosureRequest(by="patient", on=sample().prescriptions[0].dispensed_on)
    safe, plain = "caution.child-resistant-outer", "caution.not-child-resistant"
    usual, requested = _asked("sleeve"), _asked("sleeve", closure_request=asked)
    assert f"statement:{safe}" in usual
    assert f"statement:{plain}" not in usual
    assert f"statement:{plain}" in requested
    assert f"statement:{safe}" not in requested


def test_the_label_of_a_filled_prescription() -> None:
    """21 USC 353(b)(2): dispenser, serial number, date, prescriber, patient, directions."""
    told = {requirement.split(":", 1)[1] for requirement in _asked("sleeve")}
    assert {
        "pharmacy",
        "pharmacy_address",
        "rx_number",
        "dispensed_on",
        "prescriber",
        "patient",
        "directions",
    } <= told
