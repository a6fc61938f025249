"""The audit of cut pieces: it passes what is whole, and names what the cutter would take."""

from dataclasses import replace

import pytest

from labelkit.geometry.model import (
    Area,
    AreaKind,
    Face,
    Field,
    Kind,
    Layout,
    Line,
    LineKind,
    Piece,
    Stock,
    What,
)
from labelkit.ground.box import Box
from labelkit.ground.errors import Fault
from labelkit.rules.model import Requirement
from labelkit.rules.separability import judge_separability

TOLERANCE = 0.75


def field(name: str, x: float, y: float, what: What = What.VALUE, arg: str = "") -> Field:
    """A field of 8 × 3 mm that holds the fact of its name."""
    return Field(name, what, arg or f"{{{{ {name} }}}}", Box(x, y, 8, 3))


def piece(name: str, left: float, lot_x: float | None) -> Piece:
    """A piece of 30 × 30 mm with a band that holds the lot, and two cells that hold strength."""
    right = field("strength", left + 17, 10)
    lot = () if lot_x is None else (field("lot", lot_x, 1),)
    return Piece(
        name,
        1,
        Box(left, 0, 30, 30),
        (
            Area(AreaKind.BAND, "band", Box(left, 0, 30, 6), lot),
            Area(AreaKind.CELL, "c1", Box(left, 6, 15, 24), (field("strength", left + 2, 10),), 1),
            Area(AreaKind.CELL, "c2", Box(left + 15, 6, 15, 24), (right,), 2),
        ),
    )


def layout(*pieces: Piece, lines: tuple[Line, ...] = ()) -> Layout:
    """A sheet with those pieces and lines, tolerance 0.75 mm."""
    cut = Line(LineKind.CUT, 30, 0, 30, 30)
    return Layout(
        "two", "Two pieces", Kind.LIDDING,
        Stock("sheet", 100, 100, 5, 300, TOLERANCE),
        (Face("front", pieces, (cut, *lines)),), 1, "cell", "layouts/two.toml",
    )  # fmt: skip


def asked(name: str, place: str, artwork: str = "lidding", by: str = "") -> Requirement:
    """A requirement for the fact of that name."""
    return Requirement(name, artwork, place, by or f"fact:{name}", 0, 0, "a law, section 1")


LOT = asked("lot", "band")
STRENGTH = asked("strength", "cell")


def judged(one: Layout, *requirements: Requirement, said: tuple[str, ...] = ()) -> list[Fault]:
    """The audit's faults."""
    return list(judge_separability(one, requirements, said))


def test_whole_on_each_piece() -> None:
    """Each piece has its own lot in the band and strength in each cell."""
    good = layout(piece("A", 0, 4), piece("B", 30, 34))
    assert judged(good, LOT, STRENGTH) == []


def test_a_piece_without_its_own_is_named() -> None:
    """A lot that stands on the neighbour doesn't help the piece without."""
    (fault,) = judged(layout(piece("A", 0, 4), piece("B", 30, None)), LOT)
    assert fault.where == "piece B of card 1, band"
    assert "nothing in a band of this piece holds fact:lot" in fault.wrong
    assert (fault.rule, fault.source) == ("separability.whole", "a law, section 1")


@pytest.mark.parametrize(
    ("lot_x", "whole"),
    [
        (30 - 8 - TOLERANCE, True),
        (30 - 8 - TOLERANCE + 0.01, False),
        (30 - 8, False),
        (25, False),
    ],
)
def test_the_cutting_tolerance_is_kept(lot_x: float, whole: bool) -> None:
    """At the tolerance from the cut a field is safe; a hundredth nearer, or across it, is not."""
    faults = judged(layout(piece("A", 0, lot_x), piece("B", 30, 34)), LOT)
    assert (faults == []) is whole
    if not whole:
        assert "field lot" in faults[0].wrong
        assert faults[0].where.startswith("piece A")


def test_one_safe_place_is_enough() -> None:
    """A particular that stands twice on a piece may lose the one near the cut."""
    first = piece("A", 0, 26)
    band, *cells = first.areas
    twice = replace(first, areas=(replace(band, fields=(*band.fields, field("lot", 2, 1))), *cells))
    assert judged(layout(twice, piece("B", 30, 34)), LOT) == []


@pytest.mark.parametrize("kind", list(LineKind))
def test_folds_and_perforations_count_kiss_cuts_do_not(kind: LineKind) -> None:
    """A fold or perforation through the lot refuses it; a kiss cut is the layout judge's."""
    line = Line(kind, 0, 2, 30, 2)
    faults = judged(layout(piece("A", 0, 4), piece("B", 30, 34), lines=(line,)), LOT)
    assert (faults == []) is (kind is LineKind.KISS_CUT)


def test_every_cell_is_judged() -> None:
    """One cell without its strength is named by its number, whatever its neighbours hold."""
    first = piece("A", 0, 4)
    band, one, two = first.areas
    (fault,) = judged(layout(replace(first, areas=(band, one, replace(two, fields=())))), STRENGTH)
    assert fault.where == "piece A of card 1, cell 2"


def test_a_cell_does_not_stand_for_the_band() -> None:
    """Peeling destroys a cell: what must be in the band isn't met by a cell."""
    assert judged(layout(piece("A", 0, 4)), asked("strength", "band"))
    assert judged(layout(piece("A", 0, 4)), asked("strength", "piece")) == []


def test_a_document_counts_where_it_flows() -> None:
    """What a document says is on the piece only if the document's field is, and is whole."""
    first = piece("A", 0, 4)
    wanted = asked("x", "piece", by="statement:caution.children")
    said = ("statement:caution.children",)
    assert judged(layout(first), wanted, said=said)
    band, *cells = first.areas
    for x, whole in ((2.0, True), (26.0, False)):
        flow = field("back", x, 2, What.FLOW, "sleeve-back")
        flowing = replace(first, areas=(replace(band, fields=(*band.fields, flow)), *cells))
        assert (judged(layout(flowing), wanted, said=said) == []) is whole
        assert judged(layout(flowing), wanted)


def test_a_back_counts_for_its_front() -> None:
    """A pad's leaf is one piece with two sides."""
    front = layout(piece("A", 0, None))
    back = Face("back", (piece("A", 0, 4),), ())
    assert judged(front, LOT)
    assert judged(replace(front, faces=(*front.faces, back)), LOT) == []


def test_requirements_of_other_artwork_are_left_alone() -> None:
    """A sleeve's particulars aren't asked of lidding."""
    assert judged(layout(piece("A", 0, None)), asked("patient", "piece", "sleeve")) == []
