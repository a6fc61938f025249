"""The loading map: every cavity where the layout has it, numbered or crossed."""

import pytest
from artwork_reading import said

from labelkit.artwork.loading_map import OVERHANG_MM, cut_pairs, map_items
from labelkit.artwork.page import Item, StrokeItem, TextItem
from labelkit.geometry.model import Layout, Piece
from labelkit.geometry.reading import load, shipped
from labelkit.ground.box import Box
from labelkit.rules.model import Pack, PlannedCard, PlannedPiece
from labelkit.wording.catalogs import catalog

LIDDING = [name for name in shipped() if name.startswith("lidding")]
ROOM = Box(10.0, 50.0, 190.0, 165.0)
ENGLISH = catalog("en", None, ())


def pieces_of(layout: Layout) -> list[Piece]:
    """The pieces of the layout's first card."""
    return [piece for piece in layout.faces[0].pieces if piece.card == 1]


def planned(layout: Layout, *filled: int) -> PlannedCard:
    """A card of that layout with so many tablets on each piece, one patient's packs."""
    pieces = pieces_of(layout)
    counts = [*filled, *[0] * (len(pieces) - len(filled))]
    used = sum(count > 0 for count in counts)
    return PlannedCard(
        1,
        "TV2611",
        layout.cavities,
        tuple(
            PlannedPiece(p.id, k, Pack("104321", n, used, k) if k else None)
            for n, (p, k) in enumerate(zip(pieces, counts, strict=True), start=1)
        ),
        layout.name,
    )


def rings(items: tuple[Item, ...], *, dashed: bool) -> list[StrokeItem]:
    """The circles round cavities, filled or empty."""
    return [
        i
        for i in items
        if isinstance(i, StrokeItem)
        and any(op == "C" for op, _ in i.path)
        and bool(i.dash_mm) is dashed
    ]


@pytest.mark.parametrize("name", LIDDING)
def test_cavities_lie_as_in_the_layout(name: str) -> None:
    """Seen from the open side nothing is mirrored: a shift alone, at full size, for each ring."""
    layout = load(name)
    items = map_items(planned(layout, *[10] * len(pieces_of(layout))), layout, ENGLISH, ROOM)
    drawn = sorted((ring.box.x_mm, ring.box.y_mm) for ring in rings(items, dashed=False))
    there = sorted(
        (cell.cavity.x_mm, cell.cavity.y_mm)
        for piece in pieces_of(layout)
        for cell in piece.cells
        if cell.cavity
    )
    assert len(drawn) == layout.cavities
    shifts = {
        (round(x - a, 3), round(y - b, 3)) for (x, y), (a, b) in zip(drawn, there, strict=True)
    }
    assert len(shifts) == 1


@pytest.mark.parametrize("name", LIDDING)
def test_the_key_is_in_the_corner_where_the_lid_has_it(name: str) -> None:
    """Each piece's orientation key, as far from the first cavity as on the lid."""
    layout = load(name)
    items = map_items(planned(layout, 10), layout, ENGLISH, ROOM)
    keys = [i for i in items if isinstance(i, StrokeItem) and i.fill]
    first = next(c.cavity for p in pieces_of(layout) for c in p.cells if c.cavity)
    ring = rings(items, dashed=False)[0]
    points = layout.faces[0].keys[0].points
    wanted = [(x - first.x_mm, y - first.y_mm) for x, y in points]
    drawn = [(at[0] - ring.box.x_mm, at[1] - ring.box.y_mm) for op, at in keys[0].path if at]
    for (x, y), (a, b) in zip(drawn, wanted, strict=True):
        assert (x, y) == pytest.approx((a, b))


def test_filled_cavities_are_numbered_in_loading_order_and_the_others_crossed() -> None:
    """Six tablets on a card of twenty: 1 to 6 in bold rings, fourteen say that they're empty."""
    layout = load("lidding-20-letter")
    items = map_items(planned(layout, 6), layout, ENGLISH, ROOM)
    bold, fine = rings(items, dashed=False), rings(items, dashed=True)
    assert (len(bold), len(fine)) == (6, 14)
    assert min(r.width_mm for r in bold) >= 3 * max(r.width_mm for r in fine)
    words = [i for i in items if isinstance(i, TextItem)]
    assert sum(said([w]) == "Empty" for w in words) == 14
    numbers = {said([w]): w for w in words if said([w]).isdigit()}
    assert list(numbers) == ["1", "2", "3", "4", "5", "6"]
    for ring, (_, number) in zip(bold, numbers.items(), strict=True):
        assert ring.box.contains(number.box)
    crosses = [i for i in items if isinstance(i, StrokeItem) and len(i.path) == 2]
    crosses = [i for i in crosses if any(r.box.contains(i.box) for r in fine)]
    assert len(crosses) == 2 * 14


@pytest.mark.parametrize(
    ("name", "filled", "cut"),
    [
        ("lidding-10-letter", (10,), ()),
        ("lidding-20-letter", (10, 10), (("A", "B"),)),
        ("lidding-20-letter", (4,), (("A", "B"),)),
        ("lidding-30-letter", (10, 10, 10), (("A", "B"), ("B", "C"))),
        ("lidding-30-letter", (7,), (("A", "B"),)),
    ],
)
def test_cuts_part_filled_pieces_from_the_rest(
    name: str, filled: tuple[int, ...], cut: tuple[tuple[str, str], ...]
) -> None:
    """A heavy dashed line along each edge to cut, standing out of the card at both ends."""
    layout = load(name)
    card = planned(layout, *filled)
    assert cut_pairs(card) == cut
    items = map_items(card, layout, ENGLISH, ROOM)
    lines = [i for i in items if isinstance(i, StrokeItem) and len(i.path) == 2 and i.dash_mm]
    outlines = [i.box for i in items if isinstance(i, StrokeItem) and i.width_mm == 0.35]
    edges = [box.right_mm for box in outlines[: len(cut)]]
    assert [line.box.x_mm for line in lines] == pytest.approx(edges)
    for line in lines:
        assert line.box.h_mm == pytest.approx(outlines[0].h_mm + 2 * OVERHANG_MM)


@pytest.mark.parametrize("name", LIDDING)
@pytest.mark.parametrize("room", [ROOM, Box(10.0, 50.0, 120.0, 140.0)])
def test_the_map_keeps_to_its_room(name: str, room: Box) -> None:
    """In full size where there is room, else smaller; never over its edge."""
    layout = load(name)
    for item in map_items(planned(layout, 10), layout, ENGLISH, room):
        assert room.inset(-0.001).contains(item.box)


def test_pieces_say_whose_they_are() -> None:
    """Prescription and pack, stock, or nothing: by statement, so in the pharmacy's language."""
    layout = load("lidding-30-letter")
    packs = (
        PlannedPiece("A", 10, Pack("104321", 2, 3, 10)),
        PlannedPiece("B", 1, None),
        PlannedPiece("C", 0, None),
    )
    card = PlannedCard(1, "TV2611", 30, packs, layout.name)
    words = said(map_items(card, layout, ENGLISH, ROOM))
    assert "Piece A: prescription 104321, pack 2 of 3, 10 tablets" in words
    assert "Piece B: stock, 1 tablet" in words
    assert "Piece C: leave empty" in words
    spanish = said(map_items(card, layout, catalog("es", None, ()), ROOM))
    assert "Pieza A: receta 104321, paquete 2 de 3, 10 tabletas" in spanish
