"""Tells a workspace of the shape that came before patients had files of their own.

Such a workspace isn't read: `labelkit upgrade` brings it over once, and reading both shapes for
good would make each rule ask which one it has before it.
"""

import re
from pathlib import Path

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records.faultbook import FaultBook
from labelkit.records.files import is_there, read_text

SIGN = "patient_name"
"""A column (or a name in JSON) that only the earlier shape has."""


MOST_HEADER = 5_000
"""Characters of a table's first line that are looked at. Our own bound."""


def is_earlier_shape(text: str, name: str) -> bool:
    """Whether the text of a prescriptions' table names its patients in its own rows."""
    if name.endswith(".json"):
        return f'"{SIGN}"' in text
    header = text.lstrip().partition("\n")[0][:MOST_HEADER]
    return SIGN in re.split(r"[,;\"\s]+", header)


def refuse_earlier_shape(folder: Path, encoding: str) -> None:
    """Raise RecordsRefused where the prescriptions are of the earlier shape, with the command
    that brings them over."""
    for name in ("prescriptions.csv", "prescriptions.json"):
        text = (
            read_text(FaultBook(), folder / name, name, encoding)
            if is_there(folder / name)
            else None
        )
        if text and is_earlier_shape(text, name):
            raise RecordsRefused(
                [
                    Fault(
                        name,
                        "line 1" if name.endswith(".csv") else "",
                        SIGN,
                        "names its patients in its own rows: patients, and their medicines, have "
                        "files of their own now (patients.csv, medicines.csv)",
                        f"run labelkit upgrade {folder.name or folder}, and read what it tells",
                    )
                ]
            )
