"""What many orders share: voices and layouts, each read once for a call.

`clear` forgets them, so that a later call in the same process sees changed files.
"""

from functools import lru_cache
from pathlib import Path

from labelkit.geometry.judging import judge
from labelkit.geometry.model import Layout
from labelkit.geometry.reading import load
from labelkit.ground.errors import Fault, LayoutRefused
from labelkit.manifest.source import Source
from labelkit.records.model import Acceptance, Workspace
from labelkit.wording.catalogs import Catalog, catalog


@lru_cache(maxsize=64)
def _catalog(
    language: str, root: str, acceptances: tuple[Acceptance, ...], country: str
) -> Catalog:
    return catalog(language, Path(root), acceptances, country)


def voice(workspace: Workspace, language: str) -> Catalog:
    """A language with the workspace's own entries and acceptances. Raises WordingRefused."""
    return _catalog(language, workspace.root, workspace.acceptances, workspace.pharmacy.country)


@lru_cache(maxsize=64)
def layout(name_or_path: str, artwork: str) -> Layout:
    """A layout by name or path, judged. Raises LayoutRefused with every rule it breaks."""
    found = load(name_or_path)
    faults = list(judge(found))
    if found.kind.value != artwork:
        faults.append(
            Fault(
                found.file,
                "",
                "kind",
                f"{found.name} is a layout for a {found.kind.value}, not for a {artwork}",
                "name a layout of that kind (labelkit layouts lists them)",
            )
        )
    if faults:
        raise LayoutRefused(faults)
    return found


def source(workspace: Workspace, preparation: str, strength: str, language: str = "") -> Source:
    """A preparation's strength with its speakers; without a language the pharmacy's alone."""
    own = voice(workspace, workspace.pharmacy.language)
    return Source(
        workspace=workspace,
        preparation=workspace.preparation(preparation),
        strength=strength,
        pharmacy=own,
        patient=voice(workspace, language) if language else own,
    )


def clear() -> None:
    """Forget what was read: called at the start of every call."""
    _catalog.cache_clear()
    layout.cache_clear()
