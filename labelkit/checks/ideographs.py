"""Whether Han and Hangul print looks like what the file says it is.

All its letters are as wide as each other, so one drawn for another leaves no gap. Each is
compared with pictures, drawn here by another renderer from the open faces' own files, of
itself and of the page's other letters of its script; only one that looks clearly more like
another is told.
"""

from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import ImageFont

from labelkit.checks.characters import Characters
from labelkit.checks.shapes import compared, drawn, first_of_each, models_of, opened
from labelkit.ground import extras
from labelkit.ground.errors import CheckRefused, Fault

_SCRIPTS = (
    ("\u4e00", "\u9fff", "fonts/ofl/notosanssc/NotoSansSC[wght].ttf"),
    ("\uac00", "\ud7a3", "fonts/ofl/notosanskr/NotoSansKR[wght].ttf"),
)
"""First and last letter of Han and Hangul (Unicode blocks), and the face to compare with."""

_WEIGHTS = (400, 700)


def other_ideographs(
    characters: Characters, pictures: NDArray[np.uint8], boxes: NDArray[np.float64]
) -> dict[int, str]:
    """Letters that show another one: index, and what is seen.

    `pictures` are the sampled boxes of all characters, `boxes` their edges in pixels. The first
    of each letter, face and size is looked at; equal glyphs are compared with each other elsewhere.
    Raises CheckRefused where there are such letters and their faces aren't installed.
    """
    points = characters.points
    found: dict[int, str] = {}
    for low, high, path in _SCRIPTS:
        chosen = np.nonzero((points >= ord(low)) & (points <= ord(high)))[0]
        if len(chosen):
            first = first_of_each(characters, chosen)
            known = "".join(sorted({characters.codes[index] for index in first}))
            models = models_of([_drawn(path, w, letter) for w in _WEIGHTS for letter in known])
            found |= compared(characters, pictures, boxes, first, known, models)
    return found


@lru_cache(maxsize=8192)
def _drawn(path: str, weight: int, letter: str) -> tuple[NDArray[np.uint8], float]:
    return drawn(_face(path, weight), letter)


@cache
def _face(path: str, weight: int) -> ImageFont.FreeTypeFont:
    if not extras.installed(extras.CJK):
        wrong = "Han or Hangul print can't be compared with its letters: their faces aren't there"
        raise CheckRefused([Fault("", "", "", wrong, extras.mend(extras.CJK))])
    return opened(Path(str(files(extras.CJK) / path)), weight)
