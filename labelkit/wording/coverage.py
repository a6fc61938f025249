"""How much of each language there is, and how much of that anybody answers for.

Two figures, never one: a complete catalog may be wholly unreviewed. Counts, judges nothing
but what `labelkit.wording.checking` can see.
"""

from dataclasses import dataclass
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault
from labelkit.wording.catalogs import Catalog, shipped_languages
from labelkit.wording.checking import catalog_faults
from labelkit.wording.entries import tag_of
from labelkit.wording.model import ReviewState


@dataclass(frozen=True, slots=True)
class ClassCoverage:
    """One class of statements in one language."""

    kind: str
    statements: int
    """Statements there are, the workspace's own among them."""
    said: int
    """Those the language has words for."""
    signed: int
    """Those whose entry a qualified person has signed."""
    accepted: int
    """Those that may be used in more than a draft: signed, or accepted by the pharmacy."""


@dataclass(frozen=True, slots=True)
class LanguageCoverage:
    """One language of a workspace, or of labelkit itself."""

    language: str
    name: str
    """In English, by CLDR."""
    rtl: bool
    revision: str
    classes: tuple[ClassCoverage, ...]
    """By class, in alphabetical order."""
    faults: tuple[Fault, ...]
    """What the automatic checks of the catalog found."""

    @property
    def complete(self) -> bool:
        """Whether every statement has words."""
        return all(c.said == c.statements for c in self.classes)


def languages(workspace_root: Path | None = None) -> tuple[str, ...]:
    """BCP 47 tags of all catalogs, English first, with those a workspace adds."""
    own = (
        door.listed(workspace_root / "locales", "*/LC_MESSAGES/labelkit.po")
        if workspace_root
        else ()
    )
    tags = [*shipped_languages(), *(tag_of(path.parent.parent.name) for path in own)]
    return tuple(dict.fromkeys(tags))


def coverage(spoken: Catalog) -> LanguageCoverage:
    """What a language has, and what the automatic checks find in it."""
    kinds = sorted({statement.kind for statement in spoken.statements.values()})
    return LanguageCoverage(
        language=spoken.language,
        name=spoken.locale.get_display_name("en") or spoken.language,
        rtl=spoken.rtl,
        revision=spoken.revision,
        classes=tuple(_of_class(kind, spoken) for kind in kinds),
        faults=(
            *spoken.headers,
            *catalog_faults(spoken.statements, spoken.entries, spoken.language),
        ),
    )


def _of_class(kind: str, spoken: Catalog) -> ClassCoverage:
    ids = [id_ for id_, statement in spoken.statements.items() if statement.kind == kind]
    said = [id_ for id_ in ids if spoken.has(id_)]
    return ClassCoverage(
        kind=kind,
        statements=len(ids),
        said=len(said),
        signed=sum(spoken.signed(id_) for id_ in said),
        accepted=sum(spoken.state_of(id_) is ReviewState.ACCEPTED for id_ in said),
    )
