"""The statements: what may be said at all, in English, with a source for each.

Read from TOML, shipped ones beside this module and a pharmacy's own from its workspace's
``statements/``. Refuses a statement without a source, one whose placeholders aren't those
it declares, and a pharmacy's statement under an id that is already taken: a shipped safety
sentence is not replaced in silence.
"""

import hashlib
import string
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from labelkit.ground import door
from labelkit.ground.errors import Fault, WordingRefused
from labelkit.ground.toml_text import toml_tables

_SHIPPED = Path(__file__).resolve().parent / "statements"
_KEYS = {"en", "en_plural", "count", "placeholders", "names", "source", "class"}

MOST_CHARACTERS = 2000
"""Longest text of a statement. Our own bound: no label or leaflet has room for a longer one."""

WORDS_DIGITS = 16
"""Hexadecimal digits of a digest of words: short enough to stand in a comment or a list."""

NO_SOURCE = "common practice, no source"
"""What stands where a statement has no publication behind it."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One statement as it is written down, before any language or value."""

    id: str
    english: str
    """English text; with `english_plural`, the form for one."""
    source: str
    """Publication with section and year, or `NO_SOURCE`."""
    kind: str
    """Class: ``caution``, ``limit``, ``label``, … Coverage and review are told by it."""
    english_plural: str = ""
    """English for any other count; empty where nothing is counted."""
    count: str = ""
    """Name of the placeholder that decides the plural form."""
    placeholders: tuple[str, ...] = ()
    """Names that must be filled, in alphabetical order."""
    names: tuple[str, ...] = ()
    """Names of medicines in the English text: never hyphenated, and left out of the grade."""

    @property
    def msgid(self) -> str | tuple[str, str]:
        """The key of its entry in a gettext catalog: English, or singular and plural."""
        return (self.english, self.english_plural) if self.english_plural else self.english


def words_digest(statement: Statement, language: str, texts: tuple[str, ...]) -> str:
    """Fingerprint of a statement's English beside its words in a language, all forms included.

    SHA-256, its first 16 hexadecimal digits, over the language subtag, the id, the English and
    the texts. Who accepts or signs words names it: one letter changed gives another.
    """
    parts = (
        language.split("-")[0],
        statement.id,
        statement.english,
        statement.english_plural,
        *texts,
    )
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:WORDS_DIGITS]


def placeholders_in(text: str) -> tuple[str, ...]:
    """Names in braces, sorted, each once.

    Raises ValueError for a broken brace, and for braces that hold anything but a name: Python's
    format would reach into the value, or widen it without an end.
    """
    found: set[str] = set()
    for _, name, width, conversion in string.Formatter().parse(text):
        if name is None:
            continue
        if width or conversion or not name.isidentifier():
            raise ValueError("it may hold a plain name alone, as {drug}")
        found.add(name)
    return tuple(sorted(found))


@lru_cache(maxsize=1)
def _shipped() -> Mapping[str, Statement]:
    return _read(_SHIPPED, "labelkit/wording/statements")


def statements(workspace_root: Path | None = None) -> Mapping[str, Statement]:
    """All statements by id: the shipped ones and, with a root, that workspace's own.

    Raises WordingRefused with every fault of every file.
    """
    shipped = _shipped()
    if workspace_root is None:
        return shipped
    own = _read(workspace_root / "statements", "statements", workspace_root)
    taken = [
        Fault(
            "statements",
            id_,
            "id",
            "labelkit already has a statement of that id",
            "give your statement an id of its own",
        )
        for id_ in own
        if id_ in shipped
    ]
    if taken:
        raise WordingRefused(taken)
    return MappingProxyType({**shipped, **own}) if own else shipped


def _read(folder: Path, shown: str, root: Path | None = None) -> Mapping[str, Statement]:
    faults: list[Fault] = []
    found: dict[str, Statement] = {}
    for path in door.listed(folder, "*.toml"):
        name = f"{shown}/{path.name}"
        try:
            data = door.read_inside(root, path) if root else door.read_bytes(path)
            tables = toml_tables(data.decode("utf-8"))
        except (OSError, ValueError) as error:
            faults.append(Fault(name, "", "", f"can't be read as TOML: {error}", "mend the file"))
            continue
        kind = tables.pop("class", "")
        if not isinstance(kind, str):
            faults.append(Fault(name, "", "class", "it isn't text", "write one word in quotes"))
            continue
        for id_, table in tables.items():
            wrong = list(_wrongs(table, kind))
            if id_ in found:
                wrong.append("the id is used twice")
            if wrong:
                faults.extend(Fault(name, id_, "", w, "mend the statement") for w in wrong)
            elif isinstance(table, dict):
                found[id_] = _statement(id_, table, kind)
    if faults:
        raise WordingRefused(faults)
    return MappingProxyType(found)


def _wrongs(table: object, kind: object) -> Iterator[str]:
    if not isinstance(table, dict):
        yield "it isn't a table with 'en' and 'source'"
        return
    if unknown := sorted(set(table) - _KEYS):
        yield f"unknown key {', '.join(unknown)}"
    if not table.get("class", kind):
        yield "it has no class, neither its own nor its file's"
    texts = [table.get(key, "") for key in ("en", "en_plural", "source", "count")]
    if not all(isinstance(text, str) for text in (*texts, table.get("class", ""))):
        yield "'en', 'en_plural', 'source', 'count' and 'class' must be text"
        return
    lists = [table.get(key, []) for key in ("placeholders", "names")]
    if not all(isinstance(one, list) and all(isinstance(n, str) for n in one) for one in lists):
        yield "'placeholders' and 'names' must be lists of texts"
        return
    if max(map(len, texts)) > MOST_CHARACTERS:
        yield f"it is longer than {MOST_CHARACTERS} characters"
        return
    english, plural, source, count = texts
    if not english.strip():
        yield "it has no English text"
    if not source.strip():
        yield f"it has no source; write '{NO_SOURCE}' where there is none"
    if bool(plural) != bool(count):
        yield "'en_plural' and 'count' go together"
    declared = tuple(sorted(table.get("placeholders", ())))
    for text in (english, plural) if plural else (english,):
        try:
            used = placeholders_in(text)
        except ValueError as error:
            yield f"a brace is broken: {error}"
            continue
        if used != declared:
            yield f"it declares the placeholders {declared} and uses {used}"
    yield from (
        f"its English doesn't name {name}" for name in table.get("names", ()) if name not in english
    )
    if count and count not in declared:
        yield f"its count '{count}' isn't one of its placeholders"


def _statement(id_: str, table: Mapping[str, Any], kind: str) -> Statement:
    return Statement(
        id=id_,
        english=table["en"],
        source=table["source"],
        kind=table.get("class", kind),
        english_plural=table.get("en_plural", ""),
        count=table.get("count", ""),
        placeholders=tuple(sorted(table.get("placeholders", ()))),
        names=tuple(table.get("names", ())),
    )
