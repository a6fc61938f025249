"""Languages: how much of each there is, who answers for it, and starting one of one's own.

Coverage and review are two things and never one figure: a catalog that has words for
everything may still be read by nobody. Starting a catalog translates nothing, and never
touches a catalog that is there.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict

from babel import UnknownLocaleError

from labelkit.ground import door
from labelkit.ground.errors import Fault, WordingRefused
from labelkit.jobs.accepting import accepted_by
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.records.faultbook import Unreadable
from labelkit.records.model import Workspace
from labelkit.records.pharmacy_file import language_tag
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import SOURCE_LANGUAGE, catalog
from labelkit.wording.coverage import ClassCoverage, LanguageCoverage, coverage, languages
from labelkit.wording.entries import catalog_path
from labelkit.wording.maintenance import start_catalog


class DescribedClass(TypedDict):
    """One class of statements in one language, as JSON shows it."""

    statement_class: str
    statements: int
    have_words: int
    signed: int
    accepted: int


class DescribedLanguage(TypedDict):
    """One language as JSON shows it."""

    language: str
    name: str
    right_to_left: bool
    offered: bool
    revision: str
    accepted_by: tuple[str, ...]
    classes: list[DescribedClass]
    faults: list[str]


@dataclass(frozen=True, slots=True)
class LanguageReport:
    """One language: what it can say, and who answers for that."""

    found: LanguageCoverage
    offered: bool
    """Whether the pharmacy offers it to its patients."""
    accepted_by: tuple[str, ...]
    """Who accepted some of these words for the pharmacy, with licence and day."""

    def counted(self, of: str) -> int:
        """A figure of `ClassCoverage` over all classes: ``statements``, ``said``, …"""
        return sum(getattr(c, of) for c in self.found.classes)

    def described(self) -> DescribedLanguage:
        """The report as plain data."""
        return DescribedLanguage(
            language=self.found.language,
            name=self.found.name,
            right_to_left=self.found.rtl,
            offered=self.offered,
            revision=self.found.revision,
            accepted_by=self.accepted_by,
            classes=[_described(c) for c in self.found.classes],
            faults=[str(fault) for fault in self.found.faults],
        )


@dataclass(frozen=True, slots=True)
class ClassReport:
    """One class of statements over all languages."""

    kind: str
    statements: int
    lacking: tuple[tuple[str, int], ...]
    """Languages that lack words for some of it, with how many statements."""
    accepted: tuple[tuple[str, int], ...]
    """Languages in which somebody answers for some of it, with how many statements."""


def reports(folder: Path | None) -> tuple[LanguageReport, ...]:
    """Every language of a workspace, or of labelkit itself without one, English first.

    Raises RecordsRefused and WordingRefused.
    """
    workspace = read_workspace(folder) if folder else None
    return tuple(_report(language, workspace) for language in languages(folder))


def _report(language: str, workspace: Workspace | None) -> LanguageReport:
    if workspace is None:
        return LanguageReport(coverage(catalog(language)), offered=False, accepted_by=())
    root, country = Path(workspace.root), workspace.pharmacy.country
    spoken = catalog(language, root, workspace.acceptances, country)
    return LanguageReport(
        coverage(spoken),
        offered=language in workspace.pharmacy.languages,
        accepted_by=accepted_by(workspace, spoken),
    )


def by_class(of: tuple[LanguageReport, ...]) -> tuple[ClassReport, ...]:
    """The same figures by class of statements: where words are lacking, where somebody answers."""
    held: dict[str, list[tuple[str, ClassCoverage]]] = {}
    for report in of:
        for found in report.found.classes:
            held.setdefault(found.kind, []).append((report.found.language, found))
    return tuple(
        ClassReport(
            kind=kind,
            statements=some[0][1].statements,
            lacking=tuple((tag, c.statements - c.said) for tag, c in some if c.said < c.statements),
            accepted=tuple((tag, c.accepted) for tag, c in some if c.accepted),
        )
        for kind, some in sorted(held.items())
    )


def start(folder: Path | None, code: str) -> Path:
    """Start a catalog in the workspace's ``locales``: every statement's English, no words yet.

    Raises WordingRefused for a tag that isn't one, is unknown to CLDR, is the source language
    or has a catalog there already, RecordsRefused, OutputRefused.
    """
    if folder is None:
        raise _refused(
            code, "no folder was named to put the catalog in", "name the pharmacy's folder too"
        )
    workspace = read_workspace(folder)
    try:
        tag = language_tag(code)
        text = start_catalog(tag, Path(workspace.root))
    except Unreadable as error:
        raise _refused(code, error.wrong, error.mend) from error
    except (ValueError, UnknownLocaleError) as error:
        raise _refused(
            code,
            f"CLDR knows no language {code!r}, so neither its plurals nor its dates",
            "give a language CLDR has, as 'it' or 'pt-PT'",
        ) from error
    if tag == SOURCE_LANGUAGE:
        raise _refused(
            code,
            "the statements themselves are English, so there is nothing to translate",
            "write statements of your own into the workspace's statements/",
        )
    path = catalog_path(folder / "locales", tag)
    if path.exists():
        raise WordingRefused(
            [
                Fault(
                    str(path),
                    "",
                    "",
                    "there is a catalog already",
                    "fill in that one, or move it away first",
                )
            ]
        )
    try:
        door.write_whole(path, text.encode(), door.PUBLIC)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error
    return path


def _refused(code: str, wrong: str, mend: str) -> WordingRefused:
    return WordingRefused([Fault("command line", "", f"--new {code}", wrong, mend)])


def _described(found: ClassCoverage) -> DescribedClass:
    return DescribedClass(
        statement_class=found.kind,
        statements=found.statements,
        have_words=found.said,
        signed=found.signed,
        accepted=found.accepted,
    )
