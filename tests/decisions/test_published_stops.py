"""What may not be made at all: unknown, controlled, wrongly packed, unanswered for, misread."""

from dataclasses import replace

from published_records import MELATONIN, TADALAFIL, Fill, Medicine, comparison, sample
from published_rows import PASSES, Row, set_against, table

from labelkit.records.model import Comparison, ComparisonRow, Preparation
from labelkit.rules.judging import judge_preparation

CSA = "21 USC 812; 21 CFR 1308: "
GLASS = "US nitroglycerin sublingual tablets label: keep in the original glass container"
ISMP = "ISMP list of error-prone abbreviations, symbols and dose designations (2021): "
ANSWERED = "no published table compares under the tongue with swallowed: someone must answer for it"

INGREDIENTS = [
    Row("tadalafil, all in order", Fill(TADALAFIL), PASSES, "US tadalafil label"),
    Row(
        "an ingredient that nobody knows",
        Fill(Medicine("zorblaxin")),
        "zorblaxin",
        "no label, so no caution can be had from one",
    ),
    Row(
        "ketamine, no schedule recorded", Fill(Medicine("ketamine")), "schedule III", CSA + "C-III"
    ),
    Row(
        "zolpidem, no schedule recorded",
        Fill(Medicine("zolpidem")),
        "controlled.*schedule IV",
        CSA + "1308.14(c), from memory",
    ),
    Row(
        "testosterone, no schedule recorded",
        Fill(Medicine("testosterone")),
        "controlled.*schedule III",
        CSA + "1308.13(f), from memory",
    ),
    Row("oxycodone", Fill(Medicine("oxycodone")), "controlled", CSA + "1308.12, from memory"),
    Row("lorazepam", Fill(Medicine("lorazepam")), "controlled", CSA + "1308.14, from memory"),
    Row(
        "a schedule recorded for a medicine that has none",
        Fill(replace(MELATONIN, schedule="C-IV")),
        "controlled.*C-IV",
        CSA + "the record has the last word",
    ),
    Row(
        "glyceryl trinitrate in a peel card",
        Fill(Medicine("glyceryl trinitrate", "400 mcg")),
        "original.*container",
        GLASS,
    ),
    Row(
        "nitroglycerin in a peel card",
        Fill(Medicine("nitroglycerin", "400 mcg")),
        "original.*container",
        GLASS,
    ),
    Row(
        "any medicine recorded as original container only",
        Fill(replace(TADALAFIL, handling=("original-container-only",))),
        "original.*container",
        GLASS + " is one such",
    ),
]

SPELLINGS = [
    Row(
        f"a title with {written!r}",
        Fill(replace(MELATONIN, title=f"Melatonin {written} tablets")),
        "misread",
        ISMP + why,
    )
    for written, why in (
        ("500 µg", "mistaken for mg"),
        ("10 U", "mistaken for 0 or 4"),
        ("10 IU", "mistaken for IV or 10"),
        ("QD", "mistaken for QID"),
        ("q.d.", "mistaken for QID"),
        ("QOD", "mistaken for QD or QID"),
        ("HS", "half-strength or bedtime"),
        ("BT", "mistaken for BID"),
        ("SC", "mistaken for SL"),
        ("D/C", "discharge or discontinue"),
        ("1.0 mg", "trailing zero, tenfold"),
        (".5 mg", "naked decimal point, tenfold"),
        ("10000 mcg", "thousands need a comma"),
        ("5mg", "space between number and unit"),
        ("5 cc", "mistaken for u"),
        ("> 5 mg", "mistaken for its opposite"),
        ("1/2 dose", "a fraction read as a date or as 1 or 2"),
    )
] + [
    Row(
        f"a title with {written!r}",
        Fill(replace(MELATONIN, title=f"Melatonin {written} tablets")),
        PASSES,
        ISMP + "the recommended spelling",
    )
    for written in ("500 mcg", "0.5 mg", "1,000 mcg", "1 mg")
]

SPELLINGS.append(
    Row(
        "a title with 'IU' and no number before it",
        Fill(replace(MELATONIN, title="Melatonin IU tablets")),
        "misread",
        ISMP + "IU is listed by itself",
    )
)

PROFILES = [
    Row(
        "Canada, no province",
        Fill(pharmacy=(("country", "ca"),)),
        "province",
        "pharmacy labelling is provincial law in Canada, from memory",
    ),
    Row(
        "Canada, Ontario",
        Fill(pharmacy=(("country", "ca"), ("province", "ON"))),
        PASSES,
        "pharmacy labelling is provincial law in Canada, from memory",
    ),
    Row(
        "Canada, Quebec, English alone",
        Fill(pharmacy=(("country", "ca"), ("province", "QC"), ("languages", ("en",)))),
        "fr",
        "Quebec, Charter of the French language, section 51, from memory",
    ),
    Row(
        "Canada, Quebec, French and English",
        Fill(pharmacy=(("country", "ca"), ("province", "QC"), ("languages", ("en", "fr")))),
        PASSES,
        "Quebec, Charter of the French language, section 51, from memory",
    ),
]


@table(INGREDIENTS + SPELLINGS + PROFILES)
def test_what_may_be_made(row: Row) -> None:
    """A preparation that can't be labelled truly is not labelled at all."""
    workspace = row.given.workspace()
    set_against(row, judge_preparation(workspace, workspace.preparations[0]))


def _compared(*rows: tuple[str, str], **changed: str) -> Preparation:
    """The sample's tadalafil, of 5 and of 10 mg, with that table."""
    table_of_ours = comparison("5 mg", "10 mg").model_copy(
        update={"rows": tuple(ComparisonRow(strength=a, swallowed=b) for a, b in rows), **changed}
    )
    assert isinstance(table_of_ours, Comparison)
    return sample().preparation("tadalafil").model_copy(update={"comparison": table_of_ours})


RISING = (("5 mg", "10 mg"), ("10 mg", "20 mg"))


@table(
    [
        Row("a rising table, answered for", _compared(*RISING), PASSES, ANSWERED),
        Row("no source", _compared(*RISING, source=""), "empty", ANSWERED),
        Row("nobody judged it", _compared(*RISING, judged_by=""), "empty", ANSWERED),
        Row(
            "it calls the two equivalent",
            _compared(*RISING, source="equivalent doses, a memo"),
            "equivalent",
            "US vardenafil ODT label: not interchangeable with the film-coated tablet",
        ),
        Row(
            "the stronger tablet beside the weaker",
            _compared(("5 mg", "20 mg"), ("10 mg", "10 mg")),
            "10 mg stands beside 10 mg",
            "arithmetic: more of the same medicine can't be comparable to less",
        ),
        Row(
            "two strengths beside one",
            _compared(("5 mg", "10 mg"), ("10 mg", "10 mg")),
            "10 mg stands beside 10 mg",
            "arithmetic: more of the same medicine can't be comparable to the same",
        ),
        Row(
            "a strength without a row",
            _compared(("5 mg", "10 mg")),
            "10 mg has 0 rows",
            ANSWERED,
        ),
        Row(
            "the comparison exceeds the swallowed maximum",
            _compared(("5 mg", "20 mg"), ("10 mg", "40 mg")),
            "40 mg.*20 mg",
            "US tadalafil label, section 2: 5 to 20 mg",
        ),
    ]
)
def test_a_comparison_with_a_swallowed_tablet(row: Row) -> None:
    """A table of comparison is complete, rising, answered for, and never says the same."""
    set_against(row, judge_preparation(sample(), row.given))
