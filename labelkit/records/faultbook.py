"""Where readers write down what is wrong, so that all of it is told at once.

It only collects. It decides nothing, and it never stops a reader half-way: a reader that met
a fault goes on with a stand-in value, and drops the record at the end.
"""

import re

from labelkit.ground.errors import Fault


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

    def add(self, file: str, where: str, field: str, wrong: str, mend: str) -> None:
        """Write one fault down."""
        self._faults[Fault(file=file, where=where, field=field, wrong=wrong, mend=mend)] = None

    @property
    def faults(self) -> tuple[Fault, ...]:
        """All that was written down: files as they were met, each from its top to its end."""
        files = list(dict.fromkeys(fault.file for fault in self._faults))
        return tuple(
            sorted(self._faults, key=lambda fault: (files.index(fault.file), _place(fault.where)))
        )

    def is_clean(self, file: str) -> bool:
        """Whether nothing was written down about that file."""
        return all(fault.file != file for fault in self._faults)

    def __len__(self) -> int:
        return len(self._faults)


def _place(where: str) -> int:
    """The number in ``line 7`` or ``entry 3``; 0 where there is none."""
    found = re.search(r"[0-9]+", where)
    return int(found[0]) if found else 0
