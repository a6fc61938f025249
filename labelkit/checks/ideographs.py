"""Whether Han and Hangul print looks like what the file says it is.

All its letters are as wide as each other, so one drawn for another leaves no gap. Each is
compared with pictures, drawn here by another renderer from the open faces' own files, of
itself and of the page's other letters of its script; only one that looks clearly more like
another is told.
"""

import io
from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFont

from labelkit.checks.characters import Characters
from labelkit.checks.shapes import CLEARLY, FITS, SIDE, SLIMMER, Pictures, slimness, unit
from labelkit.ground import door

_SCRIPTS = (
    ("\u4e00", "\u9fff", "fonts/ofl/notosanssc/NotoSansSC[wght].ttf"),
    ("\uac00", "\ud7a3", "fonts/ofl/notosanskr/NotoSansKR[wght].ttf"),
)
"""First and last letter of Han and Hangul (Unicode blocks), and the face to compare with."""

_WEIGHTS = (400, 700)
_DRAWN_PX = 96


def other_ideographs(
    characters: Characters, pictures: NDArray[np.uint8], boxes: NDArray[np.float64]
) -> dict[int, str]:
    """Letters that show another one: index, and what is seen.

    `pictures` are the sampled boxes of all characters, `boxes` their edges in pixels. The first
    of each letter, face and size is looked at; equal glyphs are compared with each other elsewhere.
    """
    found: dict[int, str] = {}
    for first, last, path in _SCRIPTS:
        chosen = _first(characters, first, last)
        if chosen:
            found |= _compared(characters, pictures, boxes, chosen, path)
    return found


def _first(characters: Characters, low: str, high: str) -> list[int]:
    points = characters.points
    found: dict[tuple[str, int, int, int], int] = {}
    for index in np.nonzero((points >= ord(low)) & (points <= ord(high)))[0].tolist():
        size = round(float(characters.sizes_pt[index]) * 4)
        face, angle = int(characters.faces[index]), int(characters.angles[index])
        found.setdefault((characters.codes[index], face, size, angle), index)
    return list(found.values())


def _compared(
    characters: Characters,
    pictures: NDArray[np.uint8],
    boxes: NDArray[np.float64],
    chosen: list[int],
    path: str,
) -> dict[int, str]:
    codes = [characters.codes[index] for index in chosen]
    known = sorted(set(codes))
    angles = characters.angles[chosen]
    picked = pictures[chosen]
    for angle, turns in ((90, 1), (270, 3)):
        picked[angles == angle] = np.rot90(picked[angles == angle], turns, axes=(1, 2))
    seen = unit(255.0 - picked)
    ratio = slimness(boxes[chosen], angles)
    best = np.full((len(chosen), len(known)), -1.0)
    for weight in _WEIGHTS:
        models = [_model(path, weight, letter) for letter in known]
        fits = np.einsum("ij,kj->ik", seen, np.array([vector for vector, _ in models]))
        unlike = ratio[:, None] / np.array([slim for _, slim in models])
        fits[(unlike > SLIMMER) | (unlike < 1 / SLIMMER)] = -1.0
        best = np.maximum(best, fits)
    own = best[np.arange(len(chosen)), [known.index(code) for code in codes]]
    other = best.max(axis=1)
    told = np.nonzero((other >= FITS) & (other - own > CLEARLY))[0]
    return {chosen[at]: known[int(best[at].argmax())] for at in told.tolist()}


@lru_cache(maxsize=8192)
def _model(path: str, weight: int, letter: str) -> tuple[Pictures, float]:
    """A letter's picture as a vector, and its width by its height."""
    mask = _font(path, weight).getmask(letter, mode="L")
    drawn = Image.frombytes("L", mask.size, bytes(mask))
    drawn = drawn.crop(drawn.getbbox() or (0, 0, 1, 1))
    picture = np.asarray(drawn.resize((SIDE, SIDE), Image.Resampling.BOX), dtype=np.float32)
    return unit(picture[None])[0], drawn.width / drawn.height


@cache
def _font(path: str, weight: int) -> ImageFont.FreeTypeFont:
    whole = door.read_bytes(Path(str(files("justmytype_intl_cjk") / path)))
    font = ImageFont.truetype(io.BytesIO(whole), _DRAWN_PX)
    font.set_variation_by_axes([weight])
    return font
