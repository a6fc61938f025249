"""Bare paper: where a sheet was used before, or is left free, nothing is printed at all.

Looks at pixels, so that whatever makes them counts. A scan of a used sheet tells nothing here:
its backing shows where labels were peeled off.
"""

from collections.abc import Iterator

from labelkit.checks.areas import EDGE_SLACK_MM, INK_BELOW
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import edges, grown, place_of
from labelkit.checks.texts import short
from labelkit.checks.view import PageView
from labelkit.manifest.model import ManifestPage


def check_bare(view: PageView, page: ManifestPage) -> Iterator[Finding]:
    """A finding for each place that must be bare paper and has ink on it."""
    for place in page.bare:
        box = grown(edges(place.within), -EDGE_SLACK_MM)
        where = view.raster.inked(*view.raster.window(box), INK_BELOW)
        if where is None:
            continue
        text = view.content(box).text
        what = short(text) if text else "something"
        yield sentence(
            FindingKind.NOT_BARE,
            view.number,
            f"{what} is printed where the sheet must stay bare",
            expected="bare paper",
            found=short(text) if text else "ink",
            piece=place.piece,
            area=place.area,
            where=place_of(where),
        )
