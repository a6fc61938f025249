"""What many orders share: voices and layouts.

A voice is kept under a digest of all that it was read from, which `held` writes on the
workspace when a call begins. A worker that lives longer than the call never speaks from a
catalog that was changed since, and one whose files or whose labelkit differ from the
caller's refuses. Layouts travel with the orders, so only the call itself reads them.
"""

import hashlib
from functools import lru_cache
from pathlib import Path

from labelkit.geometry.judging import judge
from labelkit.geometry.model import Layout
from labelkit.geometry.reading import load
from labelkit.ground import door
from labelkit.ground.errors import Fault, LayoutRefused, WordingRefused
from labelkit.manifest.source import Source
from labelkit.records.model import Acceptance, Workspace
from labelkit.rules.products import product
from labelkit.wording.catalogs import Catalog, catalog

CATALOGS = "*/LC_MESSAGES/labelkit.po"
"""Where a folder of locales keeps its catalogs."""


def held(workspace: Workspace) -> Workspace:
    """The workspace with the digest of what it speaks with, as it is at this moment."""
    return workspace.model_copy(update={"wording": _wording(workspace.root)})


def _wording(root: str) -> str:
    """SHA-256 over statements and catalogs, the workspace's and the shipped, and the code."""
    digest = hashlib.sha256(door.code_digest().encode())
    own, shipped = Path(root), door.resource_dir("locales")
    for folder, pattern in (
        (own / "statements", "*.toml"),
        (own / "locales", CATALOGS),
        (shipped, CATALOGS),
    ):
        for path in door.listed(folder, pattern):
            name = f"{folder.name}/{path.relative_to(folder)}"
            digest.update(name.encode() + b"\0" + _content(path))
    return digest.hexdigest()


def _content(path: Path) -> bytes:
    try:
        return hashlib.sha256(door.read_bytes(path)).digest()
    except OSError:
        # Whoever reads it for its words says what is wrong with it.
        return b"unreadable"


@lru_cache(maxsize=64)
def _catalog(
    language: str, root: str, acceptances: tuple[Acceptance, ...], country: str, wording: str
) -> Catalog:
    found = catalog(language, Path(root), acceptances, country)
    if _wording(root) != wording:
        raise WordingRefused(
            [
                Fault(
                    "locales",
                    "",
                    "",
                    "the statements, catalogs or labelkit itself that are read here differ from "
                    "those the call began with",
                    "leave them as they are while it runs, give every worker the same ones, and "
                    "make it again",
                )
            ]
        )
    if found.stops:
        raise WordingRefused(found.stops)
    return found


def voice(workspace: Workspace, language: str) -> Catalog:
    """A language with the workspace's own entries and acceptances. Raises WordingRefused, also
    where what there is to read isn't what the call began with, or a fault can be seen in it."""
    wording = workspace.wording or _wording(workspace.root)
    country = workspace.pharmacy.country
    return _catalog(language, workspace.root, workspace.acceptances, country, wording)


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


def forget_layouts() -> None:
    """Read layouts anew from now on: called when orders are given."""
    layout.cache_clear()


def source(workspace: Workspace, preparation: str, strength: str, language: str = "") -> Source:
    """A product with its speakers; without a language the pharmacy's alone."""
    own = voice(workspace, workspace.pharmacy.language)
    return Source(
        workspace=workspace,
        product=product(workspace.preparation(preparation), strength),
        pharmacy=own,
        patient=voice(workspace, language) if language else own,
    )
