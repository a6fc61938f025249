"""Tables in every dialect that real exports have, and JSON, give the same records."""

import csv
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from record_cases import (
    COLUMNS,
    People,
    copy_of_sample,
    faults_of,
    prescriptions,
    rows_of,
    same_but_root,
    write_csv,
    write_json,
)

from labelkit.records.prescription_rows import OPTIONAL
from labelkit.records.reading import read_workspace

QUICK = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@QUICK
@given(
    rows=prescriptions(),
    delimiter=st.sampled_from(",;"),
    line_end=st.sampled_from(["\n", "\r\n", "\r"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    bom=st.booleans(),
    last_line_end=st.booleans(),
    order=st.randoms(use_true_random=False),
)
def test_every_dialect_gives_the_same_records(
    tmp_path: Path,
    rows: People,
    delimiter: str,
    line_end: str,
    quoting: int,
    bom: bool,
    last_line_end: bool,
    order: Random,
) -> None:
    """Separator, line ends, quotation, BOM and order of columns change nothing (RFC 4180)."""
    plain, other = copy_of_sample(tmp_path / "a"), copy_of_sample(tmp_path / "b")
    rows.write(plain)
    shuffled = [
        [{column: row[column] for column in order.sample(list(row), len(row))} for row in table]
        for table in (rows.prescriptions, rows.patients, rows.medicines)
    ]
    # One order for all rows of a table: the first row's.
    People(*[[{c: row[c] for c in table[0]} for row in table] for table in shuffled]).write(
        other,
        delimiter=delimiter,
        line_end=line_end,
        quoting=quoting,
        bom=bom,
        last_line_end=last_line_end,
    )
    assert same_but_root(read_workspace(plain), read_workspace(other))


@QUICK
@given(rows=prescriptions())
def test_values_come_back_as_they_were_written(tmp_path: Path, rows: People) -> None:
    """Names with quotes, separators and marks of any script are read unchanged."""
    folder = copy_of_sample(tmp_path)
    rows.write(folder, delimiter=";", quoting=csv.QUOTE_ALL)
    told = {(m["patient"], m["medicine"]) for m in rows.medicines if m["medicine"] != "none"}
    found = read_workspace(folder).prescriptions
    for rx, row, patient in zip(found, rows.prescriptions, rows.patients, strict=True):
        assert rx.number == row["number"]
        assert rx.patient.name == patient["name"]
        assert rx.prescriber.name == row["prescriber_name"]
        assert rx.dispensed_on.isoformat() == row["dispensed_on"]
        assert rx.quantity_this_fill == int(row["quantity_this_fill"])
        assert rx.patient.medicines is not None
        written = {(rx.patient.id, one.written) for one in rx.patient.medicines}
        assert written == {one for one in told if one[0] == rx.patient.id}
        assert rx.patient.medicines_asked_on == rx.dispensed_on


@QUICK
@given(rows=prescriptions())
def test_json_gives_the_records_of_the_table(tmp_path: Path, rows: People) -> None:
    """The JSON form with the same names gives an equal workspace."""
    table, entries = copy_of_sample(tmp_path / "a"), copy_of_sample(tmp_path / "b")
    rows.write(table)
    for stem in ("prescriptions", "patients", "medicines"):
        (entries / f"{stem}.csv").unlink()
        blank_is_null = [{k: v or None for k, v in row.items()} for row in getattr(rows, stem)]
        write_json(entries / f"{stem}.json", blank_is_null)
    assert same_but_root(read_workspace(table), read_workspace(entries))


def test_json_numbers_are_numbers(tmp_path: Path) -> None:
    """Counts may be JSON numbers, and halves are exact; absent optional names are blank."""
    folder = copy_of_sample(tmp_path)
    (folder / "prescriptions.csv").unlink()
    entry: dict[str, object] = dict(rows_of("prescriptions")[0])
    for name in OPTIONAL:
        del entry[name]
    write_json(
        folder / "prescriptions.json",
        [entry | {"quantity_this_fill": 6, "tablets_per_dose": 0.5, "least_interval_h": 24}],
    )
    (rx,) = read_workspace(folder).prescriptions
    assert rx.quantity_this_fill == 6
    assert str(rx.directions.tablets_per_dose) == "0.5"
    assert rx.lidding == "stock" and rx.lot is None


def test_quoted_line_breaks_part_allergies_and_lines_stay_counted(tmp_path: Path) -> None:
    """A cell may hold line breaks where it is a list; later faults still name their line."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("patients")
    rows[0]["allergies"] = "penicillin\r\nlatex\n"
    write_csv(folder / "patients.csv", rows, line_end="\r\n")
    assert read_workspace(folder).patients[0].allergies == ("penicillin", "latex")
    rows[1]["kidney"] = "many"
    write_csv(folder / "patients.csv", rows, line_end="\r\n")
    (fault,) = faults_of(folder)
    assert fault.where == "line 5", "header, a row of three lines, then this one"


@pytest.mark.parametrize("encoding", ["windows-1252", "iso-8859-15", "windows-1250", "utf-16"])
def test_a_declared_encoding_is_used(tmp_path: Path, encoding: str) -> None:
    """Declared in pharmacy.toml, another encoding reads names as they were written."""
    folder = copy_of_sample(tmp_path)
    for stem in COLUMNS:
        rows = rows_of(stem)[:1]
        if stem == "patients":
            rows[0]["name"] = "José Müller"
        write_csv(folder / f"{stem}.csv", rows, encoding=encoding)
    with (folder / "pharmacy.toml").open("a", encoding="utf-8") as file:
        file.write(f'\n[files]\nencoding = "{encoding}"\n')
    assert read_workspace(folder).prescriptions[0].patient.name == "José Müller"


@pytest.mark.parametrize("bom", [True, False], ids=["marked", "unmarked"])
def test_a_declared_encoding_that_the_file_contradicts_is_refused(
    tmp_path: Path, bom: bool
) -> None:
    """A file of UTF-8 declared windows-1252 stops the reading, with UTF-8's mark at its start or
    without: Tomás would be printed as TomÃ¡s."""
    folder = copy_of_sample(tmp_path)
    write_csv(folder / "patients.csv", rows_of("patients"), bom=bom)
    with (folder / "pharmacy.toml").open("a", encoding="utf-8") as file:
        file.write('\n[files]\nencoding = "windows-1252"\n')
    (fault,) = [f for f in faults_of(folder) if f.file == "patients.csv"]
    assert fault.wrong.startswith("is UTF-8 by its bytes, and windows-1252 by pharmacy.toml")


def test_blank_lines_are_no_rows(tmp_path: Path) -> None:
    """Lines of nothing but separators, as spreadsheets leave them, are passed over."""
    folder = copy_of_sample(tmp_path)
    path = folder / "lots.csv"
    path.write_text(path.read_text(encoding="utf-8") + "\n,,,,,,,,,,,\n\n", encoding="utf-8")
    assert len(read_workspace(folder).lots) == 4


def test_the_header_may_leave_out_optional_columns_alone(tmp_path: Path) -> None:
    """Optional columns may be absent; each other column that is absent is named."""
    folder = copy_of_sample(tmp_path)
    for column in COLUMNS["prescriptions"]:
        row = {k: v for k, v in rows_of("prescriptions")[0].items() if k != column}
        write_csv(folder / "prescriptions.csv", [row])
        named = [(f.where, f.field, f.wrong) for f in faults_of(folder)]
        assert named == ([] if column in OPTIONAL else [("line 1", column, "is missing")])
