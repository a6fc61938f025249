"""Layouts for the command line: list, judge, draw, and start from caliper readings."""

from pathlib import Path
from typing import TypedDict

from labelkit.geometry.judging import judge
from labelkit.geometry.model import Layout
from labelkit.geometry.reading import load, shipped
from labelkit.ground.errors import LayoutRefused


class Described(TypedDict):
    """A layout in a few words."""

    name: str
    kind: str
    title: str
    sheet: str
    on_a_sheet: int
    cavities: int
    faces: int
    file: str


def described(layout: Layout) -> Described:
    """What a person chooses a layout by."""
    stock = layout.stock
    return Described(
        name=layout.name,
        kind=layout.kind.value,
        title=layout.title,
        sheet=f"{stock.name}, {stock.width_mm:g} × {stock.height_mm:g} mm",
        on_a_sheet=layout.cards,
        cavities=layout.cavities,
        faces=len(layout.faces),
        file=layout.file,
    )


def shipped_layouts() -> tuple[Layout, ...]:
    """All layouts that come with labelkit, by name."""
    return tuple(load(name) for name in shipped())


def judged(name_or_path: str | Path) -> Layout:
    """A layout that breaks no rule of geometry. Raises LayoutRefused with all it breaks."""
    layout = load(name_or_path)
    faults = judge(layout)
    if faults:
        raise LayoutRefused(faults)
    return layout
