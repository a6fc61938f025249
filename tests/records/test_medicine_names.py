"""The pharmacy's own names of medicines, as their file is read."""

from datetime import date
from pathlib import Path

from labelkit.records.faultbook import FaultBook
from labelkit.records.medicine_names_file import MEDICINE_NAMES, read_medicine_names
from labelkit.records.model import MedicineName
from labelkit.records.toml_tables import read_toml

ENTRY = """[[medicine]]
name = "Zorbifex forte"
is = "amlodipine + valsartan"
by = "Rowan Achterberg"
licence = "DEMO-1"
on = 2026-11-20
"""


def read(folder: Path, text: str) -> tuple[tuple[MedicineName, ...], FaultBook]:
    """What a file with that text gives, and the faults."""
    book = FaultBook()
    path = folder / MEDICINE_NAMES
    path.write_text(text, encoding="utf-8")
    file = read_toml(book, path, MEDICINE_NAMES)
    assert file is not None
    return read_medicine_names(file), book


def test_a_name_says_what_it_is_by_whom_and_when(tmp_path: Path) -> None:
    """All five fields come over as they stand."""
    names, book = read(tmp_path, ENTRY)
    assert not book.faults
    assert names == (
        MedicineName(
            name="Zorbifex forte",
            is_="amlodipine + valsartan",
            by="Rowan Achterberg",
            licence="DEMO-1",
            on=date(2026, 11, 20),
        ),
    )


def test_an_unfinished_name_is_left_out_and_told(tmp_path: Path) -> None:
    """Without who, licence or day it counts for nothing; an unknown key is named."""
    for gone in ("by", "licence", "on", "is", "name"):
        text = "".join(line for line in ENTRY.splitlines(True) if not line.startswith(f"{gone} ="))
        names, book = read(tmp_path, text)
        assert names == ()
        assert [f.field for f in book.faults] == [f"medicine[1].{gone}"]
    names, book = read(tmp_path, ENTRY + 'brand = "x"\n')
    assert names == () and len(book.faults) == 1
