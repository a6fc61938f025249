"""A record's own words in a sentence of any language, in pixels: as they stand alone.

A real statement of each catalog is filled with names in six scripts. The name's picture, set by
itself, is looked for in the sentence's picture, dot by dot; by itself it is as Pango sets it.
The same name with two words changed about, or word by word backwards, isn't found.
"""

import numpy as np
import pytest
from drawn_text import Pixels, pdf_of, pixels
from numpy.lib.stride_tricks import sliding_window_view
from test_pango import MOST, by_pango, by_us, grown, stray

from labelkit.ground.box import Box
from labelkit.ground.quoting import whole
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import Fitted
from labelkit.wording.catalogs import catalog, shipped_languages
from labelkit.wording.model import Said

DPI = 300
SIZE_PT = 9.0
WIDE = Box(4, 10, 112, 20)
FOUND = 0.02
"""Most of stray ink where the same picture stands at another part of a dot; the nearest
negative below has ten times as much."""

NAMES = {
    "Latin": "Ana-María O’Neill Núñez",
    "Latin with signs": "Ferry Lane, No. 3 (East) 2b",
    "Cyrillic": "Анна-Мария Орлова (Лис), 12",
    "Arabic": "علي بن حسن",
    "Arabic with signs": "عبد-الله بن علي، رقم 12 (فرع)",
    "Arabic with Latin": "علي حسن MD و سالم",
    "Latin with Arabic": "Dr. علي حسن MD",
    "Devanagari": "सीता देवी-शर्मा (वर्मा), 2",
    "Han": "王小明 李-四 (第2店), 乙",
    "Hangul": "김민수 박-지우 (2호), 동",
}
SPOKEN = shipped_languages()
ALONE = [
    ("Latn", "en", "Ana-María O’Neill Núñez"),
    ("Latn", "ru", "Анна-Мария Орлова Лис"),
    ("Arab", "ar", "علي بن حسن"),
    ("Arab", "ar", "عبد الله بن علي الكاتب"),
    ("Deva", "hi", "सीता देवी शर्मा"),
    ("Hans", "zh-Hans", "王小明李四"),
    ("Kore", "ko", "김민수 박지우"),
]


def drawn(
    text: str, language: str, quoted: tuple[tuple[int, int], ...], width: float = 0
) -> Fitted:
    """A text set at its size, in as many lines as the width asks for."""
    found = fit(
        text,
        language,
        width or WIDE.w_mm,
        100,
        wanted_pt=SIZE_PT,
        least_pt=SIZE_PT,
        quoted=quoted,
    )
    assert isinstance(found, Fitted)
    return found


WHOLE = (1.1, 0.55)
"""Ems above and below a baseline that hold a line with all its marks."""

BAND = (0.75, 0.25)
"""What of a line no neighbour's ink reaches into."""


def line_of(found: Fitted, number: int = 0, ems: tuple[float, float] = WHOLE) -> Pixels:
    """The dots of one line, from so many ems above its baseline to so many below."""
    dark = pixels(pdf_of(found, WIDE), DPI)
    level = round((WIDE.y_mm + found.lines[number].baseline_mm) * DPI / 25.4)
    up, down = (round(em * SIZE_PT / 72 * DPI) for em in ems)
    return np.asarray(dark[level - up : level + down])


def least_stray(line: Pixels, name: Pixels) -> float:
    """The least share of ink of either picture without ink of the other, wherever the name may
    stand in the line."""
    columns = np.flatnonzero(name.any(axis=0))
    name = np.pad(name[:, columns[0] : columns[-1] + 1], ((1, 1), (1, 1)))
    line = np.pad(line, ((1, 1), (1, 1)))
    windows = sliding_window_view(line, name.shape[1], axis=1).swapaxes(0, 1)
    wide = sliding_window_view(grown(line), name.shape[1], axis=1).swapaxes(0, 1)
    least = float("inf")
    for up in (-1, 0, 1):  # each picture's baseline is at another part of a dot
        level = np.roll(name, up, axis=0)
        lost = (level & ~wide).sum(axis=(1, 2))
        more = (windows & ~grown(level)).sum(axis=(1, 2))
        least = min(least, float((lost + more).min()) / int(name.sum()))
    return least


def sentence(language: str, name: str) -> Said:
    """A sentence of the catalog with a name and a telephone number."""
    values = {"pharmacy": name, "pharmacy_telephone": "555-0142"}
    return catalog(language, None, ()).say("call.short", values)


def alone(name: str, language: str, ems: tuple[float, float] = WHOLE) -> Pixels:
    return line_of(drawn(name, language, whole(name)), 0, ems)


@pytest.mark.parametrize(("script", "language", "name"), ALONE)
def test_a_name_by_itself_is_pangos(script: str, language: str, name: str) -> None:
    """Set alone, a name looks as Pango sets it in its own language."""
    assert stray(by_pango(name, language, script), by_us(name, language)) < MOST


@pytest.mark.parametrize("language", SPOKEN)
@pytest.mark.parametrize("script", NAMES)
def test_a_name_looks_the_same_in_every_language(language: str, script: str) -> None:
    """In a sentence of each language a name stands as it does alone, of one piece, and no
    other order of its words does."""
    name = NAMES[script]
    said = sentence(language, name)
    found = drawn(said.text, said.language, said.quoted)
    assert len(found.lines) == 1
    line = line_of(found)
    assert least_stray(line, alone(name, said.language)) < FOUND
    words = name.split(" ")
    for other in ([words[1], words[0], *words[2:]], words[::-1]):
        assert least_stray(line, alone(" ".join(other), said.language)) > 10 * FOUND


@pytest.mark.parametrize("language", SPOKEN)
@pytest.mark.parametrize("name", ["علي بن حسن الكاتب", "Ana María Núñez Quill"])
def test_a_name_that_breaks_begins_on_the_first(language: str, name: str) -> None:
    """Where a name breaks its first words stand on the first line, and each line's part of it
    as it stands alone."""
    text = f"5 {name} 7"
    quoted = ((2, 2 + len(name)),)
    width = drawn(name, language, whole(name)).width_mm * 0.85
    found = drawn(text, language, quoted, width)
    parts = [" ".join(word for word in line.text.split() if word in name) for line in found.lines]
    assert " ".join(filter(None, parts)) == name
    assert parts[0]
    assert parts[1]
    for number, part in enumerate(filter(None, parts)):
        assert least_stray(line_of(found, number, BAND), alone(part, language, BAND)) < FOUND
