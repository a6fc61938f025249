"""Aligning a printer: the sheet to read, what was read kept per printer and paper, and its use.

What is kept stands in ``printers.toml`` of the workspace. A printer that wasn't aligned for a
paper is never taken to be aligned like for another.
"""

from collections.abc import Iterable
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from labelkit.artwork.alignment import alignment_sheet
from labelkit.artwork.register_sheet import register_sheet
from labelkit.geometry.alignment import (
    MOST_OFF_MM,
    MOST_SCALE,
    MOST_SKEW,
    PAPERS,
    READING_MM,
    Alignment,
    fitted,
    fitted_back,
)
from labelkit.geometry.model import Layout
from labelkit.geometry.moving import moved, paper_of
from labelkit.geometry.sides import side_of
from labelkit.ground import door
from labelkit.ground.errors import Fault, LayoutRefused, RecordsRefused
from labelkit.ground.toml_text import toml_tables
from labelkit.jobs.accepting import quoted
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.output.pdf import write

FILE = "printers.toml"

FLIPS = ("long-edge", "short-edge")


class _Entry(BaseModel):
    """One ``[[printer]]`` of the file."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    name: str = Field(min_length=1)
    stock: str = Field(pattern=f"^({'|'.join(PAPERS)})$")
    read_on: date
    sheets: int = Field(ge=1)
    offset_x_mm: float = Field(ge=-MOST_OFF_MM, le=MOST_OFF_MM)
    offset_y_mm: float = Field(ge=-MOST_OFF_MM, le=MOST_OFF_MM)
    scale_x: float = Field(ge=1 - MOST_SCALE, le=1 + MOST_SCALE)
    scale_y: float = Field(ge=1 - MOST_SCALE, le=1 + MOST_SCALE)
    skew_x: float = Field(ge=-MOST_SKEW, le=MOST_SKEW)
    skew_y: float = Field(ge=-MOST_SKEW, le=MOST_SKEW)
    residual_mm: float = Field(ge=READING_MM)
    flip: Literal["", "long-edge", "short-edge"] = ""
    """Empty for the front; else how sheets are turned over for the back, which is read to its
    front."""

    @property
    def key(self) -> tuple[str, str, str]:
        """What there is one of: printer, paper and side."""
        return self.name, self.stock, self.flip

    def alignment(self) -> Alignment:
        """The same, as geometry has it."""
        values = self.model_dump(exclude={"name", "stock", "read_on"})
        return Alignment(printer=self.name, paper=self.stock, **values)


class _File(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    printer: tuple[_Entry, ...] = ()


def refuse_unknown_paper(paper: str) -> None:
    """Raise RecordsRefused for a paper that no alignment sheet is made for."""
    if paper not in PAPERS:
        mend = f"choose from {', '.join(PAPERS)}"
        wrong = f"{paper!r} is no paper that printers are aligned for"
        raise RecordsRefused([Fault("command line", "", "--stock", wrong, mend)])


def draw_sheet(printer: str, paper: str, file: Path, flip: str = "") -> None:
    """Write the alignment sheet of a printer, or with `flip` the register sheet for its backs.

    Raises RecordsRefused and OutputRefused.
    """
    refuse_unknown_paper(paper)
    _refuse_unknown_flip(flip)
    _refuse_nameless(printer)
    sheet = register_sheet(printer, paper, flip) if flip else alignment_sheet(printer, paper)
    try:
        door.write_whole(file, write(sheet), door.PUBLIC)
    except OSError as error:
        raise OutputRefused([unwritable(file, error)]) from error


def align(
    folder: Path, printer: str, paper: str, readings: Iterable[str], flip: str = ""
) -> Alignment:
    """Keep what was read of a printer's alignment sheets in the workspace's ``printers.toml``.

    `readings` are such as ``top-left=25.1,24.8``; with `flip` those of register sheets, such as
    ``top-left=+0.3,-0.2``. An earlier alignment of the printer for that paper and side is
    replaced. Raises RecordsRefused, LayoutRefused and OutputRefused.
    """
    refuse_unknown_paper(paper)
    _refuse_unknown_flip(flip)
    _refuse_nameless(printer)
    before, read = _read(folder), _parsed(readings)
    found = fitted_back(printer, paper, flip, read) if flip else fitted(printer, paper, read)
    entry = _Entry(
        name=printer,
        stock=paper,
        read_on=door.today(),
        **{k: v for k, v in asdict(found).items() if k not in ("printer", "paper")},
    )
    others = [one for one in before if one.key != entry.key]
    path = folder / FILE
    try:
        door.write_whole(path, "\n".join(map(_toml, [*others, entry])).encode(), door.PUBLIC)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error
    return found


def _refuse_unknown_flip(flip: str) -> None:
    if flip not in ("", *FLIPS):
        wrong = f"{flip!r} is no edge that a sheet is turned over about"
        raise RecordsRefused(
            [Fault("command line", "", "--back", wrong, f"choose from {', '.join(FLIPS)}")]
        )


def _refuse_nameless(printer: str) -> None:
    if not printer.strip() or not printer.isprintable() or len(printer) > 40:
        wrong, mend = "the printer has no name that can be written", "give it a short name"
        raise RecordsRefused([Fault("command line", "", "PRINTER", wrong, mend)])


def alignments(folder: Path, printer: str) -> tuple[Alignment, ...]:
    """What is kept of a printer, one for each paper. Raises RecordsRefused where there is none."""
    found = tuple(one.alignment() for one in _read(folder) if one.name == printer)
    if not found:
        wrong = f"no printer {printer!r} was aligned"
        mend = f"align it first: labelkit align {printer} --stock letter"
        raise RecordsRefused([Fault(FILE, "", "name", wrong, mend)])
    return found


def aligned(layout: Layout, kept: tuple[Alignment, ...]) -> Layout:
    """The layout moved for a printer; unchanged where none is named.

    Raises LayoutRefused where it wasn't aligned for the layout's paper, or isn't good enough.
    """
    if not kept:
        return layout
    paper, name = paper_of(layout), kept[0].printer
    turned = layout.flip if any(side_of(face.id) == "back" for face in layout.faces) else ""
    fronts = [one for one in kept if one.paper == paper and not one.flip]
    backs = [one for one in kept if one.paper == paper and one.flip and one.flip == turned]
    if not fronts:
        wrong = f"{name} wasn't aligned for {paper}, the paper of this layout"
        mend = f"align it first: labelkit align {name} --stock {paper}"
        raise LayoutRefused([Fault(layout.file, "", "stock", wrong, mend)])
    if turned and not backs:
        wrong = f"{name}'s backs weren't read for {paper} turned about its {turned}"
        mend = f"read them first: labelkit align {name} --stock {paper} --back {turned}"
        raise LayoutRefused([Fault(layout.file, "", "flip", wrong, mend)])
    return moved(layout, fronts[0], backs[0] if turned else None)


def _parsed(readings: Iterable[str]) -> list[tuple[str, float, float]]:
    parsed, faults = [], []
    for reading in readings:
        name, _, numbers = reading.partition("=")
        try:
            x, y = (float(number) for number in numbers.split(","))
            parsed.append((name.strip(), x, y))
        except ValueError:
            wrong = f"{reading!r} is no reading"
            mend = "write the mark and two lengths in mm, as top-left=25.1,24.8"
            faults.append(Fault("command line", "", "--read", wrong, mend))
    if faults:
        raise RecordsRefused(faults)
    return parsed


def _read(folder: Path) -> tuple[_Entry, ...]:
    path = folder / FILE
    if not folder.is_dir():
        mend = "name the folder with the pharmacy's records: --in FOLDER"
        raise RecordsRefused([Fault(str(folder), "", "", "there is no such folder", mend)])
    if not path.exists():
        return ()
    try:
        tree = toml_tables(door.read_bytes(path).decode("utf-8"))
        read = _File.model_validate(tree).printer
    except ValidationError as error:
        raise RecordsRefused(
            Fault(
                FILE,
                "",
                ".".join(str(part) for part in one["loc"]),
                one["msg"].lower(),
                "align the printer again, or mend the value by hand",
            )
            for one in error.errors()
        ) from error
    except (OSError, ValueError) as error:
        mend = "mend the file, or remove it and align the printers again"
        raise RecordsRefused([Fault(FILE, "", "", f"can't be read ({error})", mend)]) from error
    twice = {entry.key for entry in read if [one.key for one in read].count(entry.key) > 1}
    if twice:
        raise RecordsRefused(
            Fault(
                FILE,
                " ".join(filter(None, key)),
                "name",
                "this printer, stock and side is kept twice",
                "remove the one that isn't so",
            )
            for key in sorted(twice)
        )
    return read


def _toml(entry: _Entry) -> str:
    lines = ["[[printer]]"]
    for key, value in entry.model_dump(exclude_defaults=True).items():
        said = quoted(value) if isinstance(value, str) else str(value)
        lines.append(f"{key} = {said}")
    return "\n".join([*lines, ""])
