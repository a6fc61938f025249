"""Fonts inside the file: subset, embedded, and readable back to the right text.

Each pair of a cluster's drawing and the text it stands for has its own character id
(CID), so that copied text is exact: a joined form or a conjunct gives its whole cluster.
A composite font with Identity-H, a CIDToGIDMap and a ToUnicode map (ISO 32000-1, 9.7 and
9.10.3). Shapes nothing and places nothing.
"""

import hashlib
from typing import NamedTuple

from labelkit.output.clusters import Cluster, Part
from labelkit.output.outlines import Drawn, font_file
from labelkit.output.writer import File, Name, Ref, Text
from labelkit.typeset.fonts import Face, face
from labelkit.typeset.model import FaceKey

_MOST_CIDS = 0xFFFF
_BFCHAR_ROWS = 100
"""At most this many entries in one bfchar section (Adobe Technical Note 5014, 4.4)."""

_SYMBOLIC = 1 << 2
"""Font descriptor flag (ISO 32000-1, table 123): not the standard Latin character set."""


class Code(NamedTuple):
    """How a cluster is written in one file."""

    cluster: Cluster
    """Kept, so that its identity stays its own."""
    digits: str
    """Its CID in hexadecimal."""
    width: float
    """The advance that the file states for it, 1/1000 em."""
    shift: float
    """How far right of its place it is drawn, 1/1000 em."""


class EmbeddedFont:
    """One face as it is used in one file."""

    def __init__(self, key: FaceKey, name: str) -> None:
        self.key = key
        self.name = name
        """Resource name, ``F0`` and on."""
        self._cids: dict[object, int] = {}
        self._by_identity: dict[int, Code] = {}
        self._pairs: list[tuple[Drawn, str]] = []
        self._face: Face = face(key)

    def code(self, cluster: Cluster) -> Code:
        """How a cluster is written. Clusters are shared objects (see `clusters`), so it is
        looked up by identity first."""
        known = self._by_identity.get(id(cluster))
        if known is None:
            parts = cluster.parts
            plain = len(parts) == 1 and not parts[0].y
            cid = self._cid(cluster, plain)
            width = self._pairs[cid - 1][0].advance
            known = Code(cluster, f"{cid:04X}", width, parts[0].x if plain else 0.0)
            self._by_identity[id(cluster)] = known
        return known

    def _cid(self, cluster: Cluster, plain: bool) -> int:
        key = (cluster.parts[0].gid, cluster.text) if plain else cluster
        found = self._cids.get(key)
        if found is None:
            found = self._cids[key] = len(self._pairs) + 1
            if found > _MOST_CIDS:
                raise OverflowError("more than 65535 different glyphs of one face in one file")
            self._pairs.append((self._drawn(cluster, plain), cluster.text))
        return found

    def _drawn(self, cluster: Cluster, plain: bool) -> Drawn:
        """A plain glyph has the font's own advance; a composed one its cluster's."""
        if not plain:
            return Drawn(cluster.parts, max(0.0, round(cluster.advance, 2)))
        gid, known = cluster.parts[0].gid, self._face
        natural = float(known.hb_font.get_glyph_h_advance(gid) * known.scale)
        return Drawn((Part(gid, 0.0, 0.0),), round(natural, 2))

    def write(self, file: File, ref: Ref) -> None:
        """Add the font's objects to the file, under the reference reserved for it."""
        glyphs = list(dict.fromkeys(drawn for drawn, _ in self._pairs))
        data = font_file(self.key, glyphs)
        base = self._base_name(data)
        gids = {drawn: gid for gid, drawn in enumerate(glyphs, start=1)}
        to_gid = b"".join(gid.to_bytes(2, "big") for gid in (0, *(gids[d] for d, _ in self._pairs)))
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
            "W": [1, [drawn.advance for drawn, _ in self._pairs]],
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
                "ToUnicode": file.stream({}, _to_unicode([text for _, text in self._pairs])),
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
