"""A large workspace from the sample pharmacy: the same every time, whatever the machine.

Lots and prescriptions of the sample are repeated with numbers of their own; every patient was
born on another day, and every lot holds enough for its share.

    python benchmarks/pharmacies.py FOLDER [PRESCRIPTIONS [LOTS [BAD]]]
"""

import csv
import shutil
import sys
from datetime import date, timedelta
from pathlib import Path

SAMPLE = Path(__file__).parent.parent / "samples" / "pharmacy"
FIRST_NUMBER = 200_001
OLDEST = date(1938, 1, 1)
SPARE = 40
"""Tablets of a lot beyond its share: what its tests take, and the last fill's rest."""

Row = dict[str, str]


def write_workspace(
    folder: Path, prescriptions: int = 10_000, lots: int = 40, bad: int = 0
) -> tuple[str, ...]:
    """Write the workspace into a new folder; gives the numbers of the bad prescriptions.

    `bad` of them, evenly spread, can't be made, each for one of three reasons: a name that no
    sleeve has room for, more tablets a day than the limits allow, a medicine that forbids
    this one.
    """
    shutil.copytree(SAMPLE, folder)
    patterns = _read(folder / "prescriptions.csv")
    people = {row["id"]: row for row in _read(folder / "patients.csv")}
    answers = _read(folder / "medicines.csv")
    made_from = _read(folder / "lots.csv")
    wanted = [_prescription(patterns, number) for number in range(prescriptions)]
    patients = [_patient(people[rx["patient"]], number) for number, rx in enumerate(wanted)]
    medicines = [
        [row | {"patient": patient["id"]} for row in answers if row["patient"] == rx["patient"]]
        for rx, patient in zip(wanted, patients, strict=True)
    ]
    for rx, patient in zip(wanted, patients, strict=True):
        rx["patient"] = patient["id"]
    spoilt = [(2 * n + 1) * prescriptions // (2 * bad) for n in range(bad)]
    for number, place in enumerate(spoilt):
        _spoil(wanted[place], patients[place], medicines[place], number)
    stock = [_lot(made_from, number) for number in range(lots)]
    for rx, lot in zip(wanted, _lots_for(wanted, stock), strict=True):
        rx["lot"] = lot["number"]
        lot["made"] = str(int(lot["made"]) + int(rx["quantity_this_fill"]))
    _write(folder / "prescriptions.csv", wanted)
    _write(folder / "patients.csv", patients)
    _write(folder / "medicines.csv", [row for some in medicines for row in some])
    _write(folder / "lots.csv", stock)
    return tuple(wanted[place]["number"] for place in spoilt)


def _spoil(rx: Row, patient: Row, medicines: list[Row], number: int) -> None:
    forbidden = rx["preparation"] in {"sildenafil", "tadalafil", "vardenafil"}
    if number % 3 == 0 and forbidden:
        medicines[0] |= {"medicine": "nitroglycerin", "status": "takes"}
    elif number % 3 == 1:
        rx["most_in_24_h"] = "40"
    else:
        patient["name"] = " ".join([patient["name"]] * 4)


def _prescription(patterns: list[Row], number: int) -> Row:
    row = dict(patterns[number % len(patterns)])
    row["number"] = str(FIRST_NUMBER + number)
    return row


def _patient(pattern: Row, number: int) -> Row:
    born_on = (OLDEST + timedelta(days=number)).isoformat()
    return pattern | {"id": f"p-{number + 1:05}", "born_on": born_on}


def _lot(patterns: list[Row], number: int) -> Row:
    row = dict(patterns[number % len(patterns)])
    week = 2611 + number // len(patterns)
    row["number"] = f"{row['number'][:2]}{week}"
    row["made"] = str(SPARE)
    return row


def _lots_for(wanted: list[Row], stock: list[Row]) -> list[Row]:
    """A lot for each prescription, in turn among those of its preparation and strength."""
    by_medicine: dict[tuple[str, str], list[Row]] = {}
    for lot in stock:
        by_medicine.setdefault((lot["preparation"], lot["strength"]), []).append(lot)
    chosen, turns = [], dict.fromkeys(by_medicine, 0)
    for rx in wanted:
        medicine = rx["preparation"], rx["strength"]
        lots = by_medicine[medicine]
        chosen.append(lots[turns[medicine] % len(lots)])
        turns[medicine] += 1
    return chosen


def _read(path: Path) -> list[Row]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _write(path: Path, rows: list[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    write_workspace(Path(sys.argv[1]), *map(int, sys.argv[2:]))
