"""Reads ``medicines.toml``: brand and local names, and what the pharmacy says that they are.

The file may be absent. Checks form only: whether a name may be given that meaning is the rules'
business.
"""

from labelkit.records.fields import Fields
from labelkit.records.model import MedicineName
from labelkit.records.text import SHORT
from labelkit.records.toml_tables import TomlFile

MEDICINE_NAMES = "medicines.toml"


def read_medicine_names(file: TomlFile) -> tuple[MedicineName, ...]:
    """The names that could be read; faults are in the file's book."""
    file.root().only(("medicine",))
    found = (_name(table) for table in file.tables("medicine", required=False))
    return tuple(one for one in found if one)


def _name(table: Fields) -> MedicineName | None:
    table.only(("name", "is", "by", "licence", "on"))
    name = MedicineName(
        name=table.text("name"),
        is_=table.text("is"),
        by=table.text("by"),
        licence=table.text("licence", SHORT),
        on=table.day("on"),
    )
    return name if table.sound else None
