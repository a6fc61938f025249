"""Beyond-use dates and what may be filled from a lot, by USP <795> and by the calendar."""

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from published_records import MELATONIN, SAMPLE, TADALAFIL, Fill
from published_rows import PASSES, Row, set_against, table

from labelkit.ground.errors import Fault, RecordsRefused, Refused, RuleRefused
from labelkit.records.model import BeyondUse
from labelkit.records.reading import read_workspace
from labelkit.rules.beyond_use import beyond_use_of
from labelkit.rules.fills import fill
from labelkit.rules.judging import judge_lot

MADE = date(2026, 1, 15)
DAY_1 = (("made_on_is_day", 1),)
CLASS = "USP <795> (official 2023-11-01), section 10: nonaqueous solid forms 180 days, from memory"
CAP = "USP <795> (official 2023-11-01), section 10: at most 180 days with a stability study"
PART = "USP <795> (official 2023-11-01), section 10: earliest component expiry, from memory"
COUNT = "one published SOP counts the day of compounding as day 1; otherwise it is day 0"
STUDY = "USP <795>, section 10: the study is of this formulation in this container, from memory"
LASTS = "common practice, no source: the last tablet is taken before the lot's date"
GS1 = "GS1 General Specifications: "


def _study(days: int, container: str = "peel card in sleeve") -> BeyondUse:
    return BeyondUse(days=days, study="report TL-3, invented", container=container)


@pytest.mark.parametrize(
    ("given", "last_day", "source"),
    [
        (Fill(made=MADE), date(2026, 7, 14), CLASS),
        (Fill(made=MADE, pharmacy=DAY_1), date(2026, 7, 13), COUNT),
        (Fill(replace(TADALAFIL, beyond_use=_study(120)), made=MADE), date(2026, 5, 15), STUDY),
        (Fill(replace(TADALAFIL, beyond_use=_study(180)), made=MADE), date(2026, 7, 14), CAP),
        (Fill(replace(TADALAFIL, beyond_use=_study(365)), made=MADE), date(2026, 7, 14), CAP),
        (Fill(made=MADE, expiry=date(2026, 3, 31)), date(2026, 3, 31), PART),
        (Fill(made=MADE, expiry=date(2026, 7, 15)), date(2026, 7, 14), PART),
        (Fill(made=MADE, beyond_use=date(2026, 6, 1)), date(2026, 6, 1), "earlier is allowed"),
    ],
)
def test_the_beyond_use_date(given: Fill, last_day: date, source: str) -> None:
    """The date is the earliest of the class, the study, the cap and the ingredients."""
    workspace = given.workspace()
    assert beyond_use_of(workspace, workspace.lots[0]) == last_day, source


LOTS = [
    Row("180 days written", Fill(made=MADE, beyond_use=date(2026, 7, 14)), PASSES, CLASS),
    Row("181 days written", Fill(made=MADE, beyond_use=date(2026, 7, 15)), "180 days", CLASS),
    Row(
        "180 days written where the day of making is day 1",
        Fill(made=MADE, beyond_use=date(2026, 7, 14), pharmacy=DAY_1),
        "2026-07-13",
        COUNT,
    ),
    Row(
        "181 days written, with a study of a year",
        Fill(replace(TADALAFIL, beyond_use=_study(365)), made=MADE, beyond_use=date(2026, 7, 15)),
        "180 days",
        CAP,
    ),
    Row(
        "a day past the study",
        Fill(replace(TADALAFIL, beyond_use=_study(120)), made=MADE, beyond_use=date(2026, 5, 16)),
        "120 days",
        STUDY,
    ),
    Row(
        "a day past an ingredient's expiry",
        Fill(made=MADE, expiry=date(2026, 3, 31), beyond_use=date(2026, 4, 1)),
        "2026-03-31",
        PART,
    ),
    Row(
        "a study in a glass bottle, for a card",
        Fill(replace(TADALAFIL, beyond_use=_study(120, "amber glass bottle")), made=MADE),
        "amber glass bottle",
        STUDY,
    ),
    Row(
        "an oral solution by the tablets' default",
        Fill(replace(TADALAFIL, form="solution"), made=MADE),
        "default.*solution",
        "USP <795>, section 10: aqueous forms have 14 or 35 days, never 180",
    ),
]


@table(LOTS)
def test_a_lot_and_its_date(row: Row) -> None:
    """A written date later than the rules allow is refused."""
    workspace = row.given.workspace()
    set_against(row, judge_lot(workspace, workspace.lots[0]))


FILLS = [
    Row("a lot of this month", Fill(TADALAFIL), PASSES, CLASS),
    Row("a lot past its date", Fill(TADALAFIL, made=date(2026, 5, 1)), "2026-10-28", CLASS),
    Row("dated yesterday", Fill(beyond_use=date(2026, 11, 23)), "2026-11-23", CLASS),
    Row("all 90 usable tablets", Fill(quantity=90), PASSES, "arithmetic: 96 less 3 less 3"),
    Row("91 of 90 usable tablets", Fill(quantity=91), "90 usable", "arithmetic: 96 less 3 less 3"),
    Row(
        "30 nights, the lot ending with the last of them",
        Fill(MELATONIN, quantity=30, beyond_use=date(2026, 12, 23)),
        PASSES,
        LASTS,
    ),
    Row(
        "30 nights, the lot ending a day sooner",
        Fill(MELATONIN, quantity=30, beyond_use=date(2026, 12, 22)),
        "2026-12-22.*2026-12-23",
        LASTS,
    ),
]


def _filled(given: Fill) -> tuple[Fault, ...]:
    workspace = given.workspace()
    try:
        fill(workspace, workspace.prescriptions)
    except RuleRefused as refused:
        return refused.faults
    return ()


@table(FILLS)
def test_what_a_lot_may_fill(row: Row) -> None:
    """A lot is filled from while its tablets last and keep for as long as they're taken."""
    set_against(row, _filled(row.given))


CHANGES = [
    Row(
        "an ingredient that expires in February of a leap year",
        ("lots.csv", "TDF-8841:2028-03", "TDF-8841:2028-02"),
        PASSES,
        GS1 + "a month alone means its last day; 2028-02-29",
    ),
    Row(
        "an ingredient that expired the month before making",
        ("lots.csv", "TDF-8841:2028-03", "TDF-8841:2026-10"),
        "2026-10-31",
        PART,
    ),
    Row(
        "a GTIN with a wrong check digit",
        ("preparations/tadalafil.toml", "09521234543213", "09521234543214"),
        "check digit",
        GS1 + "section 7.9, modulo 10; 09521234543213 is the sound one",
    ),
    Row(
        "a strength of 500 µg",
        ("preparations/melatonin.toml", '["500 mcg"]', '["500 µg"]'),
        "misread",
        "ISMP list (2021): µg mistaken for mg",
    ),
    Row(
        "a strength in IU",
        ("preparations/melatonin.toml", '["500 mcg"]', '["500 IU"]'),
        "IU",
        "ISMP list (2021): IU mistaken for IV or 10",
    ),
    Row(
        "a strength of .5 mg",
        ("preparations/melatonin.toml", '["500 mcg"]', '[".5 mg"]'),
        "decimal point",
        "ISMP list (2021): naked decimal point",
    ),
    Row(
        "a strength of 0.0005 g, the same amount",
        ("preparations/melatonin.toml", '["500 mcg"]', '["0.0005 g"]'),
        PASSES,
        "1 g = 1000000 mcg (SI)",
    ),
    Row(
        "no route",
        ("preparations/tadalafil.toml", 'route = "under-the-tongue"\n', ""),
        "missing",
        "US vardenafil ODT label, section 2: on the tongue isn't under the tongue",
    ),
    Row(
        "a comparison without a source",
        ("preparations/tadalafil.toml", 'source = "Memo TL-2026-032', 'sauce = "Memo TL-2026-032'),
        "missing|known",
        "no published table compares under the tongue with swallowed",
    ),
]


@table(CHANGES)
def test_a_change_in_the_files(row: Row, tmp_path: Path) -> None:
    """A file that would make a wrong label is refused when it's read; a sound one is read."""
    name, old, new = row.given
    folder = tmp_path / "pharmacy"
    shutil.copytree(SAMPLE, folder)
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text, "the sample has changed"
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    faults: tuple[Fault, ...] = ()
    try:
        workspace = read_workspace(folder)
    except Refused as refused:
        assert isinstance(refused, RecordsRefused)
        faults = refused.faults
    else:
        assert workspace.preparation("melatonin").strengths[0].label == "500 mcg"
        faults = tuple(fault for one in workspace.left_out for fault in one.faults)
    set_against(row, faults)


def test_a_month_alone_is_its_last_day() -> None:
    """The sample's melatonin of 2027-02 keeps to 2027-02-28, the month's last day (GS1)."""
    workspace = read_workspace(SAMPLE)
    assert beyond_use_of(workspace, workspace.lot("MT2611")) == date(2027, 2, 28)
