"""Drawings: complete, in one stroke width, and the same from both sides."""

import xml.etree.ElementTree as ET

import pytest

from labelkit.artwork import pictures
from labelkit.artwork.page import Origin
from labelkit.ground import door
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused
from labelkit.wording.statements import statements

SQUARE = [name for name in pictures.names() if name not in ("peel-arrow", "peel-steps")]


def points(path: tuple[pictures.Segment, ...]) -> list[tuple[float, float]]:
    """All points of a path, control points too."""
    return [p for _, flat in path for p in zip(flat[::2], flat[1::2], strict=True)]


@pytest.mark.parametrize("name", pictures.names())
def test_inside_its_frame(name: str) -> None:
    """No point of a drawing lies outside the size the file states."""
    drawing = pictures.drawing(name)
    for stroke in drawing.strokes:
        for x, y in points(stroke.path):
            assert 0 <= x <= drawing.width
            assert 0 <= y <= drawing.height


@pytest.mark.parametrize("name", pictures.names())
def test_one_stroke_width_and_no_text(name: str) -> None:
    """A file sets its stroke width once, and holds nothing but paths, uses and its title."""
    root = ET.fromstring(door.read_bytes(pictures.FOLDER / f"{name}.svg"))
    assert float(root.attrib["stroke-width"]) > 0
    for element in root.iter():
        if element is not root:
            assert "stroke-width" not in element.attrib
            assert element.tag.rpartition("}")[2] in ("path", "use", "title")


@pytest.mark.parametrize("name", pictures.names())
def test_every_drawing_has_words(name: str) -> None:
    """Each drawing has a statement that says in words what it shows."""
    assert f"picture.{name}" in statements()


@pytest.mark.parametrize("name", SQUARE)
@pytest.mark.parametrize("mirrored", [False, True])
def test_at_15_mm(name: str, mirrored: bool) -> None:
    """At 15 mm a drawing fills its box one way at least, stays in it, and its lines are three
    dots or more of a 300 dpi printer (common practice, no source)."""
    box = Box(20, 30, 15, 15)
    items = pictures.placed(name, box, Origin("picture"), mirrored=mirrored)
    drawn = [p for item in items for p in points(item.path)]
    for x, y in drawn:
        assert box.x_mm - 1e-6 <= x <= box.right_mm + 1e-6
        assert box.y_mm - 1e-6 <= y <= box.bottom_mm + 1e-6
    for axis in (0, 1):
        values = [p[axis] for p in drawn]
        assert max(values) - min(values) > 0.75 * 15
    assert min(item.width_mm for item in items) >= 3 * 25.4 / 300


def test_mirrored_twice_is_itself() -> None:
    """Mirroring turns each point about the middle of the drawing's own width."""
    box = Box(10, 10, 30, 15)
    plain = pictures.placed("step-peel", box, Origin("picture"), align="start")
    turned = pictures.placed("step-peel", box, Origin("picture"), align="start", mirrored=True)
    for one, other in zip(plain, turned, strict=True):
        for (x1, y1), (x2, y2) in zip(points(one.path), points(other.path), strict=True):
            assert x1 + x2 == pytest.approx(2 * 10 + 15)
            assert y1 == y2


def test_too_small_is_refused() -> None:
    """A box that would make lines break up is refused, with the size that wouldn't."""
    with pytest.raises(ArtworkRefused, match="mm thin") as refused:
        pictures.placed("step-peel", Box(0, 0, 4, 4), Origin("picture"))
    least = float(refused.value.faults[0].mend.split()[4])
    box = Box(0, 0, least + 0.1, least + 0.1)
    assert pictures.placed("step-peel", box, Origin("picture"))


def test_unknown_is_refused() -> None:
    """A drawing that isn't there is refused, and the answer names those that are."""
    with pytest.raises(ArtworkRefused, match="step-peel"):
        pictures.placed("no-such", Box(0, 0, 20, 20), Origin("picture"))
