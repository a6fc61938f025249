"""Tables as spreadsheets of many countries export them: tabs, `sep=`, dates, other headings."""

from datetime import date
from pathlib import Path

import pytest
from record_cases import copy_of_sample

from labelkit.ground.errors import RecordsRefused
from labelkit.records import dates
from labelkit.records.adding import with_rows
from labelkit.records.faultbook import Unreadable
from labelkit.records.patient_rows import COLUMNS, OPTIONAL
from labelkit.records.reading import read_workspace


@pytest.mark.parametrize(
    ("mark", "head"), [("\t", ""), (";", "sep=;\r\n"), (",", "sep=,\n"), ("\t", "SEP=\t\n")]
)
def test_tabs_and_a_named_separator(tmp_path: Path, mark: str, head: str) -> None:
    """The same patients, whichever mark stands between cells and whether a first line names it;
    rows that are added keep it."""
    folder = copy_of_sample(tmp_path)
    before = read_workspace(folder).patients
    file = folder / "patients.csv"
    text = head + file.read_text(encoding="utf-8").replace(",", mark)
    file.write_text(text, encoding="utf-8")
    assert read_workspace(folder).patients == before
    new = dict.fromkeys(COLUMNS, "") | {"id": "p-900", "name": "Ilse Brandvold"}
    added = with_rows(text, "patients.csv", [new], COLUMNS, OPTIONAL, ("id",))
    assert added.text.splitlines()[-1] == f"p-900{mark}Ilse Brandvold{mark * 7}"
    assert added.text.startswith(text)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("30.12.1957", date(1957, 12, 30)),
        ("11/23/2026", date(2026, 11, 23)),
        ("23/11/2026", date(2026, 11, 23)),
        ("5.5.2027", date(2027, 5, 5)),
        ("2026-11-23", date(2026, 11, 23)),
    ],
)
def test_a_date_with_one_reading_is_read(text: str, day: date) -> None:
    """A day after the 12th, or the same figure twice, is one day in every country."""
    assert dates.day(text) == day


@pytest.mark.parametrize(
    "text",
    ["03/04/27", "03/04/2027", "03.04.2027", "30.12.57", "30.13.1957", "31.02.1957", "3 4 2027"],
)
def test_a_date_with_two_readings_or_none_is_refused(text: str) -> None:
    """Undeclared, two days in two countries; years of two digits; days that no calendar has."""
    with pytest.raises(Unreadable):
        dates.day(text)


@pytest.mark.parametrize(
    ("form", "text", "day"),
    [
        ("day.month.year", "03.04.2027", date(2027, 4, 3)),
        ("day/month/year", "03/04/2027", date(2027, 4, 3)),
        ("month/day/year", "03/04/2027", date(2027, 3, 4)),
        ("month/day/year", "2027-03-04", date(2027, 3, 4)),
    ],
)
def test_a_declared_form_is_read(form: str, text: str, day: date) -> None:
    """As the pharmacy declared it; ISO 8601 beside it."""
    assert dates.day(text, form) == day


@pytest.mark.parametrize(
    ("form", "text"),
    [
        ("day.month.year", "11.23.2026"),
        ("day/month/year", "03.04.2027"),
        ("month/day/year", "03/04/27"),
    ],
)
def test_another_form_than_the_declared_one_is_refused(form: str, text: str) -> None:
    """A month 23, another mark with two readings, a year of two digits."""
    with pytest.raises(Unreadable):
        dates.day(text, form)


def test_a_workspace_declares_its_dates(tmp_path: Path) -> None:
    """`dates` under [files]: the same patients as with ISO dates."""
    folder = copy_of_sample(tmp_path)
    before = read_workspace(folder).patients
    file = folder / "patients.csv"
    text = file.read_text(encoding="utf-8")
    for one in before:
        text = text.replace(one.born_on.isoformat(), f"{one.born_on:%d.%m.%Y}")
    file.write_text(text, encoding="utf-8")
    left_out = [one.name for one in read_workspace(folder).left_out if one.kind == "patient"]
    assert "p-001" in left_out  # 09.04.1961 has two readings while nothing is declared
    assert "p-002" not in left_out  # 30.12.1957 has one
    pharmacy = folder / "pharmacy.toml"
    declared = '\n[files]\ndates = "day.month.year"\n'
    pharmacy.write_text(pharmacy.read_text(encoding="utf-8") + declared, encoding="utf-8")
    assert read_workspace(folder).patients == before


def test_headings_in_another_language_are_one_sentence(tmp_path: Path) -> None:
    """Not a wall of faults: one that shows the headings and names those that are wanted."""
    folder = copy_of_sample(tmp_path)
    german = "Nummer,Name,Geburtsdatum,Sprache,Allergien,Niere,Leber,Schwangerschaft,Gewicht\n"
    (folder / "patients.csv").write_text(german, encoding="utf-8")
    with pytest.raises(RecordsRefused) as refusal:
        read_workspace(folder)
    told = [fault for fault in refusal.value.faults if fault.file == "patients.csv"]
    assert len(told) == 1
    assert "Geburtsdatum" in told[0].wrong and "born_on" in told[0].mend


def test_a_spreadsheets_own_file_is_told_once(tmp_path: Path) -> None:
    """patients.xlsx instead of a CSV: one fault with the way to save it."""
    folder = copy_of_sample(tmp_path)
    (folder / "patients.csv").rename(folder / "patients.xlsx")
    with pytest.raises(RecordsRefused) as refusal:
        read_workspace(folder)
    told = [fault for fault in refusal.value.faults if fault.file.startswith("patients")]
    assert [fault.file for fault in told] == ["patients.xlsx"]
    assert "CSV UTF-8" in told[0].mend
