"""Damaging released files on purpose: the register of kinds, and one file opened for damage.

Written from the manifest and the PDF's own structure alone, without looking at how checks
look. A kind finds its places in a file and does one harm at one of them; it never decides
whether that harm is caught.
"""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import pikepdf
from marks import Block
from sheets import Sheet

from labelkit.manifest.model import Manifest, RequiredText


@dataclass(frozen=True, eq=False)
class Released:
    """A file that passed its check, with its manifest; equal only to itself."""

    name: str
    pdf: bytes
    manifest: Manifest


class Work:
    """A released file opened for damage; each sheet is read when first asked for."""

    def __init__(self, released: Released, others: Sequence[Released] = ()) -> None:
        self.pdf = pikepdf.open(io.BytesIO(released.pdf))
        self.name = released.name
        self.manifest = released.manifest
        self.others = tuple(other for other in others if other.name != released.name)
        """The rest of the batch, from which foreign parts may be taken."""
        self._sheets: dict[int, Sheet] = {}
        self.how: dict[str, Any] = {}
        """How the file is saved, beside the usual."""
        self.last: list[Callable[[bytes], bytes]] = []
        """What is done to its bytes at last."""

    @property
    def other_files(self) -> list[bytes]:
        """Files of the batch with other records, at most one."""
        others = [o for o in self.others if o.manifest.records != self.manifest.records]
        return [others[0].pdf] if others else []

    def sheet(self, page: int) -> Sheet:
        """The sheet of a page, from 0."""
        if page not in self._sheets:
            self._sheets[page] = Sheet(self.pdf, page, self.manifest)
        return self._sheets[page]

    @property
    def sheets(self) -> list[Sheet]:
        """All sheets in the order of pages."""
        return [self.sheet(page) for page in range(len(self.manifest.pages))]

    @cached_property
    def required(self) -> list[tuple[Sheet, Block, RequiredText]]:
        """Blocks that alone say a required text in its place: on its page, or where it flows."""
        # Sheets alike share the texts of their pages: each is required on every one of them. A
        # flowing text stands on one of its chain's pages.
        flowing = {id(text) for flow in self.manifest.flows for text in flow.texts}
        by_text: dict[tuple[int, int], list[tuple[Sheet, Block, RequiredText]]] = {}
        for sheet in self.sheets:
            for wanted, blocks in sheet.sayings:
                page = -1 if id(wanted) in flowing else sheet.number
                saying = by_text.setdefault((page, id(wanted)), [])
                saying.extend((sheet, block, wanted) for block in blocks)
        return [saying[0] for saying in by_text.values() if len(saying) == 1]

    def saved(self, **how: Any) -> bytes:
        """The bytes with every sheet that was read written back."""
        for sheet in self._sheets.values():
            sheet.write()
        made = io.BytesIO()
        self.pdf.save(made, **{"deterministic_id": True, **self.how, **how})
        said = made.getvalue()
        for change in self.last:
            said = change(said)
        return said


@cache
def opened(released: Released) -> Work:
    """A file opened for looking only, once; harms are done to a `Work` of their own."""
    return Work(released)


@dataclass(frozen=True)
class Kind:
    """One way to damage a file."""

    name: str
    says: str
    """What is wrong with the file afterwards, as a clause for the table."""
    find: Callable[[Work], list[Any]]
    """The places in a file where this harm can be done, always in the same order."""
    harm: Callable[[Work, Any], None]
    module: str
    """The module that registered it."""


KINDS: dict[str, Kind] = {}


def kind(
    name: str, says: str, find: Callable[[Work], list[Any]]
) -> Callable[[Callable[[Work, Any], None]], Callable[[Work, Any], None]]:
    """Register a harm under a name; a name taken twice is an error."""

    def register(harm: Callable[[Work, Any], None]) -> Callable[[Work, Any], None]:
        if name in KINDS:
            raise ValueError(f"two kinds named {name}")
        KINDS[name] = Kind(name, says, find, harm, harm.__module__)
        return harm

    return register


def injected(which: Kind, released: Released, place: int, others: Sequence[Released] = ()) -> bytes:
    """The file with one harm done at its place of that number."""
    work = Work(released, others)
    which.harm(work, which.find(work)[place])
    return work.saved()


def once(work: Work) -> list[None]:
    """One place: the file as a whole."""
    return [None]


def each_page(work: Work) -> list[int]:
    """One place for every page."""
    return list(range(len(work.manifest.pages)))
