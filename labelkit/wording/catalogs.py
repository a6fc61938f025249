"""A language that can be spoken: statements said from its catalog, with their review state.

Nothing is accepted by default, English included. A statement is accepted when a person of
the pharmacy accepted these very words, or a qualified person signed them in the catalog:
both name a digest of the English and of the translation with all its forms. Refuses a
statement without an entry in the wanted language (English is never put in its place), an
entry that can't say what the English says, and a value that is missing.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from pathlib import Path

from babel import Locale, UnknownLocaleError

from labelkit.ground import door
from labelkit.ground.errors import Fault, WordingRefused
from labelkit.ground.quoting import marked, parted, whole
from labelkit.records.model import Acceptance
from labelkit.wording import plurals
from labelkit.wording.checking import hard_wrongs, header_fault, stopping_faults
from labelkit.wording.dates import date_text
from labelkit.wording.entries import (
    Entry,
    EntryFile,
    catalog_path,
    read_entries,
    shown_path,
    tag_of,
)
from labelkit.wording.keeping import measures, unbroken
from labelkit.wording.model import ReviewState, Said
from labelkit.wording.numbers import locale_of, number_text, regional
from labelkit.wording.statements import WORDS_DIGITS, Statement, statements, words_digest

SOURCE_LANGUAGE = "en"

BREAKABLE = frozenset({"pharmacy", "judged_by", "swallowed_name", "text"})
"""Placeholders whose value may be broken between its words: names of any length, and what a
record says in words of its own."""


@dataclass(frozen=True)
class Catalog:
    """One language of one workspace."""

    language: str
    """BCP 47 tag, as it was asked for."""
    locale: Locale
    """For numbers and dates."""
    statements: Mapping[str, Statement]
    entries: Mapping[str, Entry]
    """What the language has, the workspace's own entries before the shipped ones."""
    accepted: frozenset[tuple[str, str]]
    """Statements whose words a person of the pharmacy accepted, each with their digest."""
    headers: tuple[Fault, ...] = ()
    """What is wrong with the headers of the files it was read from."""

    @cached_property
    def rtl(self) -> bool:
        """Whether the language is written from right to left."""
        return self.locale.text_direction == "rtl"

    @property
    def revision(self) -> str:
        """Fingerprint of all that this catalog says and of the English it says it for."""
        return revision_of(self.language, self.statements, self.entries)

    @cached_property
    def words(self) -> Mapping[str, str]:
        """Digest of the words of each statement that the language can say, by id."""
        return {
            id_: words_digest(statement, self.language, self.entries[id_].texts)
            for id_, statement in self.statements.items()
            if self.has(id_)
        }

    @cached_property
    def stops(self) -> tuple[Fault, ...]:
        """What can be seen wrong in it: while there is any, nothing is made or accepted."""
        return (*self.headers, *stopping_faults(self.statements, self.entries, self.language))

    def current(self, statement: str) -> bool:
        """Whether the entry was translated from the English as it now is.

        Raises WordingRefused where there is none.
        """
        return self._entry(statement).msgid == self.statements[statement].msgid

    def state_of(self, statement: str) -> ReviewState:
        """How far the entry may be trusted. Raises WordingRefused where there is none."""
        accepted = (statement, self.words.get(statement, "")) in self.accepted
        trusted = self.current(statement) and (accepted or self.signed(statement))
        return ReviewState.ACCEPTED if trusted else ReviewState.UNREVIEWED

    def signed(self, statement: str) -> bool:
        """Whether a qualified person signed the entry, and these very words of it.

        Raises WordingRefused where there is none.
        """
        entry = self._entry(statement)
        named = any(s.words == self.words[statement] for s in entry.signatures)
        return self.current(statement) and named and not entry.fuzzy

    def has(self, statement: str) -> bool:
        """Whether the language can say it."""
        return any(getattr(self.entries.get(statement), "texts", ()))

    def say(self, statement: str, values: Mapping[str, object] | None = None) -> Said:
        """The statement with its placeholders filled.

        Values may be text, numbers, dates, or things already said (whose review state then
        counts too). Raises WordingRefused when the language has no entry, the entry can't be
        trusted to say what the English says, or a value is missing.
        """
        entry = self._entry(statement)
        definition = self.statements[statement]
        if wrongs := hard_wrongs(definition, entry):
            raise WordingRefused(
                Fault(entry.file, statement, "msgstr", f"the translation {w}", "mend it")
                for w in wrongs
            )
        given = values or {}
        filled: dict[str, str] = {}
        verbatim: list[str] = []
        state = self.state_of(statement)
        for name in definition.placeholders:
            value = given.get(name)
            if isinstance(value, Said):
                state = state if value.state is ReviewState.ACCEPTED else value.state
                verbatim.extend(value.verbatim)
                filled[name] = value.marked
                continue
            filled[name] = text = self._value_text(statement, name, value)
            if isinstance(value, int | Decimal):
                continue
            verbatim.extend(unbroken(text) if name in BREAKABLE else (text,))
            filled[name] = marked(text, whole(text))
        text, quoted = parted(entry.texts[self._form(definition, given)].format(**filled))
        verbatim.extend(name for name in definition.names if name in text)
        verbatim.extend(measures(text))
        return Said(text, self.language, f"statement:{statement}", state, tuple(verbatim), quoted)

    def _form(self, definition: Statement, values: Mapping[str, object]) -> int:
        if not definition.count:
            return 0
        count = values.get(definition.count)
        if not isinstance(count, int | Decimal) or count != int(count):
            raise WordingRefused(
                [
                    Fault(
                        "statements",
                        definition.id,
                        definition.count,
                        f"{count} can't be counted in words",
                        "give a whole number",
                    )
                ]
            )
        # `hard_wrongs` refused an entry that hasn't one text for each form of its language.
        return plurals.form(self._entry(definition.id).language, int(count))

    def _value_text(self, statement: str, name: str, value: object) -> str:
        match value:
            case str() if value.strip():
                return value
            case bool() | None | str():
                raise WordingRefused(
                    [
                        Fault(
                            "statements",
                            statement,
                            name,
                            "its value is missing",
                            "complete the record that gives it",
                        )
                    ]
                )
            case int() | Decimal():
                return number_text(value, self.locale)
            case date():
                return date_text(value, self.locale)
            case _:
                raise TypeError(f"{statement}: {name} is a {type(value).__name__}")

    def _entry(self, statement: str) -> Entry:
        if statement not in self.statements:
            raise WordingRefused(
                [
                    Fault(
                        "statements",
                        statement,
                        "",
                        "there is no such statement",
                        "add it to the workspace's statements/, in English and with its source",
                    )
                ]
            )
        entry = self.entries.get(statement)
        if entry is None or not any(entry.texts):
            english = self.statements[statement].english
            raise WordingRefused(
                [
                    Fault(
                        shown_path(self.language),
                        statement,
                        "msgstr",
                        f"the catalog has no words in {self.language} for: {english}",
                        "add the entry and have it reviewed",
                    )
                ]
            )
        return entry


def catalog(
    language: str,
    workspace_root: Path | None = None,
    acceptances: Iterable[Acceptance] = (),
    country: str = "",
) -> Catalog:
    """The catalog of a BCP 47 tag, with the workspace's own statements and entries.

    A tag with a region or script falls back to the one without, entry by entry (``fr-CA`` to
    ``fr``, ``en-GB`` to ``en``). `country` is the pharmacy's profile, for decimal signs, the
    order of dates, and the region whose words come first where the tag names none (a
    pharmacy of the profile ``uk`` that works in ``en`` speaks ``en-GB``). Raises
    WordingRefused for a language that has no catalog.
    """
    try:
        locale = locale_of(language, country)
    except (ValueError, UnknownLocaleError) as error:
        raise _no_catalog(language) from error
    said = statements(workspace_root)
    files = list(_files(regional(language, country), workspace_root))
    entries: dict[str, Entry] = {}
    if base_of(language) == SOURCE_LANGUAGE:
        entries.update(_english(said))
    elif not files:
        raise _no_catalog(language)
    for file in reversed(files):
        entries.update((id_, entry) for id_, entry in file.entries.items() if any(entry.texts))
    accepted = frozenset(
        words
        for acceptance in acceptances
        if base_of(acceptance.language) == base_of(language)
        for words in acceptance.words
    )
    headers = tuple(fault for file in files if (fault := header_fault(file)))
    return Catalog(language, locale, said, entries, accepted, headers)


def shipped_languages() -> tuple[str, ...]:
    """BCP 47 tags of the catalogs that come with labelkit, English first."""
    folders = door.listed(door.resource_dir("locales"), "*/LC_MESSAGES/labelkit.po")
    return (SOURCE_LANGUAGE, *(tag_of(p.parent.parent.name) for p in folders))


def revision_of(language: str, said: Mapping[str, Statement], entries: Mapping[str, Entry]) -> str:
    """SHA-256 over language, ids, English and translations, its first 16 hexadecimal digits."""
    digest = hashlib.sha256(base_of(language).encode())
    for id_ in sorted(said):
        entry = entries.get(id_)
        parts = (id_, said[id_].english, said[id_].english_plural, *(entry.texts if entry else ()))
        for part in parts:
            digest.update(f"\x1f{part}".encode())
        digest.update(b"\x1e")
    return digest.hexdigest()[:WORDS_DIGITS]


def base_of(language: str) -> str:
    """The language subtag alone: ``pt-BR`` → ``pt``."""
    return language.split("-")[0]


def _files(language: str, workspace_root: Path | None) -> Iterable[EntryFile]:
    """Catalog files that apply, nearest first: longer tags before shorter, own before shipped."""
    parts = language.split("-")
    for length in range(len(parts), 0, -1):
        tag = "-".join(parts[:length])
        own = [(workspace_root / "locales", workspace_root)] if workspace_root else []
        for locales, root in (*own, (door.resource_dir("locales"), None)):
            file = read_entries(catalog_path(locales, tag), tag, root)
            if file is not None:
                yield file


def _english(said: Mapping[str, Statement]) -> Mapping[str, Entry]:
    return {
        id_: Entry(
            msgid=s.msgid,
            texts=(s.english, s.english_plural) if s.english_plural else (s.english,),
            fuzzy=True,
            file="statements",
            language=SOURCE_LANGUAGE,
        )
        for id_, s in said.items()
    }


def _no_catalog(language: str) -> WordingRefused:
    known = ", ".join(shipped_languages())
    return WordingRefused(
        [
            Fault(
                shown_path(language),
                "",
                "",
                f"there is no catalog for the language '{language}'",
                f"choose one of {known}, or start a catalog in the workspace's locales/",
            )
        ]
    )
