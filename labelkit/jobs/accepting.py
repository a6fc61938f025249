"""The pharmacy's own acceptance of wording: who read which revision of a catalog, and when."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.jobs.desk import voice
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.records.model import Acceptance, Workspace
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import base_of

FILE = "acceptances.toml"


@dataclass(frozen=True, slots=True)
class LanguageState:
    """One language a pharmacy offers: its catalog's revision, and who accepted that."""

    language: str
    revision: str
    accepted_by: str
    """Empty when nobody accepted this revision."""


def language_states(folder: Path) -> tuple[LanguageState, ...]:
    """The languages a workspace offers. Raises RecordsRefused and WordingRefused."""
    workspace = read_workspace(folder)
    return tuple(_state(workspace, language) for language in workspace.pharmacy.languages)


def _state(workspace: Workspace, language: str) -> LanguageState:
    revision = voice(workspace, language).revision
    return LanguageState(language, revision, accepted_by(workspace, language, revision))


def accepted_by(workspace: Workspace, language: str, revision: str) -> str:
    """Who last accepted that revision of a language, with licence and day; empty: nobody."""
    by = [
        f"{a.name}, licence {a.licence}, {a.on.isoformat()}"
        for a in workspace.acceptances
        if a.revision == revision and base_of(a.language) == base_of(language)
    ]
    return by[-1] if by else ""


def accept(folder: Path, language: str, name: str, licence: str, on: date | None) -> Acceptance:
    """Record in ``acceptances.toml`` that a person accepts the language's present revision.

    `on` is the day of acceptance, today unless said. Raises RecordsRefused for a language the
    pharmacy doesn't offer or a name left blank, WordingRefused, OutputRefused.
    """
    workspace = read_workspace(folder)
    faults = [
        Fault(FILE, "", field, f"{field} is blank", f"say who accepts: --{field} …")
        for field, value in (("name", name), ("licence", licence))
        if not value.strip()
    ]
    if language not in workspace.pharmacy.languages:
        offered = ", ".join(workspace.pharmacy.languages)
        faults.append(
            Fault(
                "pharmacy.toml",
                "",
                "languages",
                f"{language!r} isn't a language this pharmacy offers",
                f"choose one of {offered}, or add it to languages first",
            )
        )
    if faults:
        raise RecordsRefused(faults)
    acceptance = Acceptance(
        language=language,
        revision=voice(workspace, language).revision,
        name=name.strip(),
        licence=licence.strip(),
        on=on or door.today(),
    )
    _append(folder / FILE, acceptance)
    return acceptance


def _append(path: Path, acceptance: Acceptance) -> None:
    try:
        before = door.read_bytes(path).decode("utf-8") if path.exists() else ""
        entry = "\n".join(
            [
                "[[acceptance]]",
                f"language = {quoted(acceptance.language)}",
                f"revision = {quoted(acceptance.revision)}",
                f"name = {quoted(acceptance.name)}",
                f"licence = {quoted(acceptance.licence)}",
                f"on = {acceptance.on.isoformat()}",
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
