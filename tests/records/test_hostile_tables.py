"""No value of a table is taken for what it isn't: each is refused by name, or kept as it is."""

from pathlib import Path
from typing import Any

import pytest
from record_cases import (
    COLUMNS,
    copy_of_sample,
    faults_of,
    rows_of,
    write_csv,
    write_json,
)

from labelkit.records.lot_rows import OPTIONAL as LOT_OPTIONAL
from labelkit.records.patient_rows import MEDICINE_OPTIONAL
from labelkit.records.patient_rows import OPTIONAL as PATIENT_OPTIONAL
from labelkit.records.prescription_rows import OPTIONAL as RX_OPTIONAL
from labelkit.records.reading import read_workspace

CELLS = [(stem, column) for stem, columns in COLUMNS.items() for column in columns]
FREE_TEXT = {
    "name",
    "medicine",
    "confirmed_by",
    "prescriber_name",
    "prescriber_registration",
    "prepared_by",
    "checked_by",
}
LIST = "allergies"
MAY_BE_BLANK = {*LOT_OPTIONAL, *RX_OPTIONAL, *PATIENT_OPTIONAL, *MEDICINE_OPTIONAL}
INVISIBLE = {
    "control": "a\x07b",
    "nul": "a\x00b",
    "delete": "a\x7fb",
    "c1": "a\x85b",
    "line separator": "a\u2028b",
    "override": "a\u202eb",
    "isolate": "a\u2066b",
    "right-to-left mark": "a\u200fb",
    "zero-width space": "a\u200bb",
    "soft hyphen": "a\u00adb",
    "mark within": "a\ufeffb",
    "private use": "a\ue000b",
    "unassigned": "a\u0378b",
    "lost character": "a\ufffdb",
    "tag": "a\U000e0041b",
}


def fault_for(folder: Path, stem: str, column: str, value: str) -> list[str]:
    """What is said of that cell once it holds that value; empty when nothing is."""
    rows = rows_of(stem)
    rows[0][column] = value
    write_csv(folder / f"{stem}.csv", rows)
    said = [
        f.wrong
        for f in faults_of(folder)
        if (f.file, f.where, f.field) == (f"{stem}.csv", "line 2", column)
    ]
    write_csv(folder / f"{stem}.csv", rows_of(stem))
    return said


def texts_in(value: object) -> set[object]:
    """Every text within dumped records."""
    if isinstance(value, dict):
        return set().union(*map(texts_in, value.values()))
    if isinstance(value, list | tuple):
        return set().union(*map(texts_in, value))
    return {value} if isinstance(value, str) else set()


@pytest.mark.parametrize("kind", INVISIBLE)
def test_what_cannot_be_seen_is_refused_by_its_code_point(tmp_path: Path, kind: str) -> None:
    """Every column refuses every kind of invisible character, and names it."""
    folder, value = copy_of_sample(tmp_path), INVISIBLE[kind]
    for stem, column in CELLS:
        (wrong,) = fault_for(folder, stem, column, value)
        assert f"U+{ord(value[1]):04X}" in wrong, (stem, column)


def test_line_breaks_are_refused_but_between_allergies(tmp_path: Path) -> None:
    """A line break within a value is refused everywhere but where it parts a list."""
    folder = copy_of_sample(tmp_path)
    for stem, column in CELLS:
        said = fault_for(folder, stem, column, "a\nb")
        assert bool(said) == (column != LIST), (stem, column)


def test_empty_cells_are_named(tmp_path: Path) -> None:
    """Every column that is needed says that it is empty; white space alone is empty."""
    folder = copy_of_sample(tmp_path)
    for stem, column in CELLS:
        for value in ("", "  ", "\u00a0", "\n"):
            said = fault_for(folder, stem, column, value)
            if column in MAY_BE_BLANK:
                assert said == [], (stem, column)
            else:
                assert said == ["is empty"], (stem, column)


def test_huge_cells_are_refused(tmp_path: Path) -> None:
    """Every column refuses 100,000 characters, without repeating them."""
    folder = copy_of_sample(tmp_path)
    for stem, column in CELLS:
        (wrong,) = fault_for(folder, stem, column, "x" * 100_000)
        assert len(wrong) < 300, (stem, column)


def test_cells_beyond_the_table_readers_bound_are_a_fault(tmp_path: Path) -> None:
    """A cell too large for the reader of tables stops that file, without a traceback."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("prescriptions")
    rows[0]["prescriber_name"] = "x" * 200_000
    write_csv(folder / "prescriptions.csv", rows)
    (fault,) = faults_of(folder)
    assert (fault.file, fault.where) == ("prescriptions.csv", "line 2 or below")


@pytest.mark.parametrize(
    "value",
    [
        "فاطمة الزهراء",
        "דוד כהן",
        "अनुष्का श्रीवास्तव",
        "<b>Tomás</b>",
        "{{ pharmacy.name }}",
        "=cmd|'/c calc'!A1",
        "%(name)s {name}",
        "\\u202e ${HOME} `id`",
        '"Bo" Li',
        "می\u200cخواهم",
    ],
)
def test_text_is_only_text(tmp_path: Path, value: str) -> None:
    """Scripts of either direction, markup and templates: kept as they are, or refused."""
    folder = copy_of_sample(tmp_path)
    for stem, column in CELLS:
        if column in FREE_TEXT:
            rows = rows_of(stem)
            rows[0][column] = value
            write_csv(folder / f"{stem}.csv", rows)
            assert value in texts_in(read_workspace(folder).model_dump()), (stem, column)
            write_csv(folder / f"{stem}.csv", rows_of(stem))
        elif column not in (LIST, "ingredient_lots"):
            assert fault_for(folder, stem, column, value), (stem, column)


@pytest.mark.parametrize("value", [True, [], {}, ["x"], {"a": 1}, 1.5, -7, 10**30, [None]])
def test_json_of_the_wrong_kind_is_named(tmp_path: Path, value: Any) -> None:
    """In JSON, every name refuses values of a kind that it can't hold."""
    numbers = {"tablets_per_dose", "least_interval_h", "most_in_24_h", "weight_kg"}
    for stem, column in CELLS:
        if column in numbers and value == 1.5:
            continue
        folder = copy_of_sample(tmp_path)
        (folder / f"{stem}.csv").unlink()
        entries: list[dict[str, Any]] = [dict(row) for row in rows_of(stem)]
        entries[0][column] = value
        write_json(folder / f"{stem}.json", entries)
        named = [(f.where, f.field) for f in faults_of(folder) if f.file == f"{stem}.json"]
        assert ("entry 1", column) in named, (stem, column)


def test_names_are_kept_in_nfc(tmp_path: Path) -> None:
    """A letter and its combining accent become the one letter (Unicode UAX #15, NFC)."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("patients")
    rows[0]["name"] = "Jose\u0301"
    write_csv(folder / "patients.csv", rows)
    assert read_workspace(folder).prescriptions[0].patient.name == "Jos\u00e9"
