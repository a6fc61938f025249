"""Where readers write down what is wrong, so that all of it is told at once.

It only collects. It decides nothing, and it never stops a reader half-way: a reader that met
a fault goes on with a stand-in value, and drops the record at the end.
"""

import re
from collections import Counter

from labelkit.ground.errors import Fault

MOST_OF_FILE = 500
"""Faults of one file that are told. Our own bound: a file that has more is the wrong file."""

_MEND = "mend those that are told first: often they share one cause"


class Unreadable(ValueError):
    """One value that can't be taken as it stands: what is wrong, and what would mend it."""

    def __init__(self, wrong: str, mend: str) -> None:
        self.wrong = wrong
        self.mend = mend
        super().__init__(wrong)


class FaultBook:
    """The faults of one workspace, each once."""

    def __init__(self) -> None:
        self._faults: dict[Fault, None] = {}
        self._met: Counter[str] = Counter()

    def add(self, file: str, where: str, field: str, wrong: str, mend: str) -> None:
        """Write one fault down; past `MOST_OF_FILE` of a file they are only counted."""
        fault = Fault(file=file, where=where, field=field, wrong=wrong, mend=mend)
        if fault not in self._faults:
            self._met[file] += 1
            if self._met[file] <= MOST_OF_FILE:
                self._faults[fault] = None

    @property
    def faults(self) -> tuple[Fault, ...]:
        """All that was written down: files as they were met, each from its top to its end.

        Where a file had more faults than are told, its last one says how many.
        """
        files = list(self._met)
        found = sorted(
            self._faults, key=lambda fault: (files.index(fault.file), _place(fault.where))
        )
        untold = [
            Fault(file, "", "", f"has {met - MOST_OF_FILE} more faults, not told here", _MEND)
            for file, met in self._met.items()
            if met > MOST_OF_FILE
        ]
        return (*found, *untold)

    def is_clean(self, file: str) -> bool:
        """Whether nothing was written down about that file."""
        return file not in self._met

    def __len__(self) -> int:
        return self._met.total()


def _place(where: str) -> int:
    """The number in ``line 7`` or ``entry 3``; 0 where there is none."""
    found = re.search(r"[0-9]{1,9}", where)
    return int(found[0]) if found else 0
