"""What must not meet a PDE5 inhibitor by its label: which fills are refused, which pass."""

from dataclasses import replace

from published_records import (
    MELATONIN,
    SILDENAFIL,
    TADALAFIL,
    VARDENAFIL_ODT,
    Fill,
    comparison,
)
from published_rows import PASSES, Row, set_against, table

from labelkit.rules.judging import judge_prescription

S4 = "US sildenafil label, section 4: "
T4 = "US tadalafil label, section 4: "
V4 = "US vardenafil orally disintegrating tablets label, section 4: "
ANY_NITRATE = "nitrates in any form, regularly or now and then"

NITRATES = [
    Row("tadalafil beside nitroglycerin", Fill(TADALAFIL, ("nitroglycerin",)), "nitrate", T4),
    Row(
        "tadalafil beside glyceryl trinitrate",
        Fill(TADALAFIL, ("glyceryl trinitrate",)),
        "nitrate",
        T4 + "the INN of nitroglycerin, from memory",
    ),
    Row(
        "tadalafil beside GTN spray, as charts have it",
        Fill(TADALAFIL, ("GTN spray",)),
        "nitrate",
        T4 + "abbreviation in common use, from memory",
    ),
    Row(
        "sildenafil beside isosorbide mononitrate",
        Fill(SILDENAFIL, ("isosorbide mononitrate",)),
        "nitrate",
        S4 + ANY_NITRATE,
    ),
    Row(
        "sildenafil beside ISOSORBIDE DINITRATE 20 mg",
        Fill(SILDENAFIL, ("ISOSORBIDE DINITRATE 20 mg",)),
        "nitrate",
        S4 + ANY_NITRATE,
    ),
    Row(
        "vardenafil beside isosorbide-5-mononitrate",
        Fill(VARDENAFIL_ODT, ("isosorbide-5-mononitrate",)),
        "nitrate",
        V4 + "nitrates",
    ),
    Row(
        "tadalafil beside amyl nitrite",
        Fill(TADALAFIL, ("amyl nitrite",)),
        "nitrite",
        "US tadalafil label, patient information: recreational nitrites, from memory",
    ),
    Row(
        "sildenafil beside poppers",
        Fill(SILDENAFIL, ("poppers",)),
        "nitrite",
        "US sildenafil label, patient information: recreational nitrites, from memory",
    ),
    Row(
        "vardenafil beside isobutyl nitrite",
        Fill(VARDENAFIL_ODT, ("isobutyl nitrite",)),
        "nitrite",
        "US vardenafil label, patient information: butyl nitrite, from memory",
    ),
    Row(
        "sildenafil beside sodium nitroprusside",
        Fill(SILDENAFIL, ("sodium nitroprusside",)),
        "nitr",
        "UK SmPC of sildenafil, section 4.3: nitric oxide donors, from memory",
    ),
    Row(
        "a nitrate second in a list of harmless medicines",
        Fill(TADALAFIL, ("metformin", "isosorbide dinitrate", "lisinopril")),
        "nitrate",
        T4 + "nitrates in any form",
    ),
    Row(
        "nitroglicerine, misspelt: a question, never a pass",
        Fill(TADALAFIL, ("nitroglicerine",)),
        "nitroglycerin",
        T4 + "nitrates in any form; spelling: common practice, no source",
    ),
    Row(
        "a nitrate that a list may not hold: pentaerythritol tetranitrate",
        Fill(TADALAFIL, ("pentaerythritol tetranitrate",)),
        "tetranitrate",
        T4 + "nitrates in any form",
    ),
    Row(
        "tadalafil beside metformin, atorvastatin and levothyroxine",
        Fill(TADALAFIL, ("metformin", "atorvastatin", "levothyroxine")),
        PASSES,
        "US tadalafil label, sections 4, 5 and 7 name none of them, from memory",
    ),
    Row(
        "melatonin beside isosorbide mononitrate",
        Fill(MELATONIN, ("isosorbide mononitrate",)),
        PASSES,
        "the nitrate contraindication is the PDE5 inhibitors' own; melatonin SmPC, from memory",
    ),
]

OTHERS_WITH_PDE5 = [
    Row("sildenafil beside riociguat", Fill(SILDENAFIL, ("riociguat",)), "riociguat", S4),
    Row("tadalafil beside riociguat", Fill(TADALAFIL, ("riociguat",)), "riociguat", T4),
    Row("vardenafil beside riociguat", Fill(VARDENAFIL_ODT, ("riociguat",)), "riociguat", V4),
    Row(
        "tadalafil beside vericiguat",
        Fill(TADALAFIL, ("vericiguat",)),
        "vericiguat",
        T4 + "guanylate cyclase stimulators; vericiguat's label, from memory",
    ),
    Row(
        "sildenafil beside nicorandil",
        Fill(SILDENAFIL, ("nicorandil",)),
        "nicorandil",
        "UK SmPC of sildenafil, section 4.3 and 4.5: nitric oxide donors, from memory",
    ),
    Row(
        "tadalafil beside sildenafil, for the lungs",
        Fill(TADALAFIL, ("sildenafil 20 mg",)),
        "sildenafil",
        "US tadalafil label, section 5: not with other PDE5 inhibitors, from memory",
    ),
    Row(
        "vardenafil beside avanafil",
        Fill(VARDENAFIL_ODT, ("avanafil",)),
        "avanafil",
        "US vardenafil label, section 5: other PDE5 inhibitors, from memory",
    ),
    Row(
        "tadalafil for a patient who has tadalafil already",
        Fill(TADALAFIL, ("tadalafil",)),
        "tadalafil",
        "US tadalafil label, section 2: at most once a day",
    ),
    Row(
        "two PDE5 inhibitors in one tablet",
        Fill(replace(TADALAFIL, inn="sildenafil + tadalafil", strength="5 mg / 5 mg")),
        "pde5",
        "US tadalafil label, section 5: not with other PDE5 inhibitors, from memory",
    ),
    Row(
        "sildenafil judged as 50 mg swallowed, beside tamsulosin",
        Fill(replace(SILDENAFIL, comparison=comparison("25 mg", "50 mg")), ("tamsulosin",)),
        "alpha-blocker",
        "US sildenafil label, section 2: start with 25 mg",
    ),
    Row(
        "sildenafil judged as 25 mg swallowed, beside tamsulosin",
        Fill(replace(SILDENAFIL, comparison=comparison("25 mg", "25 mg")), ("tamsulosin",)),
        PASSES,
        "US sildenafil label, section 2: start with 25 mg",
    ),
    Row(
        "sildenafil 25 mg under the tongue beside doxazosin, compared with nothing",
        Fill(SILDENAFIL, ("doxazosin",)),
        "alpha-blocker",
        "US sildenafil label, section 2 speaks of swallowed tablets alone",
    ),
    Row(
        "tadalafil judged as 10 mg swallowed, beside terazosin",
        Fill(replace(TADALAFIL, comparison=comparison("5 mg", "10 mg")), ("terazosin",)),
        "alpha-blocker",
        "US tadalafil label, section 2: lowest recommended dose (5 mg), from memory",
    ),
    Row(
        "vardenafil ODT beside alfuzosin",
        Fill(VARDENAFIL_ODT, ("alfuzosin",)),
        "alpha-blocker",
        "US vardenafil ODT label: don't start beside an alpha-blocker, from memory",
    ),
    Row(
        "sildenafil judged as 25 mg swallowed, every 48 h, beside ritonavir",
        Fill(
            replace(SILDENAFIL, comparison=comparison("25 mg", "25 mg")),
            ("ritonavir",),
            every="48",
            quantity=5,
        ),
        PASSES,
        "US sildenafil label, section 2: at most 25 mg within 48 hours",
    ),
    Row(
        "the same, just short of 48 h",
        Fill(
            replace(SILDENAFIL, comparison=comparison("25 mg", "25 mg")),
            ("ritonavir",),
            every="47.99",
            quantity=5,
        ),
        "48 hours",
        "US sildenafil label, section 2: at most 25 mg within 48 hours",
    ),
    Row(
        "sildenafil judged as 50 mg swallowed, every 48 h, beside ritonavir",
        Fill(
            replace(SILDENAFIL, comparison=comparison("25 mg", "50 mg")),
            ("ritonavir",),
            every="48",
        ),
        "ritonavir.*25 mg",
        "US sildenafil label, section 2: at most 25 mg within 48 hours",
    ),
    Row(
        "tadalafil judged as 10 mg swallowed, every 72 h, beside itraconazole",
        Fill(
            replace(TADALAFIL, comparison=comparison("5 mg", "10 mg")),
            ("itraconazole",),
            every="72",
            quantity=5,
        ),
        PASSES,
        "US tadalafil label, section 2: at most 10 mg in 72 hours",
    ),
    Row(
        "tadalafil judged as 10 mg swallowed, every 24 h, beside itraconazole",
        Fill(replace(TADALAFIL, comparison=comparison("5 mg", "10 mg")), ("itraconazole",)),
        "72 hours",
        "US tadalafil label, section 2: at most 10 mg in 72 hours",
    ),
    Row(
        "tadalafil under the tongue beside clarithromycin, compared with nothing",
        Fill(TADALAFIL, ("clarithromycin",)),
        "cyp3a4",
        "US tadalafil label, section 2: strong CYP3A4 inhibitors; clarithromycin from memory",
    ),
    Row(
        "vardenafil ODT beside ketoconazole",
        Fill(VARDENAFIL_ODT, ("ketoconazole",)),
        "cyp3a4",
        "US vardenafil ODT label: no potent CYP3A4 inhibitors",
    ),
    Row(
        "vardenafil ODT beside erythromycin",
        Fill(VARDENAFIL_ODT, ("erythromycin",)),
        "cyp3a4",
        "US vardenafil ODT label: no moderate CYP3A4 inhibitors",
    ),
    Row(
        "vardenafil beside amiodarone",
        Fill(VARDENAFIL_ODT, ("amiodarone",)),
        "amiodarone",
        "US vardenafil label, section 5: class III antiarrhythmics, from memory",
    ),
    Row(
        "vardenafil beside quinidine",
        Fill(VARDENAFIL_ODT, ("quinidine",)),
        "quinidine",
        "US vardenafil label, section 5: class IA antiarrhythmics, from memory",
    ),
    Row(
        "sildenafil beside amiodarone",
        Fill(SILDENAFIL, ("amiodarone",)),
        PASSES,
        "the QT warning is vardenafil's own among these labels, from memory",
    ),
]


@table(NITRATES + OTHERS_WITH_PDE5)
def test_beside_a_pde5_inhibitor(row: Row) -> None:
    """A medicine the label forbids beside ours stops the fill; one it doesn't name, doesn't."""
    workspace = row.given.workspace()
    set_against(row, judge_prescription(workspace, workspace.prescriptions[0]))
