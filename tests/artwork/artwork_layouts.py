"""Small layouts for the tests, built in code: one piece, one area per box."""

from labelkit.geometry.model import (
    Area,
    AreaKind,
    Face,
    Field,
    Kind,
    Layout,
    Piece,
    Stock,
    What,
)
from labelkit.ground.box import Box

WHOLE = Box(5, 5, 205, 269)
STOCK = Stock("Letter", 215.9, 279.4, 5.0, 300, 0.75)


def layout(*areas: Area, kind: Kind = Kind.SLEEVE) -> Layout:
    """A one-faced layout with one piece that holds these areas."""
    face = Face("front", (Piece("A", 1, WHOLE, areas),), ())
    return Layout("test", "Test", kind, STOCK, (face,), 1, "none", "test.toml")


def panel(*fields: Field, box: Box = WHOLE, key: str = "panel") -> Area:
    """A panel with these fields."""
    return Area(AreaKind.PANEL, key, box, fields)


def field(what: What, arg: str, box: Box, **more: object) -> Field:
    """A field named after what it is."""
    return Field(what.value, what, arg, box, **more)  # type: ignore[arg-type]


def chain(*boxes: Box, arg: str = "leaflet", **more: object) -> Layout:
    """A leaflet whose document flows through these boxes."""
    areas = (
        panel(field(What.FLOW, arg, box, **more), box=box, key=f"panel-{number}")
        for number, box in enumerate(boxes)
    )
    return layout(*areas, kind=Kind.LEAFLET)
