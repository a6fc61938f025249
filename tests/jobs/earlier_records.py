"""The sample pharmacy in the shape that records had before patients had a file of their own."""

import csv
import io
import shutil
from pathlib import Path

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"
HEADER = (
    "number,written_on,dispensed_on,patient_name,patient_born_on,patient_language,"
    "patient_medicines,patient_medicines_asked_on,prescriber_name,prescriber_registration,"
    "prescriber_telephone,preparation,strength,quantity_prescribed,quantity_this_fill,"
    "quantity_remaining,refills_left,tablets_per_dose,route,when,reason,least_interval_h,"
    "most_in_24_h,lot,lidding,closure_requested_by,closure_requested_on"
)
"""As labelkit 0.1 wrote it."""
LOTS = (
    "number,preparation,strength,made_on,made,rejected,tested,retained,beyond_use,"
    "ingredient_lots,prepared_by,checked_by"
)


def earlier(folder: Path) -> Path:
    """A copy of the sample in `folder` with its tables written in the earlier shape."""
    records = Path(shutil.copytree(SAMPLE, folder / "records"))
    people = {row["id"]: row for row in _rows(records / "patients.csv")}
    medicines = _rows(records / "medicines.csv")
    rows = []
    for rx in _rows(records / "prescriptions.csv"):
        who = people[rx["patient"]]
        theirs = [row for row in medicines if row["patient"] == rx["patient"]]
        rows.append(
            rx
            | {f"patient_{column}": who[column] for column in ("name", "born_on", "language")}
            | {
                "patient_medicines": ";".join(row["medicine"] for row in theirs),
                "patient_medicines_asked_on": theirs[0]["confirmed_on"],
            }
        )
    write(records / "prescriptions.csv", HEADER, rows)
    write(records / "lots.csv", LOTS, _rows(records / "lots.csv"))
    (records / "patients.csv").unlink()
    (records / "medicines.csv").unlink()
    return records


def write(path: Path, header: str, rows: list[dict[str, str]]) -> None:
    """Write those columns of the rows."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, header.split(","), lineterminator="\n", extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")


def _rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
