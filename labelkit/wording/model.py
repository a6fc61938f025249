"""What wording hands on: things said, with where they came from and who answers for them."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from babel import Locale

from labelkit.ground.quoting import Span, marked


class ReviewState(StrEnum):
    """How far the wording of one statement in one language may be trusted."""

    ACCEPTED = "accepted"
    """The pharmacy accepted this catalog revision, or a qualified person signed the entry."""
    UNREVIEWED = "unreviewed"
    """Nobody did: what is made from it is a draft."""


@dataclass(frozen=True, slots=True)
class Said:
    """One statement or fact in one language, ready to be set."""

    text: str
    language: str
    """BCP 47 tag."""
    origin: str
    """``statement:ID`` or ``fact:NAME``."""
    state: ReviewState
    verbatim: tuple[str, ...] = ()
    """Parts that must not be broken or hyphenated (a dose, a date, a name)."""
    quoted: tuple[Span, ...] = ()
    """Stretches of the text that quote a record: each keeps its own order in a line."""

    @property
    def marked(self) -> str:
        """The text with its quoted stretches marked, to be joined with others."""
        return marked(self.text, self.quoted)


class BlockKind(StrEnum):
    """Blocks a document is made of."""

    TITLE = "title"
    HEADING = "heading"
    PARAGRAPH = "paragraph"
    WARNING = "warning"
    """The boxed one."""
    ITEM = "item"
    """One entry of a list."""
    STEPS = "steps"
    """Pictures with one short sentence each."""
    TABLE = "table"


@dataclass(frozen=True, slots=True)
class Block:
    """One block of a document, in reading order."""

    kind: BlockKind
    said: tuple[Said, ...]
    """One for text blocks; one per step; row by row for a table."""
    pictures: tuple[str, ...] = ()
    """Steps: the drawing's name beside each sentence."""
    columns: int = 1
    """Table: number of columns; the first row is its head."""


@dataclass(frozen=True, slots=True)
class Document:
    """A leaflet or a pad's back: blocks in reading order, in one language."""

    id: str
    language: str
    title: str
    blocks: tuple[Block, ...]
    warning_word: str = ""
    """What leads a warning where no box can be drawn."""


class Voice(Protocol):
    """A language that can be spoken: what `labelkit.wording.catalogs.Catalog` offers."""

    @property
    def language(self) -> str:
        """BCP 47 tag."""

    @property
    def rtl(self) -> bool:
        """Whether the language is written from right to left."""

    @property
    def locale(self) -> Locale:
        """CLDR's locale, for numbers, dates and lists."""

    def has(self, statement: str) -> bool:
        """Whether the language has an entry for the statement."""

    def say(self, statement: str, values: Mapping[str, object] | None = None) -> Said:
        """The statement with its placeholders filled.

        Raises WordingRefused when the language has no entry, or a value is missing.
        """
