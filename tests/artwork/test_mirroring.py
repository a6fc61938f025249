"""Right-to-left layouts: sides change, nothing else does."""

import pytest
from artwork_layouts import field, layout, panel

from labelkit.artwork.mirroring import mirrored
from labelkit.geometry.judging import judge
from labelkit.geometry.model import AreaKind, Kind, Layout, What
from labelkit.geometry.reading import load, shipped
from labelkit.ground.box import Box


def boxes(shape: Layout) -> list[Box]:
    """Boxes of areas and fields in the layout's order."""
    areas = [a for f in shape.faces for p in f.pieces for a in p.areas]
    return [box for a in areas for box in (a.box, *(field.box for field in a.fields))]


@pytest.mark.parametrize("name", shipped())
def test_twice_is_the_same(name: str) -> None:
    """Mirrored twice, every layout is itself again; pads are never mirrored."""
    shape = load(name)
    turned = mirrored(shape)
    for before, after in zip(boxes(shape), boxes(mirrored(turned)), strict=True):
        assert after.x_mm == pytest.approx(before.x_mm)
        assert after.y_mm == pytest.approx(before.y_mm)
    assert (turned == shape) is (shape.kind is Kind.PAD)


@pytest.mark.parametrize("name", shipped())
def test_stays_in_its_area_and_piece(name: str) -> None:
    """Mirrored fields lie in their areas, and areas in their pieces."""
    for face in mirrored(load(name)).faces:
        for piece in face.pieces:
            for area in piece.areas:
                assert piece.outline.contains(area.box)
                assert all(area.box.contains(f.box) for f in area.fields)


def test_sleeve_panels_stay() -> None:
    """A sleeve's panels stay where the die cuts them; a field at the left goes to the right."""
    area = panel(field(What.VALUE, "{{ drug }}", Box(10, 20, 30, 5)), box=Box(5, 5, 100, 50))
    (turned,) = mirrored(layout(area)).faces[0].pieces[0].areas
    assert turned.box == area.box
    assert turned.fields[0].box == Box(70, 20, 30, 5)


def test_a_spine_begins_at_its_other_end() -> None:
    """Turned text of a right-to-left language begins at the foot: what stood first is there."""
    fields = [
        field(What.VALUE, "{{ drug }}", Box(50, 10, 6, 60), turn=90),
        field(What.VALUE, "{{ lot }}", Box(50, 75, 6, 20), turn=90),
    ]
    (turned,) = mirrored(layout(panel(*fields, box=Box(49, 5, 8, 100)))).faces[0].pieces[0].areas
    assert [f.box for f in turned.fields] == [Box(50, 40, 6, 60), Box(50, 15, 6, 20)]


def test_leaflet_panels_change_sides() -> None:
    """A leaflet's panels change sides as a whole, each with its fields, in the same order."""
    shape = load("leaflet-folded-letter")
    for face, turned in zip(shape.faces, mirrored(shape).faces, strict=True):
        before = [a for a in face.pieces[0].areas if a.kind is AreaKind.PANEL]
        after = [a for a in turned.pieces[0].areas if a.kind is AreaKind.PANEL]
        assert [a.id for a in before] == [a.id for a in after]
        assert [a.box for a in before] == [a.box for a in reversed(after)]


@pytest.mark.parametrize("name", [name for name in shipped() if name.startswith("lidding")])
def test_a_lid_keeps_its_cells_and_breaks_no_rule(name: str) -> None:
    """Labels of a header band stand at the right of their values; cells and tabs stay."""
    shape = load(name)
    turned = mirrored(shape)
    assert not judge(turned)
    for before, after in zip(shape.faces[0].pieces, turned.faces[0].pieces, strict=True):
        assert before.cells == after.cells
        (band,) = (area for area in after.areas if area.kind is AreaKind.BAND)
        at = {field.id: field.box for field in band.fields}
        assert at["lot"].right_mm <= at["lot-label"].x_mm
        assert at["rx"].right_mm <= at["rx-label"].x_mm
