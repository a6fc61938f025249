"""Whether printed letters and digits look like what the file says they are.

A file may say 5 and show 8: a font that draws one glyph for another's text is found by no
search. So each Latin letter's and digit's pixels are compared with those of open faces, drawn
here by another renderer from the faces' own files. Only a character that looks clearly more
like another one is told; an unknown face that resembles none of them passes.
"""

import io
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from string import ascii_letters, digits

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFont

from labelkit.checks.characters import Characters
from labelkit.ground import door

KNOWN = digits + ascii_letters
_DIGITS, _LETTERS = frozenset(digits), frozenset(ascii_letters)

SIDE = 16
"""Samples along each side of the pictures that are compared."""

CLEARLY = 0.12
"""How much better another character must fit, as a correlation, to be the one that is seen."""

FITS = 0.8
"""Least correlation at which a character is recognised at all."""

SLIMMER = 1.35
"""Ratio of widths to heights from which two shapes aren't compared."""

_STROKES = frozenset("1Il")
"""One upright stroke with or without serifs: what is which depends on the face."""

_DRAWN_PX = 96
_FACES: tuple[tuple[str, str, int], ...] = (
    ("fontpkg_ibm_plex_sans", "IBMPlexSans[wdth,wght].ttf", 400),
    ("fontpkg_ibm_plex_sans", "IBMPlexSans[wdth,wght].ttf", 700),
    ("fontpkg_ibm_plex_mono", "IBMPlexMono-Regular.ttf", 0),
    ("fontpkg_ibm_plex_mono", "IBMPlexMono-Bold.ttf", 0),
)
"""Package, file and weight of the faces to compare with; 0 for a static file."""

Pictures = NDArray[np.float32]


@dataclass(frozen=True)
class Models:
    """The same characters of each face, face by face: unit vectors of mean nought."""

    vectors: Pictures
    slim: NDArray[np.float64]
    """Width by height of each."""


@dataclass(frozen=True)
class Shapes:
    """Characters that show another one, by index, with the one that is seen."""

    figures: dict[int, str]
    letters: dict[int, str]
    first: tuple[int, ...]
    """The first letter of each face and size: those that were looked at."""

    @property
    def shown(self) -> dict[int, str]:
        """All of them."""
        return {**self.figures, **self.letters}


def other_shapes(
    characters: Characters,
    pictures: NDArray[np.uint8],
    boxes: NDArray[np.float64],
    before: tuple[Shapes, NDArray[np.intp], NDArray[np.bool_]] | None = None,
) -> Shapes:
    """Characters that show another one.

    `pictures` are the sampled boxes of all characters, `boxes` their edges in pixels. Every
    digit is looked at; of letters, the first of each face and size, since equal glyphs are
    compared with each other elsewhere. `before` is the answer for the page before, the
    characters that look or are other than there, and which of all are the same.
    """
    codes = characters.codes
    if before is None:
        figures = [index for index, code in enumerate(codes) if code in _DIGITS]
        first = _first_letters(characters)
        return Shapes(
            _compared(characters, pictures, boxes, figures, digits),
            _compared(characters, pictures, boxes, first, KNOWN),
            tuple(first),
        )
    old, fresh, same = before
    changed = set(fresh.tolist())
    figures = [index for index in changed if codes[index] in _DIGITS]
    first, letters = list(old.first), {}
    if same[first].all() and all(same[i] or codes[i] not in _LETTERS for i in changed):
        again = [index for index in first if index in changed]
        letters = _kept(old.letters, changed)
    else:
        again = first = _first_letters(characters)
    return Shapes(
        _kept(old.figures, changed) | _compared(characters, pictures, boxes, figures, digits),
        letters | _compared(characters, pictures, boxes, again, KNOWN),
        tuple(first),
    )


def _kept(shown: dict[int, str], changed: set[int]) -> dict[int, str]:
    return {index: seen for index, seen in shown.items() if index not in changed}


def _first_letters(characters: Characters) -> list[int]:
    """The first of each letter, face, size and angle."""
    return first_of_each(characters, np.nonzero(characters.where(_LETTERS.__contains__))[0])


def first_of_each(characters: Characters, chosen: NDArray[np.intp]) -> list[int]:
    """Of the chosen characters, the first of each character, face, size and angle."""
    first: dict[tuple[str, int, int, int], int] = {}
    keys = zip(
        [characters.codes[index] for index in chosen.tolist()],
        characters.faces[chosen].tolist(),
        (characters.sizes_pt[chosen] * 4).round().astype(int).tolist(),
        characters.angles[chosen].tolist(),
        strict=True,
    )
    for index, key in zip(chosen.tolist(), keys, strict=True):
        first.setdefault(key, index)
    return list(first.values())


def _compared(
    characters: Characters,
    pictures: NDArray[np.uint8],
    boxes: NDArray[np.float64],
    chosen: list[int],
    known: str,
) -> dict[int, str]:
    told = compared(characters, pictures, boxes, chosen, known, _models(known)) if chosen else {}
    return {
        index: seen
        for index, seen in told.items()
        if not {characters.codes[index], seen} <= _STROKES
    }


def compared(
    characters: Characters,
    pictures: NDArray[np.uint8],
    boxes: NDArray[np.float64],
    chosen: list[int],
    known: str,
    models: Models,
) -> dict[int, str]:
    """Those of the chosen characters that look clearly more like another of `known`, which holds
    each of them; `models` are of `known`, in its order."""
    angles = characters.angles[chosen]
    picked = pictures[chosen]
    for angle, turns in ((90, 1), (270, 3)):
        picked[angles == angle] = np.rot90(picked[angles == angle], turns, axes=(1, 2))
    # Not a matrix product by BLAS: its threads cost more than they give at this size.
    fits = np.einsum("ij,kj->ik", _unit(255.0 - picked), models.vectors)
    ratio = _slimness(boxes[chosen], angles)[:, None] / models.slim[None, :]
    fits[(ratio > SLIMMER) | (ratio < 1 / SLIMMER)] = -1.0
    best = fits.reshape(len(chosen), -1, len(known)).max(axis=1)
    codes = [characters.codes[index] for index in chosen]
    own = best[np.arange(len(chosen)), [known.index(code) for code in codes]]
    seen, other = best.argmax(axis=1), best.max(axis=1)
    told = np.nonzero((other >= FITS) & (other - own > CLEARLY))[0]
    return {chosen[at]: known[seen[at]] for at in told.tolist()}


def _slimness(boxes: NDArray[np.float64], angles: NDArray[np.int16]) -> NDArray[np.float64]:
    """Width by height of each upright glyph."""
    wide = np.maximum(boxes[:, 2] - boxes[:, 0], 1.0)
    high = np.maximum(boxes[:, 3] - boxes[:, 1], 1.0)
    return np.where(angles % 180 == 90, high / wide, wide / high)


@cache
def _models(known: str) -> Models:
    faces = [
        opened(Path(str(files(package) / "files" / name)), weight)
        for package, name, weight in _FACES
    ]
    return models_of([drawn(face, character) for face in faces for character in known])


def opened(path: Path, weight: int) -> ImageFont.FreeTypeFont:
    """A face at a weight, 0 for a static file; every other axis stays as the face has it."""
    font = ImageFont.truetype(io.BytesIO(door.read_bytes(path)), _DRAWN_PX)
    if weight:
        axes = font.get_variation_axes()
        font.set_variation_by_axes(
            [weight if axis["name"] == b"Weight" else axis["default"] or 0 for axis in axes]
        )
    return font


def drawn(face: ImageFont.FreeTypeFont, character: str) -> tuple[NDArray[np.uint8], float]:
    """A character's picture, SIDE by SIDE, and its width by its height."""
    mask = face.getmask(character, mode="L")
    whole = Image.new("L", mask.size)
    # As bytes, the mask would be asked for each pixel as a number of its own.
    whole.im.paste(mask, (0, 0, *mask.size))
    inked = whole.crop(whole.getbbox())
    small = inked.resize((SIDE, SIDE), Image.Resampling.BOX)
    return np.asarray(small), inked.width / inked.height


def models_of(pictures: list[tuple[NDArray[np.uint8], float]]) -> Models:
    """Drawn characters as models."""
    whole = np.array([picture for picture, _ in pictures], dtype=np.float32)
    return Models(_unit(whole), np.array([slim for _, slim in pictures]))


def _unit(pictures: NDArray[np.floating]) -> Pictures:
    """Pictures as vectors of mean nought and length one, so that a product is a correlation.

    Taken at half the resolution: a stroke's place matters, not its edge's.
    """
    blocks = pictures.reshape(len(pictures), SIDE // 2, 2, SIDE // 2, 2).astype(np.float32)
    flat = (blocks[:, :, 0] + blocks[:, :, 1]).sum(axis=3).reshape(len(pictures), -1)
    flat -= flat.mean(axis=1, keepdims=True)
    length = np.sqrt((flat * flat).sum(axis=1, keepdims=True))
    return np.asarray(flat / np.maximum(length, 1e-6), dtype=np.float32)
