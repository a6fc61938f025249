"""Harms to what is drawn: pictures, peel arrows, orientation keys, lines of the die."""

from injecting import Work, kind
from marks import MM, Rect
from paths import Drawn, keys, pictures, round_all
from sheets import Sheet

from labelkit.geometry.model import Field

Picture = tuple[Sheet, Field, Rect, list[Drawn]]
Key = tuple[Sheet, Drawn]


def _arrows(work: Work) -> list[Picture]:
    return [found for found in pictures(work) if "arrow" in found[1].arg]


def _others(work: Work) -> list[Picture]:
    return [found for found in pictures(work) if "arrow" not in found[1].arg]


def _gone(work: Work, target: Picture) -> None:
    sheet, _, _, drawn = target
    for path in drawn:
        sheet.remove(path.first, path.last)


def _moved(target: Picture, matrix: tuple[float, ...]) -> None:
    sheet, _, _, drawn = target
    numbers = " ".join(f"{value:.4f}" for value in matrix)
    for path in drawn:
        sheet.around(path.first, path.last, f"q {numbers} cm", "Q")


kind("arrow-removed", "a cell's peel arrow is gone", _arrows)(_gone)
kind("picture-removed", "a picture is gone", _others)(_gone)


def _mirrored(work: Work, target: Picture) -> None:
    x, _ = round_all(target[3]).centre
    _moved(target, (-1, 0, 0, 1, 2 * x, 0))


kind("arrow-mirrored", "a peel arrow points the other way", _arrows)(_mirrored)
kind("picture-mirrored", "a picture is mirrored", _others)(_mirrored)


@kind("picture-upside-down", "a picture stands on its head", pictures)
def picture_upside_down(work: Work, target: Picture) -> None:
    """Half a turn about its middle."""
    x, y = round_all(target[3]).centre
    _moved(target, (-1, 0, 0, -1, 2 * x, 2 * y))


@kind("picture-small", "a picture is half as large", pictures)
def picture_small(work: Work, target: Picture) -> None:
    """About its middle."""
    x, y = round_all(target[3]).centre
    _moved(target, (0.5, 0, 0, 0.5, x / 2, y / 2))


@kind("picture-moved", "a picture is 3 mm beside its place", pictures)
def picture_moved(work: Work, target: Picture) -> None:
    """To the right."""
    _moved(target, (1, 0, 0, 1, 3 * MM, 0))


@kind("picture-covered", "a picture is covered by a white box", pictures)
def picture_covered(work: Work, target: Picture) -> None:
    """White over all of it."""
    target[0].append(f"1 g {round_all(target[3]).grown(1).said} re f")


@kind("picture-crossed", "a picture is crossed out", pictures)
def picture_crossed(work: Work, target: Picture) -> None:
    """A line of 0.4 mm from corner to corner."""
    box = round_all(target[3])
    target[0].append(
        f"0 G {0.4 * MM:.2f} w {box.x:.2f} {box.y:.2f} m "
        f"{box.x + box.w:.2f} {box.y + box.h:.2f} l S"
    )


@kind("picture-pale", "a picture is drawn in pale grey", pictures)
def picture_pale(work: Work, target: Picture) -> None:
    """#d0d0d0 fills and strokes, set right before each path is painted."""
    sheet, _, _, drawn = target
    for path in drawn:
        sheet.around(path.first, path.last, "0.816 g 0.816 G", "0 g 0 G")


@kind("key-removed", "an orientation key is gone", keys)
def key_removed(work: Work, target: Key) -> None:
    """The corner by which card and lid are laid together."""
    target[0].remove(target[1].first, target[1].last)


@kind("key-moved", "an orientation key stands at another corner", keys)
def key_moved(work: Work, target: Key) -> None:
    """20 mm to the right of its own."""
    sheet, path = target
    sheet.around(path.first, path.last, f"q 1 0 0 1 {20 * MM:.3f} 0 cm", "Q")


@kind("key-mirrored", "an orientation key points into the other corner", keys)
def key_mirrored(work: Work, target: Key) -> None:
    """About its own middle."""
    sheet, path = target
    x, _ = path.box.centre
    sheet.around(path.first, path.last, f"q -1 0 0 1 {2 * x:.3f} 0 cm", "Q")


@kind("key-pale", "an orientation key is drawn in pale grey", keys)
def key_pale(work: Work, target: Key) -> None:
    """#d0d0d0."""
    target[0].around(target[1].first, target[1].last, "0.816 g", "0 g")


def _cuts(work: Work) -> list[tuple[Sheet, str]]:
    found = []
    for sheet in work.sheets:
        height = sheet.wanted.height_mm
        for cut in sheet.wanted.cuts:
            found.append(
                (
                    sheet,
                    f"{cut.x1_mm * MM:.2f} {(height - cut.y1_mm) * MM:.2f} m "
                    f"{cut.x2_mm * MM:.2f} {(height - cut.y2_mm) * MM:.2f} l S",
                )
            )
    return found


@kind("die-line-printed", "a line of the die is printed", _cuts)
def die_line_printed(work: Work, target: tuple[Sheet, str]) -> None:
    """A hairline of 0.1 mm along one cut or fold."""
    target[0].append(f"0 G {0.1 * MM:.3f} w {target[1]}")


@kind("die-lines-printed", "all lines of the die are printed, in grey",
      lambda work: [sheet for sheet in work.sheets if sheet.wanted.cuts])  # fmt: skip
def die_lines_printed(work: Work, sheet: Sheet) -> None:
    """Of 0.25 mm in #808080."""
    lines = " ".join(line for other, line in _cuts(work) if other is sheet)
    sheet.append(f"0.5 G {0.25 * MM:.3f} w {lines}")
