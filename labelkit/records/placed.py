"""A record together with its place in the workspace, for faults found by comparing records."""

from dataclasses import dataclass
from typing import Generic, TypeVar

from labelkit.records.faultbook import FaultBook

R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Placed(Generic[R]):
    """One record that could be read, and where it stands."""

    record: R
    file: str
    where: str

    def fault(self, book: FaultBook, field: str, wrong: str, mend: str) -> None:
        """Write down what is wrong with a field of this record."""
        book.add(self.file, self.where, field, wrong, mend)
