"""The manifest: a plain, serialisable list of what a reader must find in the PDF.

Places are in millimetres from the top left of the page. It is written beside the PDF as
``*.manifest.json`` (`labelkit.manifest.file`), and `labelkit check` needs nothing else.
"""

from functools import lru_cache
from typing import Annotated, TypeVar

from pydantic import BaseModel, ConfigDict, FailFast, model_validator

from labelkit.ground.box import Box

T = TypeVar("T")
Several = Annotated[tuple[T, ...], FailFast()]
"""Any number of them. The first that is wrong ends the reading: a file of a million wrong parts
would fill the memory with what is wrong."""


class Part(BaseModel):
    """Base: frozen, nothing unknown."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Place(Part):
    """A rectangle on a page, in millimetres from its top left."""

    x_mm: float
    y_mm: float
    w_mm: float
    h_mm: float


@lru_cache(maxsize=16_384)
def place(box: Box) -> Place:
    """A box as the manifest writes it, to a thousandth of a millimetre.

    The same one for the same box: the sheets of a lot have all their places in common.
    """
    return Place(
        x_mm=round(box.x_mm, 3),
        y_mm=round(box.y_mm, 3),
        w_mm=round(box.w_mm, 3),
        h_mm=round(box.h_mm, 3),
    )


class RequiredText(Part):
    """A text that must stand, whole and legible, inside `within`."""

    id: str
    """Particular's id (``strength``) or statement id."""
    origin: str
    """``fact:NAME``, or ``fact:NAME,NAME`` where a field joins several; or ``statement:ID``."""
    text: str
    """In logical order, NFC; compared after NFKC with white space collapsed."""
    language: str
    within: Place
    piece: str
    area: str
    least_pt: float
    least_x_height_mm: float
    source: str
    """Why it is required: the rule's source."""
    instead: str = ""
    """A shorter text that may stand in its stead, where the layout names one; else empty."""
    facts: dict[str, str] = {}
    """Each fact's own words, where the text joins several; else empty."""
    quoted: Several[str] = ()
    """Stretches that quote a record, in a text with letters of a right-to-left script: each must
    read in its own order, whatever the order of the line."""

    @property
    def origins(self) -> tuple[str, ...]:
        """``fact:NAME`` of each fact that the text joins, or its one origin."""
        kind, _, names = self.origin.partition(":")
        return tuple(f"{kind}:{name}" for name in names.split(","))


class RequiredValue(Part):
    """A record's value that the checker must parse back out of the text of `within`."""

    kind: str
    """``lot``, ``date``, ``strength``, ``drug``, ``rx``, ``tablets``."""
    value: str
    """As the record has it: ISO for a date, ``2.5 mg`` for a strength, digits for a number."""
    within: Place
    piece: str
    area: str


class RequiredCode(Part):
    """A code that must scan inside `within` and read back to these fields."""

    name: str
    symbology: str
    fields: dict[str, str]
    """Record values: ``lot``, ``beyond_use`` (ISO), ``serial``, ``gtin``, ``rx``, ``address``."""
    gs1: bool
    within: Place
    piece: str
    area: str
    dpi: int
    least_x_mm: float
    most_x_mm: float
    quiet_modules: int


class EmptyPlace(Part):
    """A cell over an unused cavity: no strength, no lot, no code may stand there."""

    within: Place
    piece: str
    area: str


class RequiredMark(Part):
    """A registration mark: a cross at a point of the page, on a back with a ring about it."""

    x_mm: float
    y_mm: float
    arm_mm: float
    """From its middle to the end of each arm."""
    ring_mm: float
    """Radius of the ring; 0 for none."""


class RequiredPicture(Part):
    """A drawing that must be seen as it is: as large, the same way round, in black."""

    name: str
    within: Place
    """The rectangle it fills."""
    ink: Several[str]
    """Its ink on a grid, row by row: a digit for each square, the tenths of it that are black."""


class Cut(Part):
    """A cut or fold line: nothing required may come nearer than `clear_mm`."""

    kind: str
    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    clear_mm: float


class DraftMark(Part):
    """Where the draft mark must stand (state ``draft``) or nothing may (any other)."""

    within: Place
    words: Several[tuple[str, ...]] = ()
    """On a draft: the wordings of which one must stand there alone, each with its text in
    every language that the piece speaks; else none."""


class ManifestPage(Part):
    """One page of the file."""

    width_mm: float
    height_mm: float
    safe: Place
    """Printable area: all marks lie inside."""
    texts: Several[RequiredText]
    values: Several[RequiredValue]
    codes: Several[RequiredCode]
    empty: Several[EmptyPlace]
    cuts: Several[Cut]
    draft_marks: Several[DraftMark]
    bare: Several[EmptyPlace] = ()
    """Bare paper: places of a part-used sheet that are gone, and what pieces without a tablet
    leave free."""
    marks: Several[RequiredMark] = ()
    pictures: Several[RequiredPicture] = ()
    drawn: Several[Place] = ()
    """Where lines and pictures may be drawn; nowhere else is anything but text and codes."""


class Link(Part):
    """One place in the chain a document flows through."""

    page: int
    """From 0."""
    within: Place


class RequiredFlow(Part):
    """A document that flows through a chain of places (a leaflet's panels, then its pages).

    Each text must stand whole inside one link of the chain, and the texts must follow one
    another in reading order: a later text never stands in an earlier link, nor before an
    earlier text in the same link. The `within` of its texts is not used (all zero).
    """

    document: str
    language: str
    texts: Several[RequiredText]
    chain: Several[Link]


class Manifest(Part):
    """All that one PDF must hold."""

    version: int = 1
    artwork: str
    layout: str
    state: str
    """``draft`` or ``made``."""
    title: str
    languages: Several[str]
    records: Several[str]
    """What it was made from: ``lot TV2611``, ``prescription 10432``."""
    serials: Several[str]
    secrets: Several[str]
    """Texts that the metadata must not hold (patient's name, birth date, prescription number)."""
    pages: Several[ManifestPage]
    flows: Several[RequiredFlow] = ()
    language: str = ""
    """Of who reads it first; empty where the file needn't tell."""
    turned: str = ""
    """``short-edge`` or ``long-edge``: how the sheet is turned to print its back; else empty."""

    @model_validator(mode="before")
    @classmethod
    def _with_shared_parts(cls, stated: object) -> object:
        """What pages share stands once in a file, and each page names it by its number there.

        The pages then hold the same objects, however many they are. Raises ValueError.
        """
        if not isinstance(stated, dict) or "shared" not in stated:
            return stated
        shared, pages = stated["shared"], stated.get("pages")
        if not (isinstance(shared, dict) and isinstance(pages, list)):
            raise ValueError("shared parts without pages")
        held = {
            name: [kind.model_validate(part) for part in _listed(shared.get(name, []))]
            for name, kind in SHARED.items()
        }
        own = {key: value for key, value in stated.items() if key != "shared"}
        return {**own, "pages": [_whole(page, held) for page in pages]}


SHARED: dict[str, type[Part]] = {
    "texts": RequiredText,
    "values": RequiredValue,
    "empty": EmptyPlace,
    "bare": EmptyPlace,
    "cuts": Cut,
    "pictures": RequiredPicture,
    "drawn": Place,
}
"""Lists of a page whose parts are mostly those of other pages as well."""


def _listed(value: object) -> list[object]:
    if not isinstance(value, list):
        raise ValueError("not a list of parts")
    return value


def _whole(page: object, held: dict[str, list[Part]]) -> object:
    """A page as it is in a file, with the parts it names by number in their places."""
    if not isinstance(page, dict):
        return page
    return {
        **page,
        **{
            name: [_numbered(number, parts) for number in _listed(page[name])]
            for name, parts in held.items()
            if name in page
        },
    }


def _numbered(number: object, parts: list[Part]) -> Part:
    if not isinstance(number, int) or not 0 <= number < len(parts):
        raise ValueError("a number that none of the shared parts has")
    return parts[number]
