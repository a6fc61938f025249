"""Brings tables of the earlier shape over, where each prescription held its patient's facts.

Takes the rows as they stand and moves cells; it makes up nothing. Who asked about the medicines
was never written down, and so it says `NOT_RECORDED`; a lot's status was never written down
either, and is `made` unless the caller says that they were all released. Entries that may be one
person aren't joined: names that differ in any way are two entries until somebody decides.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from labelkit.records import patient_rows, prescription_rows
from labelkit.records.faultbook import Unreadable
from labelkit.records.patient_rows import NONE, listed
from labelkit.records.patients import MedicineStatus

NOT_RECORDED = "not recorded"
OWN = {
    "patient_name": "name",
    "patient_born_on": "born_on",
    "patient_language": "language",
}
"""Columns of the earlier prescriptions, and where they stand in the patients' table now."""
MEDICINES = "patient_medicines"
ASKED = "patient_medicines_asked_on"
EARLIER_COLUMNS = (
    *(column for column in prescription_rows.COLUMNS[:4] if column != "fill"),
    *OWN,
    MEDICINES,
    ASKED,
    *(
        column
        for column in prescription_rows.COLUMNS[5:]
        if column not in ("renews", "replaces", "closed_on", "handed_over_on")
    ),
)
EARLIER_OPTIONAL = ("lot", "lidding", "closure_requested_by", "closure_requested_on")
Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Upgraded:
    """The rows of the tables in the present shape, and what a person must know of them."""

    patients: tuple[Row, ...]
    medicines: tuple[Row, ...]
    prescriptions: tuple[Row, ...]
    notes: tuple[str, ...]


def upgraded(rows: Sequence[Row]) -> Upgraded:
    """Patients, medicines and prescriptions from the rows of an earlier prescriptions' table.

    Each name, birth date and language is an entry of its own, with ids in the rows' order. Where
    the rows of one entry say different medicines, those of the latest day count, all of
    them. A list that can't be read is taken over as one entry, for a person to mend.
    """
    ids: dict[tuple[str, ...], str] = {}
    answers: dict[str, list[tuple[str, str]]] = {}
    prescriptions = []
    for row in rows:
        key = tuple(row.get(column, "").strip() for column in OWN)
        id_ = ids.setdefault(key, f"p-{len(ids) + 1:03}")
        if row.get(MEDICINES, "").strip() or row.get(ASKED, "").strip():
            asked = (row.get(ASKED, "").strip(), row.get(MEDICINES, "").strip())
            answers.setdefault(id_, []).append(asked)
        prescriptions.append({**_kept(row), "patient": id_})
    medicines, notes = [], []
    for id_, said in answers.items():
        latest = max(day for day, _ in said)
        names = dict.fromkeys(name for day, text in said if day == latest for name in _names(text))
        if len({frozenset(map(str.casefold, _names(text))) for _, text in said}) > 1:
            notes.append(
                f"patient {id_}: the prescriptions said different medicines; those asked on "
                f"{latest or 'no day'} were taken over ({len(names)}), so compare them"
            )
        taken = [name for name in names if name.casefold() != NONE] or list(names)
        medicines += [_medicine(id_, name, latest) for name in taken]
    patients = tuple(
        {"id": id_, **dict(zip(OWN.values(), key, strict=True))} for key, id_ in ids.items()
    )
    return Upgraded(patients, tuple(medicines), tuple(prescriptions), tuple(notes))


def upgraded_lots(rows: Sequence[Row], *, released: bool) -> tuple[Row, ...]:
    """The lots with their status: `released` if a person said that all are, else `made`.

    One that has a status keeps it.
    """
    status = "released" if released else "made"
    return tuple({**row, "status": row.get("status") or status} for row in rows)


def _kept(row: Row) -> dict[str, str]:
    return {column: row.get(column, "") for column in prescription_rows.COLUMNS} | {"fill": "1"}


def _names(text: str) -> tuple[str, ...]:
    try:
        return listed(text) or (NONE,)
    except Unreadable:
        return (text,) if text else ("",)


def _medicine(id_: str, name: str, asked_on: str) -> Row:
    none = name.casefold() == NONE
    return dict(
        zip(
            patient_rows.MEDICINE_COLUMNS,
            (id_, name, "" if none else MedicineStatus.TAKES.value, "", NOT_RECORDED, asked_on),
            strict=True,
        )
    )
