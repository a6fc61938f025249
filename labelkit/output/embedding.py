"""Fonts inside the file: subset, embedded, and readable back to the right text.

Each pair of a cluster's drawing and the text it stands for has its own character id
(CID), so that copied text is exact: a joined form or a conjunct gives its whole cluster.
A composite font with Identity-H, a CIDToGIDMap and a ToUnicode map (ISO 32000-1, 9.7 and
9.10.3). Shapes nothing and places nothing.
"""

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO

from fontTools import subset
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._g_l_y_f import ROUND_XY_TO_GRID, GlyphComponent
from fontTools.ttLib.tables._g_l_y_f import Glyph as GlyfGlyph

from labelkit.output.clusters import Cluster, Part
from labelkit.output.writer import File, Name, Ref, Text
from labelkit.typeset.fonts import Face, face
from labelkit.typeset.model import FaceKey

_MOST_CIDS = 0xFFFF
_BFCHAR_ROWS = 100
"""At most this many entries in one bfchar section (Adobe Technical Note 5014, 4.4)."""

_SYMBOLIC = 1 << 2
"""Font descriptor flag (ISO 32000-1, table 123): not the standard Latin character set."""

_DROPPED_TABLES = ["GSUB", "GPOS", "GDEF", "STAT", "DSIG", "OS/2", "name", "post", "cmap", "meta"]


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A glyph of the embedded font: one of the face's, or one composed of several."""

    parts: tuple[Part, ...]
    advance: float


@lru_cache(maxsize=256)
def subset_of(key: FaceKey, drawn: tuple[_Drawn, ...]) -> tuple[bytes, tuple[int, ...]]:
    """A font file with these glyphs only, and the glyph index of each."""
    options = subset.Options(
        drop_tables=[*subset.Options().drop_tables, *_DROPPED_TABLES],
        hinting=False,
        notdef_outline=True,
        glyph_names=False,
        recalc_timestamp=False,
        layout_features=[],
    )
    font = TTFont(BytesIO(face(key).data), lazy=True, recalcTimestamp=False)
    before = font.getGlyphOrder()
    worker = subset.Subsetter(options)
    worker.populate(gids=sorted({0, *(part.gid for one in drawn for part in one.parts)}))
    worker.subset(font)
    names = [
        _compose(font, one, before, f"composed{i}")
        if len(one.parts) != 1 or one.parts[0].y
        else before[one.parts[0].gid]
        for i, one in enumerate(drawn)
    ]
    made = BytesIO()
    font.save(made)
    after = {name: gid for gid, name in enumerate(font.getGlyphOrder())}
    return made.getvalue(), tuple(after[name] for name in names)


def _compose(font: TTFont, drawn: _Drawn, names: list[str], name: str) -> str:
    """Add a composite glyph (OpenType 1.9, glyf, composite description); its name."""
    units = font["head"].unitsPerEm / 1000
    glyph = GlyfGlyph()
    glyph.numberOfContours = -1 if drawn.parts else 0
    if drawn.parts:
        glyph.components = []
    for part in drawn.parts:
        component = GlyphComponent()
        component.glyphName = names[part.gid]
        component.x, component.y = round(part.x * units), round(part.y * units)
        component.flags = ROUND_XY_TO_GRID
        glyph.components.append(component)
    table = font["glyf"]
    table[name] = glyph
    glyph.recalcBounds(table)
    font["hmtx"][name] = (max(0, round(drawn.advance * units)), getattr(glyph, "xMin", 0))
    font.setGlyphOrder(table.glyphOrder)
    return name


class EmbeddedFont:
    """One face as it is used in one file."""

    def __init__(self, key: FaceKey, name: str) -> None:
        self.key = key
        self.name = name
        """Resource name, ``F0`` and on."""
        self._cids: dict[tuple[_Drawn, str], int] = {}
        self._widths: list[float] = []
        self._face: Face = face(key)

    def cid(self, cluster: Cluster) -> int:
        """The CID of a cluster with its text."""
        if cluster.composed:
            drawn = _Drawn(cluster.parts, cluster.advance)
        else:
            drawn = _Drawn((Part(cluster.parts[0].gid, 0.0, 0.0),), 0.0)
        pair = (drawn, cluster.text)
        if pair not in self._cids:
            self._cids[pair] = len(self._cids) + 1
            if len(self._cids) > _MOST_CIDS:
                raise OverflowError("more than 65535 different glyphs of one face in one file")
            self._widths.append(round(self._natural(drawn), 2))
        return self._cids[pair]

    def _natural(self, drawn: _Drawn) -> float:
        if drawn.advance or len(drawn.parts) != 1:
            return max(0.0, drawn.advance)
        known = self._face
        return float(known.hb_font.get_glyph_h_advance(drawn.parts[0].gid) * known.scale)

    def width(self, cid: int) -> float:
        """The advance the file states for a CID, 1/1000 em."""
        return self._widths[cid - 1]

    def write(self, file: File, ref: Ref) -> None:
        """Add the font's objects to the file, under the reference reserved for it."""
        data, gids = subset_of(self.key, tuple(drawn for drawn, _ in self._cids))
        base = self._base_name(data)
        to_gid = b"".join(gid.to_bytes(2, "big") for gid in (0, *gids))
        descendant = {
            "Type": Name("Font"),
            "Subtype": Name("CIDFontType2"),
            "BaseFont": Name(base),
            "CIDSystemInfo": {
                "Registry": Text("Adobe"),
                "Ordering": Text("Identity"),
                "Supplement": 0,
            },
            "FontDescriptor": file.add(self._descriptor(file, base, data)),
            "DW": 1000,
            "W": [1, list(self._widths)],
            "CIDToGIDMap": file.stream({}, to_gid),
        }
        file.fill(
            ref,
            {
                "Type": Name("Font"),
                "Subtype": Name("Type0"),
                "BaseFont": Name(base),
                "Encoding": Name("Identity-H"),
                "DescendantFonts": [file.add(descendant)],
                "ToUnicode": file.stream({}, _to_unicode([text for _, text in self._cids])),
            },
        )

    def _base_name(self, data: bytes) -> str:
        """``ABCDEF+Name``: a subset's tag comes from its bytes (ISO 32000-1, 9.6.4)."""
        digest = hashlib.sha256(data).digest()
        tag = "".join(chr(ord("A") + byte % 26) for byte in digest[:6])
        return f"{tag}+{self._face.postscript_name}"

    def _descriptor(self, file: File, base: str, data: bytes) -> dict[str, object]:
        known = self._face
        return {
            "Type": Name("FontDescriptor"),
            "FontName": Name(base),
            "Flags": _SYMBOLIC,
            "FontBBox": [round(edge) for edge in known.bounds],
            "ItalicAngle": 0,
            "Ascent": round(known.bounds[3]),
            "Descent": round(known.bounds[1]),
            "CapHeight": round(known.cap_height),
            "StemV": 140 if self.key.weight == "bold" else 80,
            "FontFile2": file.stream({"Length1": len(data)}, data),
        }


def _to_unicode(texts: list[str]) -> bytes:
    """The CMap from CID 1 and on to the texts, in UTF-16BE."""
    rows = [
        f"<{cid:04X}> <{text.encode('utf-16-be').hex().upper()}>"
        for cid, text in enumerate(texts, start=1)
        if text
    ]
    sections = []
    for start in range(0, len(rows), _BFCHAR_ROWS):
        part = rows[start : start + _BFCHAR_ROWS]
        sections.append(f"{len(part)} beginbfchar\n" + "\n".join(part) + "\nendbfchar\n")
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n"
        + "".join(sections)
        + "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n"
    ).encode("ascii")
