"""Doses at their limits: the limit passes, one unit or one minute beyond it is refused.

The limits of a preparation are the pharmacy's own decision; the labels bound what may be decided
(those for swallowed tablets: an under-the-tongue form has no labelled maximum of its own).
"""

from dataclasses import replace
from datetime import date

from published_records import (
    DEXAMETHASONE,
    MELATONIN,
    NALTREXONE,
    ONDANSETRON,
    SILDENAFIL,
    TADALAFIL,
    VARDENAFIL_ODT,
    Fill,
)
from published_rows import PASSES, Row, set_against, table

from labelkit.records.model import Route
from labelkit.rules.judging import judge_prescription

OURS = "the recorded limit of the preparation, whatever it is"
SI = "1 mg = 1000 mcg, 1 g = 1000 mg (SI)"
SICK = {"every": "8", "most": "3"}
S2 = "US sildenafil label, section 2: "
T2 = "US tadalafil label, section 2: "
V2 = "US vardenafil ODT label, section 2: "
M2 = "UK SmPC of melatonin (jet lag), section 4.2: "

ARITHMETIC = [
    Row("2 × 5 mg, limit 10 mg", Fill(TADALAFIL, tablets="2", most="2"), PASSES, OURS),
    Row(
        "2 × 5 mg, limit 9.999 mg",
        Fill(replace(TADALAFIL, single="9.999 mg"), tablets="2", most="2"),
        r"10 mg.*one dose.*9\.999 mg",
        OURS,
    ),
    Row(
        "3 × 5 mg, limit 10 mg",
        Fill(TADALAFIL, tablets="3", most="3"),
        r"3 tablets × 5 mg = 15 mg.*10 mg",
        OURS,
    ),
    Row(
        "3 × 4 mg in 24 h, limit 12 mg",
        Fill(replace(ONDANSETRON, daily="12 mg"), **SICK),
        PASSES,
        OURS,
    ),
    Row(
        "3 × 4 mg in 24 h, limit 11.999 mg",
        Fill(replace(ONDANSETRON, daily="11.999 mg"), **SICK),
        r"12 mg.*24 hours.*11\.999 mg",
        OURS,
    ),
    Row("every 8 h, least interval 8 h", Fill(ONDANSETRON, **SICK), PASSES, OURS),
    Row(
        "every 7 h 59 min, least interval 8 h",
        Fill(ONDANSETRON, **(SICK | {"every": "7.983"})),
        "interval.*8 hours",
        OURS,
    ),
    Row("2 × 500 mcg, limit 1 mg", Fill(MELATONIN, tablets="2", most="2"), PASSES, SI),
    Row(
        "3 × 500 mcg, limit 1 mg",
        Fill(MELATONIN, tablets="3", most="3"),
        "one dose.*1 mg",
        SI,
    ),
    Row(
        "2 × 500 mcg, limits 1000 mcg and 0.001 g",
        Fill(replace(MELATONIN, single="1000 mcg", daily="0.001 g"), tablets="2", most="2"),
        PASSES,
        SI,
    ),
    Row(
        "2 × 500 mcg, limit 999 mcg",
        Fill(replace(MELATONIN, single="999 mcg"), tablets="2", most="2"),
        "one dose.*999 mcg",
        SI,
    ),
    Row(
        "500 mg where 500 mcg was meant: a thousandfold",
        Fill(replace(MELATONIN, strength="500 mg")),
        "500 mg.*one dose.*1 mg",
        "ISMP list of error-prone abbreviations: mg and mcg mistaken for each other",
    ),
]

LABELS = [
    Row(
        "a decided dose of 100 mg sildenafil",
        Fill(replace(SILDENAFIL, single="100 mg", daily="100 mg")),
        PASSES,
        S2 + "at most 100 mg",
    ),
    Row(
        "a decided dose of 101 mg sildenafil",
        Fill(replace(SILDENAFIL, single="101 mg", daily="101 mg")),
        "101 mg.*100 mg",
        S2 + "at most 100 mg",
    ),
    Row(
        "sildenafil decided for every 12 hours",
        Fill(replace(SILDENAFIL, hours="12"), every="12"),
        "12 hours.*24 hours",
        S2 + "at most once a day",
    ),
    Row(
        "a decided dose of 20 mg tadalafil",
        Fill(replace(TADALAFIL, single="20 mg", daily="20 mg")),
        PASSES,
        T2 + "5 to 20 mg",
    ),
    Row(
        "a decided dose of 21 mg tadalafil",
        Fill(replace(TADALAFIL, single="21 mg", daily="21 mg")),
        "21 mg.*20 mg",
        T2 + "5 to 20 mg",
    ),
    Row(
        "tadalafil decided for 23 hours",
        Fill(replace(TADALAFIL, hours="23"), every="23"),
        "23 hours.*24 hours",
        T2 + "at most once a day",
    ),
    Row(
        "vardenafil ODT of 10 mg, on the tongue",
        Fill(VARDENAFIL_ODT),
        PASSES,
        V2 + "10 mg, at most once a day",
    ),
    Row(
        "vardenafil ODT decided at 20 mg",
        Fill(replace(VARDENAFIL_ODT, single="20 mg", daily="20 mg")),
        "20 mg.*10 mg",
        V2 + "10 mg, at most once a day",
    ),
    Row(
        "the ODT, told to go under the tongue",
        Fill(VARDENAFIL_ODT, route=Route.UNDER_TONGUE),
        "under-the-tongue.*on-the-tongue",
        V2 + "on the tongue",
    ),
    Row(
        "an under-the-tongue tablet, told to go on the tongue",
        Fill(TADALAFIL, route=Route.ON_TONGUE),
        "on-the-tongue.*under-the-tongue",
        "US zolpidem sublingual tablets label: under the tongue is a route of its own",
    ),
    Row(
        "ondansetron decided at 25 mg once",
        Fill(replace(ONDANSETRON, single="25 mg", daily="25 mg"), **SICK),
        "25 mg",
        "US ondansetron label, section 2: 16 mg before surgery; 24 mg once outside the US",
    ),
    Row(
        "ondansetron 8 mg three times a day, each 8 h apart",
        Fill(
            replace(ONDANSETRON, strength="8 mg", daily="24 mg"),
            **SICK,
        ),
        PASSES,
        "US ondansetron label, section 2: 8 mg three times a day (radiotherapy), from memory",
    ),
    Row(
        "naltrexone decided at 50 mg a day",
        Fill(replace(NALTREXONE, single="50 mg", daily="50 mg")),
        PASSES,
        "US naltrexone label, section 2: 50 mg a day",
    ),
    Row(
        "naltrexone decided at 51 mg a day",
        Fill(replace(NALTREXONE, single="51 mg", daily="51 mg")),
        "51 mg.*50 mg",
        "US naltrexone label, section 2: 50 mg a day",
    ),
    Row(
        "dexamethasone decided at 9 mg a day",
        Fill(replace(DEXAMETHASONE, daily="9 mg")),
        PASSES,
        "US dexamethasone label: start with 0.75 to 9 mg a day",
    ),
    Row(
        "dexamethasone decided at 10 mg a day",
        Fill(replace(DEXAMETHASONE, daily="10 mg")),
        "10 mg.*9 mg",
        "US dexamethasone label: start with 0.75 to 9 mg a day",
    ),
    Row(
        "melatonin decided at 6 mg a day",
        Fill(replace(MELATONIN, strength="3 mg", single="6 mg", daily="6 mg")),
        PASSES,
        M2 + "at most 6 mg a day",
    ),
    Row(
        "melatonin decided at 7 mg a day",
        Fill(replace(MELATONIN, strength="3 mg", single="7 mg", daily="7 mg")),
        "7 mg.*6 mg",
        M2 + "at most 6 mg a day",
    ),
    Row(
        "5 nights of melatonin against jet lag",
        Fill(replace(MELATONIN, use="jet-lag"), quantity=5),
        PASSES,
        M2 + "at most 5 days",
    ),
    Row(
        "6 nights of melatonin against jet lag",
        Fill(replace(MELATONIN, use="jet-lag"), quantity=6),
        "5 days",
        M2 + "at most 5 days",
    ),
    Row(
        "naltrexone against craving, told to be taken before sex for an erection",
        Fill(NALTREXONE, when="before-activity-30-60-min", reason="erection"),
        "erection",
        "common practice, no source: the reason on the label is one the medicine is for",
    ),
    Row(
        "tadalafil on the day before the 18th birthday",
        Fill(TADALAFIL, born=date(2008, 11, 25)),
        "18 years",
        "US tadalafil label, section 8.4: not for children, from memory",
    ),
    Row(
        "tadalafil on the 18th birthday",
        Fill(TADALAFIL, born=date(2008, 11, 24)),
        PASSES,
        "US tadalafil label, section 8.4: not for children, from memory",
    ),
]

SENSE = "common practice, no source: one label must not say two things"

CONTRADICTIONS = [
    Row(
        "three times a day, at most 3 tablets in 24 hours",
        Fill(ONDANSETRON, when="three-times-daily", **SICK),
        PASSES,
        SENSE,
    ),
    Row(
        "three times a day, at most 1 tablet in 24 hours",
        Fill(ONDANSETRON, when="three-times-daily", every="8", most="1"),
        "3 tablets.*at most 1",
        SENSE,
    ),
    Row(
        "every 8 hours, at least 8 hours apart",
        Fill(ONDANSETRON, when="every-8-h", **SICK),
        PASSES,
        SENSE,
    ),
    Row(
        "every 8 hours, at least 12 hours apart",
        Fill(ONDANSETRON, when="every-8-h", every="12", most="3"),
        "8 hours.*12 hours",
        SENSE,
    ),
    Row(
        "before sex, for nausea",
        Fill(ONDANSETRON, when="before-activity-30-60-min", **SICK),
        "before-activity.*nausea",
        SENSE,
    ),
    Row(
        "every morning, to help you sleep",
        Fill(MELATONIN, when="every-morning"),
        "every-morning.*sleep",
        SENSE,
    ),
    Row("at bedtime, to help you sleep", Fill(MELATONIN, when="at-bedtime"), PASSES, SENSE),
    Row(
        "ondansetron made for sleep",
        Fill(replace(ONDANSETRON, use="sleep"), **SICK),
        "ondansetron.*sleep",
        "US ondansetron label, section 1: nausea and vomiting, from memory",
    ),
    Row(
        "sildenafil made for the prostate",
        Fill(replace(SILDENAFIL, use="prostate"), when="once-daily"),
        "sildenafil.*prostate",
        "US sildenafil label, section 1, from memory; of this class tadalafil alone",
    ),
]


@table(ARITHMETIC + LABELS + CONTRADICTIONS)
def test_how_much_and_how_often(row: Row) -> None:
    """A dose passes at its limit, by exact arithmetic, and no further."""
    workspace = row.given.workspace()
    set_against(row, judge_prescription(workspace, workspace.prescriptions[0]))
