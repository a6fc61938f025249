"""Entries of a JSON file: a list of objects with the same names as the table file's columns.

Numbers are read exactly, never as floating point. Refuses a name that stands twice in one
object (RFC 8259, section 4, leaves open which would count), NaN and infinities.
"""

import json
from collections.abc import Sequence
from decimal import Decimal, DecimalException

from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.fields import Fields
from labelkit.records.text import shown


def rows(
    book: FaultBook, text: str, name: str, known: Sequence[str], optional: Sequence[str]
) -> list[Fields]:
    """One `Fields` for each object; none when the file isn't a list of objects.

    What is wrong with the file goes into `book`, what is wrong with one object into its own.
    """
    try:
        entries = json.loads(
            text,
            parse_float=Decimal,
            parse_constant=_no_constant,
            object_pairs_hook=each_name_once,
        )
    except json.JSONDecodeError as reason:
        book.add(
            name,
            f"line {reason.lineno}",
            "",
            f"isn't well-formed JSON: {reason.msg}",
            "mend the line, or export the file anew if it was cut short",
        )
        return []
    except Unreadable as reason:
        book.add(name, "", "", reason.wrong, reason.mend)
        return []
    except (ValueError, RecursionError, DecimalException):
        book.add(name, "", "", "isn't JSON that can be read", "export the file anew")
        return []
    if not isinstance(entries, list):
        book.add(name, "", "", "isn't a list of entries", "write it as [ {…}, {…} ]")
        return []
    found = []
    for place, entry in enumerate(entries, start=1):
        fields = _fields(name, place, entry if isinstance(entry, dict) else {})
        if not isinstance(entry, dict):
            fields.fault("", "isn't an object", "write it as { … }")
            fields.is_row = False
            found.append(fields)
            continue
        fields.only(known)
        for column in known:
            if column not in entry and column not in optional:
                fields.fault(column, "is missing", "add it; null is for 'not known'")
        found.append(fields)
    return found


def _fields(name: str, place: int, entry: dict[str, object]) -> Fields:
    return Fields(FaultBook(), name, entry, lambda _field: f"entry {place}")


def each_name_once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """An object of these names and values. Raises Unreadable for a name that stands twice."""
    found: dict[str, object] = {}
    for key, value in pairs:
        if key in found:
            raise Unreadable(f"{shown(key)} stands twice in one object", "remove one of the two")
        found[key] = value
    return found


def _no_constant(word: str) -> object:
    raise Unreadable(f"holds {word}, which is no number of JSON", "write a number or null")
