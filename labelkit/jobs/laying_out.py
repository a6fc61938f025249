"""Layouts for the command line: list, judge, draw, and start from caliper readings."""

from pathlib import Path
from typing import TypedDict

from labelkit.artwork.bare import overlay, picture
from labelkit.geometry.judging import judge
from labelkit.geometry.measuring import layout_text, readings
from labelkit.geometry.model import Layout
from labelkit.geometry.reading import load, shipped
from labelkit.ground import door
from labelkit.ground.errors import Fault, LayoutRefused
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.output.pdf import write
from labelkit.output.rendering import pictures

PICTURE_DPI = 150


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


def draw(layout: Layout, file: Path) -> tuple[Path, ...]:
    """Draw the bare geometry with its dimensions: `file`, and beside it one for a back.

    Raises OutputRefused.
    """
    drawn = pictures(write(picture(layout)), PICTURE_DPI)
    names = [file, *(file.with_stem(f"{file.stem}-{face.id}") for face in layout.faces[1:])]
    for path, png in zip(names, drawn, strict=True):
        _write(path, png)
    return tuple(names)


def started(measured: Path, folder: Path) -> tuple[Path, Path]:
    """A layout and a full-size overlay on plain paper, from a file of caliper readings.

    Raises LayoutRefused with every reading that makes no card, OutputRefused.
    """
    try:
        text = door.read_bytes(measured).decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        wrong = f"can't be read ({error})"
        mend = "name a TOML file in UTF-8 with the caliper readings"
        raise LayoutRefused([Fault(str(measured), "", "", wrong, mend)]) from error
    layout_file = folder / f"{measured.stem}-layout.toml"
    if layout_file.exists():
        wrong, mend = "is there already", "name another folder, so that nothing is overwritten"
        raise LayoutRefused([Fault(str(layout_file), "", "", wrong, mend)])
    _write(layout_file, layout_text(readings(text, str(measured))).encode())
    paper = folder / f"{measured.stem}-overlay.pdf"
    _write(paper, write(overlay(load(layout_file))))
    return layout_file, paper


def _write(path: Path, data: bytes) -> None:
    try:
        door.write_whole(path, data, door.PUBLIC)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error
