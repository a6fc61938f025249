"""Rows and workspaces that the tests of reading share, and how to write them as files."""

import csv
import io
import json
import shutil
import unicodedata
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records import lot_rows, patient_rows, prescription_rows
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"
COLUMNS = {
    "patients": patient_rows.COLUMNS,
    "medicines": patient_rows.MEDICINE_COLUMNS,
    "lots": lot_rows.COLUMNS,
    "prescriptions": prescription_rows.COLUMNS,
}
Row = dict[str, str]


def copy_of_sample(folder: Path) -> Path:
    """The sample pharmacy, copied into `folder`."""
    workspace = folder / "pharmacy"
    if workspace.exists():
        shutil.rmtree(workspace)
    shutil.copytree(SAMPLE, workspace)
    return workspace


def rows_of(stem: str) -> list[Row]:
    """The sample's rows of that table, as text."""
    text = (SAMPLE / f"{stem}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def write_csv(
    path: Path,
    rows: list[Row],
    *,
    delimiter: str = ",",
    line_end: str = "\n",
    quoting: Any = csv.QUOTE_MINIMAL,
    bom: bool = False,
    encoding: str = "utf-8",
    last_line_end: bool = True,
) -> None:
    """Write a table as an export would."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(
        out, list(rows[0]), delimiter=delimiter, lineterminator=line_end, quoting=quoting
    )
    writer.writeheader()
    writer.writerows(rows)
    text = out.getvalue()
    if not last_line_end and text.removesuffix(line_end)[-1:] in '",;':
        # Within a value the reader asks for the line's end: it may be cut short.
        text = text.removesuffix(line_end)
    path.write_bytes((("\ufeff" if bom else "") + text).encode(encoding))


def write_json(path: Path, rows: list[dict[str, Any]]) -> None:
    """Write the same rows as a JSON list."""
    path.write_text(json.dumps(rows, ensure_ascii=False, indent=1), encoding="utf-8")


def faults_of(folder: Path) -> tuple[Fault, ...]:
    """The faults of that workspace and of each row that is left out; none when all of it reads."""
    try:
        workspace = read_workspace(folder)
    except RecordsRefused as refusal:
        return refusal.faults
    return tuple(dict.fromkeys(fault for row in workspace.left_out for fault in row.faults))


def same_but_root(one: Workspace, other: Workspace) -> bool:
    """Whether two workspaces hold the same records, wherever they were read."""
    return one.model_copy(update={"root": ""}) == other.model_copy(update={"root": ""})


def _name(text: str) -> str:
    return unicodedata.normalize("NFC", text).strip()


names = (
    st.text(
        st.one_of(
            st.characters(categories=["Ll", "Lu", "Lo", "Mn"], max_codepoint=0x2FFF),
            st.sampled_from(" ,;\"'-.<>&{}%"),
        ),
        min_size=1,
        max_size=80,
    )
    .map(_name)
    .filter(bool)
)
"""Names with letters and marks of many scripts, and the characters that break tables."""

days = st.dates(date(2026, 11, 25), date(2079, 12, 31))
"""Days after all those of the sample, while its patients may be alive."""


@dataclass(frozen=True)
class People:
    """Rows of three tables that belong together."""

    prescriptions: list[Row]
    patients: list[Row]
    medicines: list[Row]

    def write(self, folder: Path, **dialect: Any) -> None:
        """Write them in place of the workspace's own."""
        for stem in ("prescriptions", "patients", "medicines"):
            write_csv(folder / f"{stem}.csv", getattr(self, stem), **dialect)


@st.composite
def prescriptions(draw: st.DrawFn) -> People:
    """One to four valid prescriptions, each with its own number, patient and medicines."""
    numbers = draw(st.lists(st.integers(10_000, 9_999_999), min_size=1, max_size=4, unique=True))
    drawn = [draw(_prescription(str(number))) for number in numbers]
    return People(
        [rx for rx, _, _ in drawn],
        [patient for _, patient, _ in drawn],
        [medicine for _, _, some in drawn for medicine in some],
    )


@st.composite
def _prescription(draw: st.DrawFn, number: str) -> tuple[Row, Row, list[Row]]:
    row = dict(rows_of("prescriptions")[0])
    this_fill, remaining = draw(st.integers(1, 400)), draw(st.integers(0, 400))
    day, id_ = draw(days).isoformat(), f"p-{number}"
    written = [name for name in draw(st.lists(names, max_size=3)) if name.casefold() != "none"]
    row |= {
        "number": number,
        "patient": id_,
        "dispensed_on": day,
        "prescriber_name": draw(names),
        "quantity_prescribed": str(this_fill + remaining),
        "quantity_this_fill": str(this_fill),
        "quantity_remaining": str(remaining),
        "refills_left": str(draw(st.integers(0, 99))),
    }
    patient = rows_of("patients")[0] | {"id": id_, "name": draw(names)}
    answer = rows_of("medicines")[0] | {"patient": id_, "confirmed_on": day}
    medicines = [answer | {"medicine": name} for name in written]
    return row, patient, medicines or [answer | {"medicine": "none", "status": ""}]
