"""A language that can be spoken: statements said from its catalog, with their review state.

Nothing is accepted by default, English included. A statement is accepted when the pharmacy
accepted this very revision of the catalog, or a qualified person signed its entry. Refuses
a statement without an entry in the wanted language (English is never put in its place), an
entry whose placeholders or numbers differ from the English, and a value that is missing.
"""

import hashlib
from collections.abc import Callable, Iterable, Mapping
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
from labelkit.wording.checking import hard_wrongs
from labelkit.wording.dates import date_text
from labelkit.wording.entries import (
    Entry,
    EntryFile,
    catalog_path,
    folder_name,
    read_entries,
    tag_of,
)
from labelkit.wording.keeping import measures, unbroken
from labelkit.wording.model import ReviewState, Said
from labelkit.wording.numbers import locale_of, number_text
from labelkit.wording.statements import Statement, statements

SOURCE_LANGUAGE = "en"

BREAKABLE = frozenset(
    {"pharmacy", "out_of_hours", "judged_by", "comparison_source", "swallowed_name"}
)
"""Placeholders whose value may be broken between its words: names of any length."""

_REVISION_DIGITS = 16


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
    plural_index: Callable[[int], int]
    accepted: bool
    """Whether the pharmacy accepted this revision."""

    @cached_property
    def rtl(self) -> bool:
        """Whether the language is written from right to left."""
        return self.locale.text_direction == "rtl"

    @property
    def revision(self) -> str:
        """Fingerprint of all that this catalog says and of the English it says it for.

        A changed statement, here or in English, gives another revision, and acceptances of
        the old one no longer hold.
        """
        return revision_of(self.language, self.statements, self.entries)

    def state_of(self, statement: str) -> ReviewState:
        """How far the entry may be trusted. Raises WordingRefused where there is none."""
        current = self._entry(statement).msgid == self.statements[statement].msgid
        trusted = current and (self.accepted or self.signed(statement))
        return ReviewState.ACCEPTED if trusted else ReviewState.UNREVIEWED

    def signed(self, statement: str) -> bool:
        """Whether a qualified person signed the entry, and for the English as it now is.

        Raises WordingRefused where there is none.
        """
        entry = self._entry(statement)
        current = entry.msgid == self.statements[statement].msgid
        return current and bool(entry.reviewer) and not entry.fuzzy

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
        try:
            index = self.plural_index(int(count))
        except (ArithmeticError, ValueError, RecursionError):
            index = -1
        if not 0 <= index < len(self._entry(definition.id).texts):
            entry = self._entry(definition.id)
            wrong = f"its Plural-Forms give no text for {count}"
            mend = "correct the header Plural-Forms, or add the missing msgstr"
            raise WordingRefused([Fault(entry.file, definition.id, "msgstr", wrong, mend)])
        return index

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
                        f"locales/{folder_name(self.language)}/LC_MESSAGES/labelkit.po",
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
    workspace_root: Path | None,
    acceptances: Iterable[Acceptance],
    country: str = "",
) -> Catalog:
    """The catalog of a BCP 47 tag, with the workspace's own statements and entries.

    A tag with a region or script falls back to the one without, entry by entry (``fr-CA`` to
    ``fr``). `country` is the pharmacy's profile, for decimal signs and the order of dates.
    Raises WordingRefused for a language that has no catalog.
    """
    try:
        locale = locale_of(language, country)
    except (ValueError, UnknownLocaleError) as error:
        raise _no_catalog(language) from error
    said = statements(workspace_root)
    files = list(_files(language, workspace_root))
    entries: dict[str, Entry] = {}
    if base_of(language) == SOURCE_LANGUAGE:
        entries.update(_english(said))
    elif not files:
        raise _no_catalog(language)
    for file in reversed(files):
        entries.update((id_, entry) for id_, entry in file.entries.items() if any(entry.texts))
    revision = revision_of(language, said, entries)
    accepted = any(
        a.revision == revision and base_of(a.language) == base_of(language) for a in acceptances
    )
    index = files[0].plural_index if files else _english_index
    return Catalog(language, locale, said, entries, index, accepted)


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
    return digest.hexdigest()[:_REVISION_DIGITS]


def base_of(language: str) -> str:
    """The language subtag alone: ``pt-BR`` → ``pt``."""
    return language.split("-")[0]


def _files(language: str, workspace_root: Path | None) -> Iterable[EntryFile]:
    """Catalog files that apply, nearest first: longer tags before shorter, own before shipped."""
    parts = language.split("-")
    for length in range(len(parts), 0, -1):
        tag = "-".join(parts[:length])
        shown = f"locales/{folder_name(tag)}/LC_MESSAGES/labelkit.po"
        own = [(workspace_root / "locales", workspace_root)] if workspace_root else []
        for locales, root in (*own, (door.resource_dir("locales"), None)):
            file = read_entries(catalog_path(locales, tag), shown, root)
            if file is not None:
                yield file


def _english(said: Mapping[str, Statement]) -> Mapping[str, Entry]:
    return {
        id_: Entry(
            msgid=s.msgid,
            texts=(s.english, s.english_plural) if s.english_plural else (s.english,),
            fuzzy=True,
            file="statements",
        )
        for id_, s in said.items()
    }


def _english_index(count: int) -> int:
    return int(count != 1)


def _no_catalog(language: str) -> WordingRefused:
    known = ", ".join(shipped_languages())
    return WordingRefused(
        [
            Fault(
                f"locales/{folder_name(language)}/LC_MESSAGES/labelkit.po",
                "",
                "",
                f"there is no catalog for the language '{language}'",
                f"choose one of {known}, or start a catalog in the workspace's locales/",
            )
        ]
    )
