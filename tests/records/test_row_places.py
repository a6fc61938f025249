"""Where rows stand: told with the faults that rules find in them."""

from pathlib import Path

import pytest
from record_cases import SAMPLE, copy_of_sample, rows_of, write_csv, write_json

from labelkit.jobs.orders import orders
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace
from labelkit.rules.places import At, placing


def places(folder: Path) -> dict[tuple[str, str], str]:
    """File and line of each row by table and name."""
    found = read_workspace(folder).places
    return {(table, row): f"{file}, {where}" for table, row, file, where in found}


def test_each_row_has_its_file_and_line(tmp_path: Path) -> None:
    """A header is line 1; a patient's medicines stand together."""
    folder = copy_of_sample(tmp_path)
    medicines = rows_of("medicines")
    mine = [row for row in medicines if row["patient"] == medicines[0]["patient"]]
    others = [row for row in medicines if row not in mine]
    write_csv(folder / "medicines.csv", [mine[0], *others, *mine[1:]])
    found = places(folder)
    assert found["prescriptions", "prescription 104322"] == "prescriptions.csv, line 3"
    assert found["lots", "lot TV2611"] == "lots.csv, line 2"
    assert found["patients", "patient p-002"] == "patients.csv, line 3"
    lines = [2, *range(len(others) + 3, len(medicines) + 2)]
    said = f"medicines.csv, lines {', '.join(map(str, lines))}"
    assert found["medicines", f"patient {mine[0]['patient']}"] == said


def test_the_fill_that_is_judged_has_the_place(tmp_path: Path) -> None:
    """Whichever of a number's fills stands first."""
    rows = rows_of("prescriptions")
    later = rows[0] | {"fill": "2"}
    earlier = rows[0] | {"lot": "TV2611"}
    for order, line in (([earlier, later], 3), ([later, earlier], 2)):
        folder = copy_of_sample(tmp_path / str(line))
        write_csv(folder / "prescriptions.csv", [*order, *rows[1:]])
        found = places(folder)["prescriptions", f"prescription {rows[0]['number']}"]
        assert found == f"prescriptions.csv, line {line}"


def test_entries_of_a_json_file_are_told_by_number(tmp_path: Path) -> None:
    """They have no lines of their own."""
    folder = copy_of_sample(tmp_path)
    (folder / "patients.csv").unlink()
    write_json(
        folder / "patients.json",
        [{k: v or None for k, v in r.items()} for r in rows_of("patients")],
    )
    assert places(folder)["patients", "patient p-002"] == "patients.json, entry 2"


def test_a_rules_fault_names_file_line_and_field(tmp_path: Path) -> None:
    """As a person finds it: a dose above the limit, in the row it stands in."""
    folder = copy_of_sample(tmp_path)
    rows = rows_of("prescriptions")
    rows[1] |= {"tablets_per_dose": "3", "most_in_24_h": "3"}
    write_csv(folder / "prescriptions.csv", rows)
    found = orders(read_workspace(folder), Wish(rx=(rows[1]["number"],)))
    (fault,) = {
        said.fault for one in found.refused for said in one.faults if said.rule == "dose.single"
    }
    assert fault.place == (
        f"prescriptions.csv, line 3, prescription {rows[1]['number']}, tablets_per_dose"
    )


@pytest.mark.parametrize(
    ("field", "line"),
    [("uses", 7), ("ingredients", 16), ("strengths", 21), ("limits.in_24_h", 42),
     ("comparison.swallowed_name", 57), ("beyond_use.nothing", 70), ("nothing", None)],
)  # fmt: skip
def test_a_preparations_keys_have_their_lines(field: str, line: int | None) -> None:
    """Of a list the first member's; of a key that isn't there the table's, if there is one."""
    file = "preparations/tadalafil.toml"
    text = (SAMPLE / file).read_text("utf-8").splitlines()
    placed = placing(read_workspace(SAMPLE))(At(file, "", "tadalafil").fault(field, "", "", "", ""))
    assert placed.where == ("" if line is None else f"line {line}")
    if line is not None:
        assert field.split(".")[0].removesuffix("s") in text[line - 1] or "." in field
