"""The pharmacy's own acceptance of words: which were read, by whom, how well, and when.

Nobody accepts what wasn't shown. `offered` gives the English beside the words that nobody
answers for yet, with a key over exactly these; `accept` asks for that key and records each
statement with the digest of its words, so that a changed word ends its own acceptance and
no other. Renews nothing by itself, and accepts nothing from a catalog in which a fault can
be seen.
"""

import hashlib
import html
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, RecordsRefused, WordingRefused
from labelkit.jobs.desk import voice
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.records.decisions_file import READS
from labelkit.records.model import Acceptance, Workspace
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import Catalog, base_of, catalog
from labelkit.wording.model import ReviewState

FILE = "acceptances.toml"
_KEY_DIGITS = 12
_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>
body {{ font: 16px/1.4 sans-serif; margin: 2em; }} td, th {{ vertical-align: top; padding: .4em;
text-align: start; border-top: 1px solid #999; }} code {{ font-size: 80%; }}
</style></head><body><h1>{title}</h1><table>
<tr><th>statement, digest of its words</th><th>English</th><th>{language}</th></tr>
{rows}
</table><p>{closing}</p></body></html>
"""


@dataclass(frozen=True, slots=True)
class LanguageState:
    """One language a pharmacy offers, and how much of its wording a person answers for."""

    language: str
    statements: int
    answered: int
    """Statements whose words, as they are now, somebody accepted or signed."""
    accepted_by: tuple[str, ...]
    """Whose acceptances hold for some of them, with licence and day."""
    faults: int
    """What can be seen wrong in its catalog: while there is any, nothing is made in it."""


@dataclass(frozen=True, slots=True)
class OfferedWords:
    """One statement as a person reads it before accepting it."""

    statement: str
    english: tuple[str, ...]
    words: tuple[str, ...]
    """In the language, one text for each plural form."""
    digest: str


@dataclass(frozen=True, slots=True)
class Offer:
    """What there is to accept in a language, as it is at this moment."""

    language: str
    rtl: bool
    entries: tuple[OfferedWords, ...]
    named: tuple[str, ...]
    """Statements that were asked for by name; empty: all that nobody answers for."""

    @property
    def key(self) -> str:
        """Stands at the end of what is shown: whoever accepts says which words were shown."""
        listed = "\n".join(f"{entry.statement} {entry.digest}" for entry in self.entries)
        whole = f"{self.language}\n{listed}"
        return hashlib.sha256(whole.encode()).hexdigest()[:_KEY_DIGITS]


def language_states(folder: Path) -> tuple[LanguageState, ...]:
    """The languages a workspace offers. Raises RecordsRefused and WordingRefused."""
    workspace = read_workspace(folder)
    return tuple(_state(workspace, language) for language in workspace.pharmacy.languages)


def _state(workspace: Workspace, language: str) -> LanguageState:
    country = workspace.pharmacy.country
    spoken = catalog(language, Path(workspace.root), workspace.acceptances, country)
    answered = sum(spoken.state_of(id_) is ReviewState.ACCEPTED for id_ in spoken.words)
    return LanguageState(
        language=language,
        statements=len(spoken.statements),
        answered=answered,
        accepted_by=accepted_by(workspace, spoken),
        faults=len(spoken.stops),
    )


def accepted_by(workspace: Workspace, spoken: Catalog) -> tuple[str, ...]:
    """Whose acceptances hold for any of a language's words as they are now."""
    return tuple(
        f"{a.name}, licence {a.licence}, {a.on.isoformat()}, reads it: {a.reads}"
        for a in workspace.acceptances
        if base_of(a.language) == base_of(spoken.language)
        and any(spoken.words.get(id_) == digest for id_, digest in a.words)
    )


def offered(folder: Path, language: str, statements: Iterable[str] = ()) -> Offer:
    """The words of a language that a person may accept now: those named, else all that nobody
    answers for yet.

    Raises RecordsRefused for a language the pharmacy doesn't offer or a statement that it has
    no words for, and WordingRefused where a fault can be seen in the catalog, or an entry was
    translated from other English than there is.
    """
    workspace = read_workspace(folder)
    if language not in workspace.pharmacy.languages:
        known = ", ".join(workspace.pharmacy.languages)
        wrong = f"{language!r} isn't a language this pharmacy offers"
        mend = f"choose one of {known}, or add it to languages first"
        raise RecordsRefused([Fault("pharmacy.toml", "", "languages", wrong, mend)])
    spoken = voice(workspace, language)
    named = tuple(dict.fromkeys(statements))
    if unknown := [id_ for id_ in named if id_ not in spoken.words]:
        raise RecordsRefused(
            Fault(
                "command line",
                "",
                "--statement",
                f"{id_!r} has no words in {language}",
                "name the id of a statement that labelkit wording --accept shows",
            )
            for id_ in unknown
        )
    wanted = named or tuple(
        id_ for id_ in spoken.words if spoken.state_of(id_) is not ReviewState.ACCEPTED
    )
    if stale := [id_ for id_ in wanted if not spoken.current(id_)]:
        raise WordingRefused(
            Fault(
                spoken.entries[id_].file,
                id_,
                "msgid",
                "the English has changed since",
                "translate the entry anew, then accept it",
            )
            for id_ in stale
        )
    return Offer(language, spoken.rtl, tuple(_offered(spoken, id_) for id_ in wanted), named)


def _offered(spoken: Catalog, id_: str) -> OfferedWords:
    statement = spoken.statements[id_]
    english = (statement.english, statement.english_plural)
    return OfferedWords(
        statement=id_,
        english=tuple(text for text in english if text),
        words=spoken.entries[id_].texts,
        digest=spoken.words[id_],
    )


def as_text(offer: Offer) -> str:
    """The offer to be read on a screen: English, then the words, then the key."""
    chunks = [
        "\n".join(
            [
                f"{entry.statement}  ({entry.digest})",
                *(f"    en: {text}" for text in entry.english),
                *(f"    {offer.language}: {text}" for text in entry.words),
            ]
        )
        for entry in offer.entries
    ]
    return "\n\n".join([*chunks, _closing(offer)]) + "\n"


def as_page(offer: Offer) -> str:
    """The offer as an HTML page, English beside the words, with the key at its end."""
    direction = "rtl" if offer.rtl else "ltr"
    rows = "\n".join(
        f"<tr><td>{html.escape(entry.statement)}<br><code>{entry.digest}</code></td>"
        f"<td>{_cell(entry.english)}</td>"
        f'<td lang="{offer.language}" dir="{direction}">{_cell(entry.words)}</td></tr>'
        for entry in offer.entries
    )
    title = f"Words in {offer.language} that wait for somebody to answer for them"
    return _PAGE.format(
        title=title, language=offer.language, rows=rows, closing=html.escape(_closing(offer))
    )


def _cell(texts: tuple[str, ...]) -> str:
    return "<br>".join(html.escape(text) for text in texts)


def _closing(offer: Offer) -> str:
    named = "".join(f"--statement {id_} " for id_ in offer.named)
    return (
        f"{len(offer.entries)} statements. Nothing is accepted by showing them. Who has read "
        f"them and answers for them: --accept {offer.language} {named}--having-read {offer.key} "
        f"--reads {'|'.join(READS)} --name … --licence …"
    )


def write_page(offer: Offer, path: Path) -> None:
    """Write the offer: HTML where the file's name ends so, else text. Raises OutputRefused."""
    text = as_page(offer) if path.suffix.lower() in (".html", ".htm") else as_text(offer)
    try:
        door.write_whole(path, text.encode(), door.PUBLIC)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error


@dataclass(frozen=True, slots=True)
class Reader:
    """Who accepts words, and how well that person reads their language."""

    name: str
    licence: str
    reads: str
    on: date | None = None
    """Day of acceptance; None: today."""
    note: str = ""


def accept(
    folder: Path, language: str, having_read: str, reader: Reader, statements: Iterable[str] = ()
) -> Acceptance:
    """Record in ``acceptances.toml`` that a person accepts the words that were shown.

    `having_read` is the key at the end of what was shown. Raises RecordsRefused where it is
    that of other words or the reader isn't told whole, WordingRefused, OutputRefused.
    """
    offer = offered(folder, language, statements)
    if faults := tuple(_wrongs(offer, having_read, reader)):
        raise RecordsRefused(faults)
    acceptance = Acceptance(
        language=language,
        words=tuple(sorted((entry.statement, entry.digest) for entry in offer.entries)),
        name=reader.name.strip(),
        licence=reader.licence.strip(),
        on=reader.on or door.today(),
        reads=reader.reads,
        note=reader.note.strip(),
    )
    _append(folder / FILE, acceptance)
    return acceptance


def _wrongs(offer: Offer, having_read: str, reader: Reader) -> Iterable[Fault]:
    for field, value in (("name", reader.name), ("licence", reader.licence)):
        if not value.strip():
            yield Fault(FILE, "", field, f"{field} is blank", f"say who accepts: --{field} …")
    if reader.reads not in READS:
        yield Fault(
            FILE,
            "",
            "reads",
            f"how well that person reads {offer.language} isn't said",
            f"say it: --reads {', '.join(READS)}",
        )
    if not offer.entries:
        wrong = f"there are no words in {offer.language} that nobody answers for"
        yield Fault(FILE, "", "words", wrong, "accept nothing more, or name a statement")
    elif having_read != offer.key:
        yield Fault(
            FILE,
            "",
            "words",
            "these aren't the words that were shown with that key",
            "have them shown again, read what is new, and give the key that stands at the end",
        )


def _append(path: Path, acceptance: Acceptance) -> None:
    try:
        before = door.read_bytes(path).decode("utf-8") if path.exists() else ""
        entry = "\n".join(
            [
                "[[acceptance]]",
                f"language = {quoted(acceptance.language)}",
                f"name = {quoted(acceptance.name)}",
                f"licence = {quoted(acceptance.licence)}",
                f"on = {acceptance.on.isoformat()}",
                f"reads = {quoted(acceptance.reads)}",
                *([f"note = {quoted(acceptance.note)}"] if acceptance.note else []),
                "[acceptance.words]",
                *(f"{quoted(id_)} = {quoted(digest)}" for id_, digest in acceptance.words),
                "",
            ]
        )
        door.write_whole(path, (before.rstrip("\n") + "\n\n" + entry).lstrip("\n").encode())
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error


def quoted(text: str) -> str:
    """A TOML basic string (TOML 1.0: quotation mark, backslash and controls are escaped)."""
    escaped = "".join(
        f"\\u{ord(c):04X}" if ord(c) < 0x20 or ord(c) == 0x7F or c in '"\\' else c for c in text
    )
    return f'"{escaped}"'
