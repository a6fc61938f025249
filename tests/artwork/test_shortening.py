"""Large print: as many pages as the text needs, each numbered among all of them."""

from dataclasses import replace
from pathlib import Path

import pytest

from labelkit.artwork.composing import compose
from labelkit.artwork.page import TextItem
from labelkit.geometry.reading import load
from labelkit.ground.errors import ArtworkRefused
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.orders import orders
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

WORKSPACE = read_workspace(Path(__file__).parents[2] / "samples" / "languages")
LEAFLETS = {
    order.language: order
    for order in orders(
        WORKSPACE,
        Wish(
            everything=True,
            only=frozenset({"leaflet"}),
            layouts={"leaflet": "leaflet-large-letter"},
        ),
    ).orders
}


@pytest.fixture(scope="module", params=["en", "ru", "zh-Hans"])
def held(request: pytest.FixtureRequest) -> Contents:
    """Contents of a leaflet in large print."""
    return contents(LEAFLETS[request.param])


def test_every_page_is_needed_and_numbered(held: Contents) -> None:
    """No page without text, one page fewer wouldn't do, and each says which of how many it is."""
    faces = held.layout.faces
    assert 1 < len(faces) < len(load("leaflet-large-letter").faces)
    pages = compose(held.layout, held.sheets, "draft").pages
    assert len(pages) == len(faces)
    for number, page in enumerate(pages, 1):
        texts = [item for item in page.items if isinstance(item, TextItem)]
        assert any(item.origin.field == f"text-{number}" for item in texts)
        said = [
            "".join(run.text for line in item.lines for run in line.runs)
            for item in texts
            if item.origin.source == f"statement:leaflet.page-{number}"
        ]
        assert len(said) == 1
        assert str(number) in said[0]
        assert str(len(faces)) in said[0]
    fewer = replace(held.layout, faces=faces[:-1])
    with pytest.raises(ArtworkRefused):
        compose(fewer, held.sheets, "draft")


def test_running_text_is_large(held: Contents) -> None:
    """16 to 18 pt, and headings above (large print: 16 pt and more, RNIB Clear Print, from
    memory); what stands outside the text is a page's head, its number and the draft mark."""
    for page in compose(held.layout, held.sheets, "made").pages:
        for item in page.items:
            if isinstance(item, TextItem) and item.origin.field.startswith("text-"):
                assert all(run.size_pt >= 16 for line in item.lines for run in line.runs)
