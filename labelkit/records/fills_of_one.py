"""The fills of one prescription, and prescriptions that name one another.

Number and fill together name a row; several fills of a number are its history. What was
ordered is the same in each; an earlier fill holds the lot it was filled from, since what
happened is written down and never worked out again.
"""

from collections import defaultdict
from collections.abc import Callable
from itertools import pairwise

from labelkit.records.decisions import Decisions
from labelkit.records.model import Prescription
from labelkit.records.table_rows import Row, Table
from labelkit.records.text import nearest, shown

_Same = Callable[[Prescription], object]

SAME: tuple[tuple[str, _Same], ...] = (
    ("written_on", lambda rx: rx.written_on),
    ("patient", lambda rx: rx.patient.id),
    ("prescriber_registration", lambda rx: rx.prescriber.registration),
    ("preparation", lambda rx: rx.preparation),
    ("strength", lambda rx: rx.strength),
    ("renews", lambda rx: rx.renews),
    ("replaces", lambda rx: rx.replaces),
)
"""What the fills of one number must agree in: all that was ordered, and from whom for whom."""


def check_fills(prescriptions: Table[Prescription]) -> None:
    """Write down fills that stand twice, contradict one another, or lost their lot."""
    of_number: dict[str, list[Row[Prescription]]] = defaultdict(list)
    for row in prescriptions.rows:
        if row.record:
            of_number[row.record.number].append(row)
    for rows in of_number.values():
        if len(rows) > 1:
            rows.sort(key=lambda row: row.record.fill if row.record else 0)
            for earlier, later in pairwise(rows):
                _follow(earlier, later)


def _follow(earlier: Row[Prescription], later: Row[Prescription]) -> None:
    one, other = earlier.record, later.record
    if one is None or other is None:
        return
    if one.fill == other.fill:
        later.fault(
            "number" if one.fill == 1 else "fill",
            f"{shown(one.number)}, fill {one.fill}, stands already at {earlier.where}",
            "number the fills 1, 2, 3 in the column 'fill', or remove the double",
        )
        earlier.causes.append(later)
        return
    for name, value in SAME:
        if value(one) != value(other):
            later.fault(
                name,
                f"fill {other.fill} of {shown(one.number)} says {shown(value(other))}, and fill "
                f"{one.fill} at {earlier.where} says {shown(value(one))}",
                "write what the prescription says into both, or give the other its own number",
            )
    if other.dispensed_on < one.dispensed_on:
        later.fault(
            "dispensed_on",
            f"fill {other.fill} is before fill {one.fill} at {earlier.where}, {one.dispensed_on}",
            "correct the one that is wrong",
        )
    if one.lot is None:
        earlier.fault(
            "lot",
            f"is empty, although fill {other.fill} followed at {later.where}",
            "write the lot that this fill was filled from, as its sleeve says",
        )


def check_links(prescriptions: Table[Prescription], decisions: Decisions) -> None:
    """Write down a prescription that renews or replaces one that isn't this patient's, or none."""
    by_number = {row.record.number: row for row in prescriptions.rows if row.record}
    for row in prescriptions.rows:
        if row.record is None:
            continue
        for name, number in (("renews", row.record.renews), ("replaces", row.record.replaces)):
            if number:
                _link(row, row.record, name, number, by_number, prescriptions.names, decisions)


def _link(
    row: Row[Prescription],
    rx: Prescription,
    name: str,
    number: str,
    by_number: dict[str, Row[Prescription]],
    numbers: tuple[str, ...],
    decisions: Decisions,
) -> None:
    if number == rx.number:
        row.fault(name, "names the prescription itself", "name the one before it")
        return
    if number not in numbers:
        row.fault(
            name,
            f"there is no prescription {shown(number)}",
            nearest(number, [one for one in numbers if one != rx.number] or numbers),
        )
        return
    before = by_number.get(number)
    if before is None or before.record is None:
        return
    if before.record.patient.id not in decisions.joined(rx.patient.id):
        row.fault(
            name,
            f"prescription {number} is another patient's",
            "name one of the same patient's prescriptions",
        )
    if before.record.written_on > rx.written_on or rx.number in (
        before.record.renews,
        before.record.replaces,
    ):
        row.fault(
            name,
            f"prescription {number} isn't the earlier of the two",
            "name the earlier prescription in the later one's row",
        )
