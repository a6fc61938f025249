"""Tables that go out are safe to open in a spreadsheet, and come back as they were."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.records.csv_rows import rows, written
from labelkit.records.faultbook import FaultBook

STARTS = ("=", "+", "-", "@", "\t", "\r")
"""How a cell begins that spreadsheets may run: OWASP, CSV Injection."""


def read(text: str) -> list[dict[str, object]]:
    """The rows of a table of two columns, as labelkit reads it."""
    book = FaultBook()
    found = rows(book, text, "prescriptions.csv", ("number", "patient_name"), ())
    assert not book.faults
    return [dict(fields.values) for fields in found]


CELLS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=20)


@given(
    start=st.sampled_from(["", "'", "''", " ", "=", "+", "-", "@", "\t", "'=", "' ="]), cell=CELLS
)
def test_no_cell_is_a_formula_and_all_come_back(start: str, cell: str) -> None:
    """Whatever a cell holds: the standard library reads no formula start, labelkit the cell."""
    row = {"number": "1", "patient_name": start + cell}
    text = written(("number", "patient_name"), [row])
    (_, (_, stands)) = csv.reader(io.StringIO(text, newline=""))
    assert not stands.startswith(STARTS)
    assert not stands.lstrip(" ").startswith(STARTS)
    assert read(text) == [row]


@pytest.mark.parametrize(
    ("cell", "stands"),
    [
        ("=HYPERLINK(A1)", "'=HYPERLINK(A1)"),
        ("+44 113 496 0000", "'+44 113 496 0000"),
        ("O'Brien-Smith", "O'Brien-Smith"),
        ("'t Hooft", "'t Hooft"),
        ("'=1", "''=1"),
    ],
)
def test_the_guard_is_one_apostrophe(cell: str, stands: str) -> None:
    """Only what a spreadsheet would run is changed; names with apostrophes stay."""
    text = written(("number", "patient_name"), [{"number": "1", "patient_name": cell}])
    assert text == f"number,patient_name\n1,{stands}\n"
