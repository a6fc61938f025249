"""Which face a text is set in: a packaged font by its script, or one of the workspace's own.

Opens the fonts that installed packages carry. Variable fonts are set at their weight by
HarfBuzz itself, for shaping and for outlines alike, so no instance is ever made. Never looks
at the fonts of the machine: the same text must have the same shapes everywhere.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from importlib import resources
from io import BytesIO
from pathlib import Path

import uharfbuzz as hb
from fontTools.ttLib import TTFont

from labelkit.ground import door, extras
from labelkit.typeset.model import FaceKey
from labelkit.typeset.own_faces import OWN, OwnFace, data_of

LATIN = "Latn"
"""The script whose face also serves Cyrillic, Greek, digits, punctuation and arrows."""

_FAMILY = (hb.OTNameIdPredefined.TYPOGRAPHIC_FAMILY, hb.OTNameIdPredefined.FONT_FAMILY)
"""Where a face says its family's name, best first (OpenType, name table: name IDs 16 and 1)."""

_WEIGHTS = {"regular": 400, "bold": 700}


@dataclass(frozen=True, slots=True)
class _Packaged:
    """Where a face is packaged: a variable file, or one static file per weight."""

    module: str
    file: str
    """Under the package's folder; ``{weight}`` for static files (``Regular``, ``Bold``)."""


_FACES = {
    ("sans", LATIN): _Packaged("fontpkg_ibm_plex_sans", "files/IBMPlexSans[wdth,wght].ttf"),
    ("mono", LATIN): _Packaged("fontpkg_ibm_plex_mono", "files/IBMPlexMono-{weight}.ttf"),
    ("sans", "Arab"): _Packaged("fontpkg_noto_sans_arabic", "files/NotoSansArabic[wdth,wght].ttf"),
    ("sans", "Deva"): _Packaged(
        "fontpkg_noto_sans_devanagari", "files/NotoSansDevanagari[wdth,wght].ttf"
    ),
    ("sans", "Hans"): _Packaged(extras.CJK, "fonts/ofl/notosanssc/NotoSansSC[wght].ttf"),
    ("sans", "Kore"): _Packaged(extras.CJK, "fonts/ofl/notosanskr/NotoSansKR[wght].ttf"),
}


class Face:
    """One font at one weight: its HarfBuzz font and the measures that setting needs.

    Lengths are in 1/1000 em, y upwards.
    """

    def __init__(self, key: FaceKey, data: bytes) -> None:
        self.key = key
        self._data = data
        self.hb_face = hb.Face(data)
        self.hb_font = hb.Font(self.hb_face)
        if self.hb_face.has_var_data:
            self.hb_font.set_variations({"wght": _WEIGHTS[key.weight]})
        self.scale = 1000 / self.hb_face.upem
        self.characters = self.hb_face.unicodes
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
        names = (self.hb_face.get_name(which) for which in _FAMILY)
        family = next((str(name) for name in names if name), self.key.family)
        return f"{family.replace(' ', '')}-{self.key.weight.capitalize()}"

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Box around all glyphs: left, bottom, right, top."""
        head = TTFont(BytesIO(self._data), lazy=True)["head"]
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


@lru_cache(maxsize=64)
def face(key: FaceKey) -> Face:
    """The face a key names. Raises KeyError for a key that no font serves."""
    if key.family == OWN:
        return Face(key, data_of(key.script))
    packaged = _FACES[(key.family, key.script)]
    root = Path(str(resources.files(packaged.module)))
    name = packaged.file.format(weight=key.weight.capitalize())
    return Face(key, door.read_bytes(root / name))


@lru_cache(maxsize=64)
def _key(family: str, script: str, weight: str) -> FaceKey:
    """One object for each face, so that runs can be told apart by identity."""
    return FaceKey(family, script, weight)


@lru_cache(maxsize=1024)
def candidates(
    family: str, script: str, weight: str, own: tuple[OwnFace, ...] = ()
) -> tuple[FaceKey, ...]:
    """Faces to try for a character of a script, best first: its own, Latin, the rest, and last
    the workspace's own for that script."""
    wanted = [(family, script), ("sans", script), (family, LATIN), ("sans", LATIN), *_FACES]
    return tuple(
        _key(key_family, key_script, weight)
        for key_family, key_script in dict.fromkeys(wanted)
        if (found := _FACES.get((key_family, key_script))) and extras.installed(found.module)
    ) + tuple(_key(OWN, one.digest, weight) for one in own if script in one.scripts)


def absent(script: str) -> str:
    """What to install for a script that has a face which isn't there; empty where none lacks."""
    found = _FACES.get(("sans", script))
    return extras.mend(found.module) if found and not extras.installed(found.module) else ""
