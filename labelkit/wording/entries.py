"""Gettext catalogs read as they are: one entry per statement, with who signed it.

Catalogs are ``locales/<language>/LC_MESSAGES/labelkit.po``, shipped or in a workspace:
``msgctxt`` is the statement's id, ``msgid`` its English. They are read directly, so that
what a translator edits is what is said. Decides nothing about trust: see
`labelkit.wording.catalogs`.
"""

import gettext
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from pathlib import Path

from babel.messages.pofile import PoFileError, read_po

from labelkit.ground import door
from labelkit.ground.errors import Fault, WordingRefused

_LINE = re.compile(r'(#.*|((msgctxt|msgid|msgid_plural|msgstr(\[\d\])?)\s+)?"([^"\\]|\\.)*")?')
"""A line of a catalog, whole. Babel reads a text without its closing quote as one letter less."""
_SIGNED = re.compile(
    r"reviewed by (?P<who>[^,]{1,200}), (?P<as>.{1,200}?), (?P<on>\d{4}-\d{2}-\d{2})"
    r"(?:, (?P<words>[0-9a-f]{16})\b)?"
)

MOST_BYTES = 2_000_000
"""Largest catalog. Our own bound, twenty times the longest shipped one."""

MOST_COMMENT = 2_000
"""Characters of an entry's comments that are searched for a signature."""

MOST_BROKEN = 100
"""Broken lines that are told. Our own bound: a file with more is no catalog."""


@dataclass(frozen=True, slots=True)
class Signature:
    """What a reviewer wrote over an entry: ``# reviewed by NAME, QUALIFICATION, DATE, WORDS``."""

    name: str
    qualification: str
    on: str
    words: str
    """Digest of the English and the translation that were read
    (`labelkit.wording.statements.words_digest`); empty where none was written."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One statement in one language, as its catalog has it."""

    msgid: str | tuple[str, str]
    """The English it was translated from."""
    texts: tuple[str, ...]
    """One text, or one for each plural form of the language."""
    fuzzy: bool
    """Flagged by its catalog: nobody qualified has signed it."""
    signatures: tuple[Signature, ...] = ()
    """Those that its comments hold. Each counts for the words it names and for no others."""
    file: str = ""
    """Where it stands, for messages."""
    language: str = ""
    """BCP 47 tag of that file: its plural forms are this language's, whoever says the entry."""


@dataclass(frozen=True, slots=True)
class EntryFile:
    """One catalog file."""

    language: str
    """BCP 47 tag."""
    shown: str
    """Its name in messages."""
    entries: Mapping[str, Entry]
    plural_index: Callable[[int], int]
    """Which text its ``Plural-Forms`` header gives a count. What is said goes by CLDR."""
    plural_count: int
    plural_expression: str


def folder_name(language: str) -> str:
    """The catalog folder of a BCP 47 tag: ``pt-BR`` → ``pt_BR``."""
    return language.replace("-", "_")


def tag_of(folder: str) -> str:
    """The BCP 47 tag of a catalog folder: ``zh_Hans`` → ``zh-Hans``."""
    return folder.replace("_", "-")


def catalog_path(root: Path, language: str) -> Path:
    """Where the catalog of a language stands under a folder of locales."""
    return root / folder_name(language) / "LC_MESSAGES" / "labelkit.po"


def shown_path(language: str) -> str:
    """A catalog's name in messages."""
    return f"locales/{folder_name(language)}/LC_MESSAGES/labelkit.po"


def read_entries(path: Path, language: str, root: Path | None = None) -> EntryFile | None:
    """The catalog of a language at `path`, or None where there is none.

    `root` is the folder that no link may lead out of.
    Raises WordingRefused where it can't be read.
    """
    shown = shown_path(language)
    try:
        data = (
            door.read_inside(root, path, MOST_BYTES) if root else door.read_bytes(path, MOST_BYTES)
        )
    except FileNotFoundError:
        return None
    except OSError as error:
        raise WordingRefused([_unreadable(shown, error)]) from error
    return _parse(data, shown, language)


@lru_cache(maxsize=64)
def _parse(data: bytes, shown: str, language: str) -> EntryFile:
    broken = [
        Fault(shown, f"line {number}", "", "the catalog's line isn't whole", "mend its quotes")
        for number, line in enumerate(data.decode("utf-8", "replace").splitlines(), 1)
        if not _LINE.fullmatch(line.strip())
    ]
    if broken:
        raise WordingRefused(broken[:MOST_BROKEN])
    try:
        catalog = read_po(BytesIO(data), abort_invalid=True)
        index = gettext.c2py(catalog.plural_expr)
    except (PoFileError, ValueError, LookupError) as error:
        raise WordingRefused([_unreadable(shown, error)]) from error
    entries: dict[str, Entry] = {}
    faults: list[Fault] = []
    for message in catalog:
        if not message.id:
            continue
        id_ = message.context or ""
        if not id_ or id_ in entries:
            wrong = "is there twice" if id_ else "has no msgctxt, so it belongs to no statement"
            faults.append(
                Fault(shown, f"line {message.lineno}", id_, f"the entry {wrong}", "mend the entry")
            )
            continue
        string = message.string
        texts = (string,) if isinstance(string, str) else tuple(str(text) for text in string or ())
        entries[id_] = Entry(
            msgid=message.id if isinstance(message.id, str) else (message.id[0], message.id[1]),
            texts=texts,
            fuzzy=message.fuzzy,
            signatures=_signatures(message.user_comments),
            file=shown,
            language=language,
        )
    if faults:
        raise WordingRefused(faults)
    return EntryFile(language, shown, entries, index, catalog.num_plurals, catalog.plural_expr)


def _signatures(comments: list[str]) -> tuple[Signature, ...]:
    return tuple(
        Signature(found["who"], found["as"], found["on"], found["words"] or "")
        for found in _SIGNED.finditer(" ".join(comments)[:MOST_COMMENT])
    )


def _unreadable(shown: str, error: Exception) -> Fault:
    return Fault(shown, "", "", f"the catalog can't be read: {error}", "mend the file")
