"""The sample pharmacy's artwork: every particular that the rules require is on every piece."""

from functools import lru_cache
from pathlib import Path

import pytest
from artwork_reading import inked, inside, items_of

from labelkit.artwork.composing import compose
from labelkit.artwork.page import Artwork, Item, StrokeItem, TextItem
from labelkit.geometry.model import AreaKind, Layout
from labelkit.ground import door
from labelkit.ground.box import Box
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.order import Order
from labelkit.jobs.orders import orders
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

ORDERS = orders(
    read_workspace(Path(door.resource_dir("samples")) / "pharmacy"), Wish(everything=True)
).orders


@lru_cache(maxsize=64)
def made(order_index: int) -> tuple[Contents, Artwork]:
    """One order's contents and artwork, as a draft: the harder case, with its marks."""
    held = contents(ORDERS[order_index])
    return held, compose(held.layout, held.sheets, "made")


def each_order():
    """A test case for each file of the sample."""
    return pytest.mark.parametrize(
        "index", range(len(ORDERS)), ids=[order.stem for order in ORDERS]
    )


def carried(items: list[Item]) -> set[str]:
    """What the items satisfy: ``fact:…``, ``statement:…``, ``picture:…``, ``code:…``."""
    found: set[str] = set()
    for item in items:
        kind, _, names = item.origin.source.partition(":")
        found.update(f"{kind}:{name}" for name in names.split(","))
    return found


def places(layout: Layout, held: Contents, page: int, kind: str) -> list[tuple[Box, str]]:
    """Boxes of one page that must each carry the particulars of that kind of place."""
    faces = len(layout.faces)
    sheet, face = held.sheets[page // faces], layout.faces[page % faces]
    boxes = []
    for piece in face.pieces:
        load = sheet.of(piece.id, piece.card)
        if load is None:
            continue
        used = {cell.number for cell in load.cells if cell.used}
        for area in piece.areas:
            if (kind == "cell" and area.kind is AreaKind.CELL and area.number in used) or (
                kind == "band" and area.kind is AreaKind.BAND
            ):
                boxes.append((area.box, f"{piece.id} {area.id}"))
        if kind == "piece":
            boxes.append((piece.outline, piece.id))
    return boxes


@each_order()
def test_every_required_particular(index: int) -> None:
    """Each particular stands in each filled cell, in each band, on each piece, or in the
    document, wherever the rules ask for it."""
    held, artwork = made(index)
    faces = len(held.layout.faces)
    everything = carried([i for page in artwork.pages for i in items_of(page)])
    for requirement in held.requirements:
        if requirement.place == "document":
            assert requirement.satisfied_by in everything, requirement
            continue
        for first in range(0, len(artwork.pages), faces):
            leaf = artwork.pages[first : first + faces]
            for box, where in places(held.layout, held, first, requirement.place):
                sides = leaf if requirement.place == "piece" else leaf[:1]
                here = [i for page in sides for i in items_of(page) if inside(i.box, box)]
                assert requirement.satisfied_by in carried(here), (requirement.id, where)


@each_order()
def test_inside_and_clear(index: int) -> None:
    """All ink lies on the printable sheet, all letters in their boxes, and no letter lies on
    those of another text of its area."""
    held, artwork = made(index)
    stock = held.layout.stock
    printable = Box(0, 0, stock.width_mm, stock.height_mm).inset(stock.margin_mm)
    for page in artwork.pages:
        letters: dict[tuple[str, str], list[Box]] = {}
        for item in items_of(page):
            assert inside(item.box, printable)
            if isinstance(item, TextItem):
                assert inside(inked(item), item.box)
                area = (item.origin.piece, item.origin.area)
                letters.setdefault(area, []).append(inked(item).inset(0.02))
        for boxes in letters.values():
            for number, one in enumerate(boxes):
                assert not any(one.overlaps(other) for other in boxes[number + 1 :])


@each_order()
def test_leaflets_are_tagged(index: int) -> None:
    """Every text of a leaflet has a role, every drawing words; reading order starts at 1 in
    the flow; other artwork has no structure."""
    _, artwork = made(index)
    assert artwork.tagged is (artwork.kind == "leaflet")
    if not artwork.tagged:
        return
    items = [i for page in artwork.pages for i in items_of(page)]
    assert all(i.tag is not None for i in items if isinstance(i, TextItem))
    figures = [i.tag for i in items if isinstance(i, StrokeItem) and i.tag is not None]
    assert figures
    assert all(tag.role == "Figure" and tag.alt for tag in figures)
    headings = [i.tag for i in items if i.tag is not None and i.tag.role in ("H1", "H2")]
    assert sorted(headings, key=lambda tag: tag.order)[0].role == "H1"


def test_the_sample_has_every_kind() -> None:
    """The sample makes all four kinds, in two languages at least."""
    made_of: list[Order] = list(ORDERS)
    assert {order.artwork for order in made_of} == {"lidding", "sleeve", "leaflet", "pad"}
    assert len({order.language for order in made_of}) >= 2
