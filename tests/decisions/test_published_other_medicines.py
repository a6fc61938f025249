"""What must not meet the other medicines, by the published labels; and answers that are none."""

from published_records import (
    DEXAMETHASONE,
    MELATONIN,
    NALTREXONE,
    ONDANSETRON,
    TADALAFIL,
    Fill,
)
from published_rows import PASSES, Row, set_against, table

from labelkit.rules.judging import judge_prescription

T4 = "US tadalafil label, section 4: nitrates and riociguat; "
N4 = "US naltrexone label, section 4: patients receiving opioids"
O4 = "US ondansetron label, section 4: apomorphine"

OTHER_MEDICINES = [
    *(
        Row(f"naltrexone beside {opioid}", Fill(NALTREXONE, (opioid,)), "opioid", N4)
        for opioid in (
            "oxycodone",
            "codeine",
            "tramadol",
            "methadone",
            "buprenorphine",
            "fentanyl",
            "heroin",
            "meperidine",
        )
    ),
    Row(
        "naltrexone of 1500 mcg beside morphine: a low dose is no excuse",
        Fill(NALTREXONE, ("morphine sulfate",)),
        "opioid",
        N4,
    ),
    Row(
        "naltrexone beside ibuprofen and acetaminophen",
        Fill(NALTREXONE, ("ibuprofen", "acetaminophen")),
        PASSES,
        "neither is an opioid, from memory",
    ),
    Row(
        "ondansetron beside apomorphine hydrochloride",
        Fill(ONDANSETRON, ("apomorphine hydrochloride",)),
        "apomorphine",
        O4,
    ),
    Row(
        "ondansetron beside isosorbide mononitrate",
        Fill(ONDANSETRON, ("isosorbide mononitrate",)),
        PASSES,
        "US ondansetron label, sections 4, 5 and 7, from memory",
    ),
    Row(
        "melatonin beside fluvoxamine",
        Fill(MELATONIN, ("fluvoxamine",)),
        "fluvoxamine",
        "UK SmPC of melatonin, section 4.5: avoid, from memory",
    ),
    Row(
        "dexamethasone beside lisinopril",
        Fill(DEXAMETHASONE, ("lisinopril",)),
        PASSES,
        "US dexamethasone label, contraindications, from memory",
    ),
    Row(
        "nobody asked about other medicines",
        Fill(TADALAFIL, takes=None),
        "asked",
        T4 + "it can't be kept without an answer",
    ),
    Row(
        "asked, and the answer was none",
        Fill(TADALAFIL, takes=()),
        PASSES,
        T4 + "none is an answer",
    ),
    Row(
        "a medicine that nobody has heard of",
        Fill(TADALAFIL, ("zorblaxin",)),
        "zorblaxin",
        T4 + "it can't be kept with a name that isn't understood",
    ),
]


@table(OTHER_MEDICINES)
def test_what_the_patient_takes(row: Row) -> None:
    """A medicine the label forbids beside ours stops the fill; one it doesn't name, doesn't."""
    workspace = row.given.workspace()
    set_against(row, judge_prescription(workspace, workspace.prescriptions[0]))
