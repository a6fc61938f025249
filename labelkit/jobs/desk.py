"""What all orders of one call share: the workspace, its voices and the layouts chosen."""

from functools import cache
from pathlib import Path

from labelkit.geometry.model import Layout
from labelkit.geometry.reading import load
from labelkit.jobs.wishes import LAYOUTS, Wish
from labelkit.manifest.loading import Source
from labelkit.records.model import Workspace
from labelkit.wording.catalogs import Catalog, catalog


def voice(workspace: Workspace, language: str) -> Catalog:
    """A language with the workspace's own entries and acceptances. Raises WordingRefused."""
    return catalog(
        language, Path(workspace.root), workspace.acceptances, workspace.pharmacy.country
    )


class Desk:
    """Reads each catalog and each layout once."""

    def __init__(self, workspace: Workspace, wish: Wish) -> None:
        self.workspace = workspace
        self.wish = wish
        self.voice = cache(lambda language: voice(workspace, language))
        self.layout = cache(self._layout)

    def _layout(self, artwork: str) -> Layout:
        name = self.wish.layouts.get(artwork)
        return load(name or f"{LAYOUTS[artwork]}-{self.workspace.pharmacy.paper}")

    def source(self, preparation: str, strength: str, language: str = "") -> Source:
        """A preparation's strength with its speakers; without a language the pharmacy's alone."""
        own = self.voice(self.workspace.pharmacy.language)
        return Source(
            workspace=self.workspace,
            preparation=self.workspace.preparation(preparation),
            strength=strength,
            pharmacy=own,
            patient=self.voice(language) if language else own,
        )
