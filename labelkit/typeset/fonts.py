"""Which face a text is set in: packaged fonts only, resolved by script.

Opens the fonts that the `fontpkg-*` packages carry, makes static instances of variable
ones once and keeps them in the cache folder. Never looks at the fonts of the machine: the
same text must have the same shapes everywhere.
"""

import hashlib
from dataclasses import dataclass
from functools import cached_property, lru_cache
from importlib import resources
from io import BytesIO
from pathlib import Path

import fontTools
import uharfbuzz as hb
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

from labelkit.ground import door
from labelkit.typeset.model import FaceKey

LATIN = "Latn"
"""The script whose face also serves Cyrillic, Greek, digits, punctuation and arrows."""

_WEIGHTS = {"regular": 400, "bold": 700}


@dataclass(frozen=True, slots=True)
class _Packaged:
    """Where a face is packaged: a variable file, or one static file per weight."""

    module: str
    file: str
    """With ``{weight}`` for a static file (``Regular``, ``Bold``)."""

    @property
    def variable(self) -> bool:
        return "[" in self.file


_FACES = {
    ("sans", LATIN): _Packaged("fontpkg_ibm_plex_sans", "IBMPlexSans[wdth,wght].ttf"),
    ("mono", LATIN): _Packaged("fontpkg_ibm_plex_mono", "IBMPlexMono-{weight}.ttf"),
    ("sans", "Arab"): _Packaged("fontpkg_noto_sans_arabic", "NotoSansArabic[wdth,wght].ttf"),
    ("sans", "Deva"): _Packaged(
        "fontpkg_noto_sans_devanagari", "NotoSansDevanagari[wdth,wght].ttf"
    ),
}


class Face:
    """One static font: its bytes, its HarfBuzz font and the measures that setting needs.

    Lengths are in 1/1000 em, y upwards.
    """

    def __init__(self, key: FaceKey, data: bytes) -> None:
        self.key = key
        self.data = data
        self.hb_face = hb.Face(data)
        self.hb_font = hb.Font(self.hb_face)
        self.scale = 1000 / self.hb_face.upem
        self.characters = frozenset(self.hb_face.unicodes)
        self._inks: dict[int, tuple[float, float, float, float] | None] = {}

    def has(self, character: str) -> bool:
        """Whether the face has a glyph for the character."""
        return ord(character) in self.characters

    def ink(self, gid: int) -> tuple[float, float, float, float] | None:
        """Left, bottom, right, top of the glyph's outline; None for a blank one."""
        if gid not in self._inks:
            found = self.hb_font.get_glyph_extents(gid)
            if found is None or not (found.width and found.height):
                self._inks[gid] = None
            else:
                left, top = found.x_bearing * self.scale, found.y_bearing * self.scale
                self._inks[gid] = (
                    left,
                    top + found.height * self.scale,
                    left + found.width * self.scale,
                    top,
                )
        return self._inks[gid]

    def _top(self, characters: str) -> float:
        gids = (self.hb_font.get_nominal_glyph(ord(one)) for one in characters)
        inks = [self.ink(gid) for gid in gids if gid]
        return max((ink[3] for ink in inks if ink), default=0.0)

    @cached_property
    def postscript_name(self) -> str:
        """The name for the font inside a file; a variable font's own lacks the weight."""
        font = TTFont(BytesIO(self.data), lazy=True)
        family = str(font["name"].getBestFamilyName() or self.key.family)
        return f"{family.replace(' ', '')}-{self.key.weight.capitalize()}"

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Box around all glyphs: left, bottom, right, top."""
        head = TTFont(BytesIO(self.data), lazy=True)["head"]
        left, bottom, right, top = (
            edge * self.scale for edge in (head.xMin, head.yMin, head.xMax, head.yMax)
        )
        return left, bottom, right, top

    @cached_property
    def cap_height(self) -> float:
        """Top of the drawn ``H``."""
        return self._top("H")

    @cached_property
    def x_height(self) -> float:
        """Top of the drawn ``x``, not the figure in a table that may be wrong."""
        return self._top("x")

    @cached_property
    def ascent(self) -> float:
        """Top of the drawn ``d`` and ``H``: where a line of plain words reaches."""
        return self._top("dH")

    @cached_property
    def descent(self) -> float:
        """Depth of the deepest of ``gjpqy`` under the baseline, positive."""
        gids = (self.hb_font.get_nominal_glyph(ord(one)) for one in "gjpqy")
        inks = [self.ink(gid) for gid in gids if gid]
        return max((-ink[1] for ink in inks if ink), default=0.0)


def _instance(source: bytes, weight: int) -> bytes:
    """A static instance of a variable font, from the cache folder where it was made before."""
    mark = hashlib.sha256(source + f"{fontTools.version}/{weight}".encode()).hexdigest()[:24]
    path: Path = door.cache_dir("fonts") / f"{mark}.ttf"
    if path.is_file():
        return door.read_bytes(path)
    font = TTFont(BytesIO(source), recalcTimestamp=False)
    wanted = {axis.axisTag: axis.defaultValue for axis in font["fvar"].axes}
    static = instancer.instantiateVariableFont(font, {**wanted, "wght": weight})
    made = BytesIO()
    static.save(made)
    door.write_whole(path, made.getvalue())
    return made.getvalue()


@lru_cache(maxsize=64)
def face(key: FaceKey) -> Face:
    """The face a key names. Raises KeyError for a key that no packaged font serves."""
    packaged = _FACES[(key.family, key.script)]
    root = Path(str(resources.files(packaged.module)))
    name = packaged.file.format(weight=key.weight.capitalize())
    source = door.read_bytes(root / "files" / name)
    if packaged.variable:
        source = _instance(source, _WEIGHTS[key.weight])
    return Face(key, source)


@lru_cache(maxsize=1024)
def candidates(family: str, script: str, weight: str) -> tuple[FaceKey, ...]:
    """Faces to try for a character of a script, best first: its own, Latin, then the rest."""
    wanted = [(family, script), ("sans", script), (family, LATIN), ("sans", LATIN), *_FACES]
    return tuple(
        FaceKey(key_family, key_script, weight)
        for key_family, key_script in dict.fromkeys(wanted)
        if (key_family, key_script) in _FACES
    )
