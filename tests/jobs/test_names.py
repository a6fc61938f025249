"""Names of other scripts from the records to the finished sleeve and lidding, in pixels.

The people are invented. What the finished file shows where the patient's name must stand is
compared with the name set by itself; a name drawn word by word backwards is refused.
"""

import csv
import shutil
from collections.abc import Sequence
from io import StringIO
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import pytest

import labelkit
from labelkit.artwork.page import Artwork, Origin, Page, TextItem
from labelkit.ground import door
from labelkit.ground.box import Box
from labelkit.ground.quoting import Span, marked, whole
from labelkit.manifest.model import Manifest, RequiredText
from labelkit.output.pdf import write
from labelkit.typeset import fitting
from labelkit.typeset.model import Fitted

RX = "104322"
DPI = 300
NAMES = ["علي بن حسن", "Анна Орлова", "सीता देवी शर्मा", "王小明 李四", "김민수 박지우"]
Pixels = npt.NDArray[np.bool_]


def records(folder: Path, name: str, language: str = "en") -> Path:
    """The sample's records with one patient of that name, who gets lids of their own."""
    shutil.copytree(door.resource_dir("samples") / "pharmacy", folder)
    whose = _given(folder / "prescriptions.csv", "number", RX, {"lidding": "patient"})["patient"]
    _given(folder / "patients.csv", "id", whose, {"name": name, "language": language})
    medicines = folder / "medicines.csv"
    head, *lines = medicines.read_text(encoding="utf-8").splitlines(keepends=True)
    theirs = [line for line in lines if line.startswith(f"{whose},")]
    medicines.write_text("".join((head, *theirs)), encoding="utf-8")
    return folder


def _given(path: Path, key: str, which: str, values: dict[str, str]) -> dict[str, str]:
    """Keep one row of a table alone, with these values; the row."""
    rows = list(csv.DictReader(StringIO(path.read_text(encoding="utf-8"))))
    (row,) = (one | values for one in rows if one[key] == which)
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerow(row)
    return row


def cropped(dark: Pixels) -> Pixels:
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    return dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def shown(data: bytes, box: Box) -> Pixels:
    """The ink inside a box of the first page."""
    page = pdfium.PdfDocument(data)[0]
    dark = np.asarray(page.render(scale=DPI / 72, grayscale=True).to_numpy()) < 128
    dot = 25.4 / DPI
    return cropped(
        dark[
            round(box.y_mm / dot) : round(box.bottom_mm / dot),
            round(box.x_mm / dot) : round(box.right_mm / dot),
        ]
    )


def alone(name: str, like: Pixels) -> Pixels:
    """The name set by itself, at the size and weight at which it is most like the other."""
    wide_mm = like.shape[1] * 25.4 / DPI
    tried = [
        found
        for weight in ("regular", "bold")
        for size in np.arange(6, 20, 0.25)
        for found in [
            fitting.fit(
                name,
                "en",
                110,
                20,
                wanted_pt=float(size),
                least_pt=float(size),
                weight=weight,
                quoted=whole(name),
            )
        ]
        if isinstance(found, Fitted) and abs(found.width_mm - wide_mm) < 0.7
    ]
    place = Box(5, 5, 110, 20)
    pictures = [
        shown(
            write(
                Artwork(
                    "proof",
                    "A proof",
                    "en",
                    (Page(120, 40, (TextItem(place, found.lines, Origin("layout")),)),),
                )
            ),
            Box(1, 1, 118, 38),
        )
        for found in tried
    ]
    return min(pictures, key=lambda picture: stray(picture, like))


def grown(dark: Pixels) -> Pixels:
    wide = dark | np.roll(dark, 1, 1) | np.roll(dark, -1, 1)
    return wide | np.roll(wide, 1, 0) | np.roll(wide, -1, 0)


def stray(one: Pixels, other: Pixels) -> float:
    """Ink of either picture farther than a dot from the other's, as a share of all ink."""
    shape = tuple(max(a, b) + 2 for a, b in zip(one.shape, other.shape, strict=True))
    first, second = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool)
    first[1 : one.shape[0] + 1, 1 : one.shape[1] + 1] = one
    second[1 : other.shape[0] + 1, 1 : other.shape[1] + 1] = other
    lone = (first & ~grown(second)) | (second & ~grown(first))
    return float(lone.sum() / (first | second).sum())


def patient(path: Path) -> RequiredText:
    """Where the first page must show the patient's name."""
    stated = Manifest.model_validate_json(path.with_suffix(".manifest.json").read_bytes())
    return next(text for text in stated.pages[0].texts if text.origin == "fact:patient")


@pytest.mark.parametrize("name", NAMES)
def test_sleeve_and_lidding_show_the_name_as_it_is(name: str, tmp_path: Path) -> None:
    """On an English sleeve and an English lid a name of each script has the ink that it has alone,
    and not that of its words in another order."""
    wish = labelkit.Wish(rx=(RX,), only=frozenset({"sleeve", "lidding"}))
    outcome = labelkit.make(records(tmp_path / "records", name), wish, out=tmp_path / "out")
    assert not outcome.refused
    assert {made.artwork for made in outcome.made} == {"sleeve", "lidding"}
    for made in outcome.made:
        path = tmp_path / "out" / made.file
        within = patient(path).within
        box = Box(within.x_mm, within.y_mm, within.w_mm, within.h_mm)
        ink = shown(path.read_bytes(), box)
        assert stray(alone(name, ink), ink) < 0.01
        words = name.split(" ")
        for other in ([words[1], words[0], *words[2:]], words[::-1]):
            assert stray(alone(" ".join(other), ink), ink) > 0.1


def word_by_word(text: str, quoted: Sequence[Span]) -> str:
    """The text with each word of what it quotes as a stretch of its own."""
    words: list[Span] = []
    for begin, end in quoted:
        at = begin
        for word in text[begin:end].split(" "):
            words.append((at, at + len(word)))
            at += len(word) + 1
    return marked(text, words)


def test_a_name_drawn_word_by_word_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Were an Arabic name set word by word, the finished sleeve and lid would be refused."""
    monkeypatch.setattr(fitting, "marked", word_by_word)
    fitting._fitted.cache_clear()
    wish = labelkit.Wish(rx=(RX,), only=frozenset({"sleeve", "lidding"}))
    try:
        folder = records(tmp_path / "records", "علي بن حسن")
        outcome = labelkit.make(folder, wish, out=tmp_path / "out")
    finally:
        fitting._fitted.cache_clear()
    assert not outcome.made
    fields = {fault.field for refused in outcome.refused for fault in refused.faults}
    assert fields <= {"text-order", "text-missing"}
