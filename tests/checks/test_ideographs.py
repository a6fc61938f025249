"""Han and Hangul print is compared with the letters it is said to be."""

from importlib.resources import files

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont
from test_sameness import characters

from labelkit.checks.ideographs import other_ideographs
from labelkit.checks.shapes import SIDE

WORDS = ("舌下含服一片药物不要吞咽", "혀밑에한정을넣고삼키지마세요")
"""Put a tablet under the tongue, don't swallow, and the like: letters unlike each other."""


def drawn(word: str, wrong: dict[int, str]) -> dict[int, str]:
    """What is told of a word printed at 40 pixels, with other letters in some places."""
    han = word < "\ua000"
    name = "notosanssc/NotoSansSC[wght].ttf" if han else "notosanskr/NotoSansKR[wght].ttf"
    face = ImageFont.truetype(str(files("justmytype_intl_cjk") / "fonts/ofl" / name), 40)
    face.set_variation_by_axes([500])
    pictures, boxes = [], []
    for index, letter in enumerate(word):
        page = Image.new("L", (80, 80), 255)
        ImageDraw.Draw(page).text((10, 10), wrong.get(index, letter), font=face, fill=0)
        box = Image.eval(page, lambda v: 255 - v).getbbox()
        assert box is not None
        pictures.append(np.asarray(page.crop(box).resize((SIDE, SIDE), Image.Resampling.BOX)))
        boxes.append(box)
    placed = np.array(boxes, dtype=np.float64)
    return other_ideographs(characters(word, placed), np.array(pictures), placed)


@pytest.mark.parametrize("word", WORDS)
def test_letters_that_are_themselves_are_not_told(word: str) -> None:
    """At a weight between the two that it knows."""
    assert drawn(word, {}) == {}


@pytest.mark.parametrize("word", WORDS)
def test_a_letter_drawn_as_another_of_the_page_is_told(word: str) -> None:
    """Two that trade their shapes are both told, with what is seen."""
    assert drawn(word, {1: word[5], 5: word[1]}) == {1: word[5], 5: word[1]}
