"""Bare paper: where a sheet was used before, or is left free, nothing is printed at all.

Looks at pixels, so that whatever makes them counts. A scan of a used sheet tells nothing here:
its backing shows where labels were peeled off.
"""

from collections.abc import Iterator

import numpy as np

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
        rows, columns = view.raster.window(box)
        dark = view.raster.grey[rows, columns] < INK_BELOW
        if not dark.any():
            continue
        down, across = np.nonzero(dark.any(axis=1))[0], np.nonzero(dark.any(axis=0))[0]
        where = view.raster.edges(
            slice(rows.start + int(down[0]), rows.start + int(down[-1]) + 1),
            slice(columns.start + int(across[0]), columns.start + int(across[-1]) + 1),
        )
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
