"""The named values of one row, entry or table, taken out one by one with their kind checked.

Every taker returns a value of its kind. When the file's value can't be taken, the fault is
written down and a stand-in is returned, so that one reading finds all faults; the caller
drops the record when `Fields.sound` is false. No value is guessed or repaired.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import TypeVar

from labelkit.records import amounts, dates, identifiers
from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.model import Amount, Unit
from labelkit.records.text import NAME, clean, nearest, shown, slug

T = TypeVar("T")
Where = Callable[[str], str]
"""Gives the place in the file for a field's name (or for '' the place of the whole)."""

_NO_DAY = date(1, 1, 1)
_NO_AMOUNT = Amount(value=Decimal(1), unit=Unit.MG)


class Fields:
    """One row of a table file, one entry of a JSON file, or one table of a TOML file."""

    def __init__(
        self,
        book: FaultBook,
        file: str,
        values: Mapping[str, object],
        where: Where,
        prefix: str = "",
    ) -> None:
        self.book = book
        self.file = file
        self.values = values
        self.where = where
        self.prefix = prefix
        self.sound = True
        """Whether no fault was met in these fields."""
        self.is_row = True
        """Whether it has the form of a row at all: where not, its fields can't be told apart."""
        self.unfinished = True
        """Whether nothing is wrong but that cells are blank."""
        self.day_form = ""
        """The form of dates that the pharmacy declared for its tables; empty where it didn't."""

    def fault(self, name: str, wrong: str, mend: str) -> None:
        """Write down what is wrong with the field of that name ('' for the whole)."""
        self.unfinished = False
        self._write_down(name, wrong, mend)

    def _write_down(self, name: str, wrong: str, mend: str) -> None:
        self.sound = False
        self.book.add(self.file, self.where(name), f"{self.prefix}{name}".strip("."), wrong, mend)

    def blank(self, name: str) -> bool:
        """Whether the field is missing, null, or white space alone."""
        value = self.values.get(name)
        return value is None or (isinstance(value, str) and not value.strip())

    def only(self, known: Iterable[str]) -> None:
        """Write a fault for every field that isn't among the known ones."""
        names = tuple(known)
        for name in self.values:
            if name not in names:
                self.fault(
                    name if len(name) <= NAME else "",
                    f"{shown(name)} isn't a field of this record",
                    nearest(name, names),
                )

    def text(self, name: str, most: int = NAME) -> str:
        """A text that must be there, of at most `most` characters."""
        return self._take(name, "", lambda value: clean(_string(value), most))

    def maybe_text(self, name: str, most: int = NAME) -> str:
        """A text, or '' where the field is blank."""
        return "" if self.blank(name) else self.text(name, most)

    def slug(self, name: str) -> str:
        """The ending of a statement's id, as ``room-dry``."""
        return self._take(name, "", lambda value: slug(clean(_string(value))))

    def choice(self, name: str, options: Iterable[str]) -> str:
        """One of the words that are allowed."""
        known = tuple(options)

        def pick(value: object) -> str:
            word = clean(_string(value))
            if word not in known:
                raise Unreadable(
                    f"{shown(word)} isn't known here", f"use one of: {', '.join(known)}"
                )
            return word

        return self._take(name, known[0], pick)

    def whole(self, name: str, least: int = 0, most: int = amounts.MOST_WHOLE) -> int:
        """A whole number from `least` to `most`."""
        return self._take(name, least, lambda value: amounts.whole(_digits(value), least, most))

    def positive(self, name: str) -> Decimal:
        """A number above nought, exact."""
        return self._take(name, Decimal(1), lambda value: amounts.positive(_digits(value)))

    def maybe_true(self, name: str) -> bool:
        """True or false; false where the field is absent."""
        value = self.values.get(name, False)
        if not isinstance(value, bool):
            self.fault(name, f"is {_kind(value)}", "write true or false, without quotation marks")
            return False
        return value

    def day(self, name: str) -> date:
        """A calendar day."""
        return self._take(name, _NO_DAY, lambda value: dates.day(_day_text(value), self.day_form))

    def maybe_day(self, name: str) -> date | None:
        """A calendar day, or None where the field is blank."""
        return None if self.blank(name) else self.day(name)

    def amount(self, name: str) -> Amount:
        """An amount with its unit, as ``2.5 mg``."""
        return self._take(name, _NO_AMOUNT, lambda value: amounts.amount(_phrase(value)))

    def strength(self, name: str) -> str:
        """A strength's label, tidied: ``0.25 mg`` is ``250 mcg``."""
        return self._take(name, "", lambda value: amounts.label(amounts.amounts(_phrase(value))))

    def lot_number(self, name: str) -> str:
        """A lot number that a GS1 code can carry."""
        return self._take(name, "", lambda value: identifiers.lot_number(_phrase(value)))

    def prescription_number(self, name: str) -> str:
        """A prescription number that Code 128 can carry."""
        return self._take(name, "", lambda value: identifiers.prescription_number(_phrase(value)))

    def maybe_prescription_number(self, name: str) -> str:
        """A prescription number, or '' where the field is blank."""
        return "" if self.blank(name) else self.prescription_number(name)

    def patient_id(self, name: str) -> str:
        """The id of a patient's entry."""
        return self._take(name, "", lambda value: identifiers.patient_id(_phrase(value)))

    def maybe_gtin(self, name: str) -> str | None:
        """A GTIN, or None where the field is blank."""
        if self.blank(name):
            return None
        return self._take(name, "", lambda value: identifiers.gtin(_phrase(value)))

    def parsed(self, name: str, stand_in: T, parse: Callable[[str], T]) -> T:
        """A text of a form of its own: `parse` raises Unreadable."""
        return self._take(name, stand_in, lambda value: parse(_string(value)))

    def texts(
        self, name: str, parse: Callable[[str], str] = clean, example: str = ""
    ) -> tuple[str, ...]:
        """A list of texts, empty where the field is absent; with an `example`, one is required."""
        value = self.values.get(name)
        if example and value in (None, []):
            wrong = "is missing" if value is None else "is empty"
            self.fault(name, wrong, f"write a list, as [{example}]")
        if value is None:
            return ()
        if not isinstance(value, list):
            self.fault(name, f"is {_kind(value)}, not a list", 'write a list, as ["one", "two"]')
            return ()
        taken = []
        for place, item in enumerate(value, start=1):
            try:
                text = clean(_string(item))
                if not text:
                    raise Unreadable("is empty", "fill it in or take it out")
                taken.append(parse(text))
            except Unreadable as reason:
                self.fault(name, f"entry {place}: {reason.wrong}", reason.mend)
        return tuple(taken)

    def _take(self, name: str, stand_in: T, parse: Callable[[object], T]) -> T:
        if self.blank(name):
            if name in self.values:
                self._write_down(name, "is empty", "fill it in")
            else:
                self.fault(name, "is missing", "fill it in")
            return stand_in
        try:
            return parse(self.values[name])
        except Unreadable as reason:
            self.fault(name, reason.wrong, reason.mend)
            return stand_in


def _string(value: object) -> str:
    if not isinstance(value, str):
        raise Unreadable(f"is {_kind(value)}, not text", "write it between quotation marks")
    return value


def _phrase(value: object) -> str:
    return clean(_string(value))


def _digits(value: object) -> str:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise Unreadable(f"is {_kind(value)}, not a number", "write a number")
    if isinstance(value, str):
        return amounts.unambiguous(clean(value))
    if isinstance(value, int):
        if abs(value) > 10**12:
            raise Unreadable("is far too large a number", "check the number")
        return str(value)
    if not value.is_finite() or abs(value.adjusted()) > 12:
        raise Unreadable(f"{shown(value)} is no usable number", "check the number")
    return f"{value:f}"


def _day_text(value: object) -> str:
    if isinstance(value, datetime):
        raise Unreadable("holds a time of day", "write the date alone, as 2027-05-31")
    return value.isoformat() if isinstance(value, date) else clean(_string(value))


_KINDS: tuple[tuple[type, str], ...] = (
    (bool, "true or false"),
    (int, "a number"),
    (Decimal, "a number"),
    (str, "text"),
    (list, "a list"),
    (dict, "a table"),
    (date, "a date"),
)


def _kind(value: object) -> str:
    return next((words for kind, words in _KINDS if isinstance(value, kind)), "of another kind")
