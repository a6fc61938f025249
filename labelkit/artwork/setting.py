"""How a document is set: the styles of its blocks, relative to one type size."""

from dataclasses import dataclass

from labelkit.artwork.chunks import Chunk
from labelkit.artwork.page import Origin, Tag, TextItem
from labelkit.artwork.spots import Spot
from labelkit.artwork.texts import TALL_MM, Style, set_in
from labelkit.artwork.words import of
from labelkit.ground.box import Box
from labelkit.ground.units import pt_to_mm
from labelkit.typeset.model import TooBig
from labelkit.wording.model import BlockKind, Said, Voice


@dataclass(frozen=True, slots=True)
class Pace:
    """How openly a document is set."""

    leading: float
    """Baseline to baseline, as a ratio of the size."""
    space: float
    """Of the usual space between blocks."""


OPEN = Pace(1.3, 1.0)
CLOSE = Pace(1.25, 0.55)
"""Tried where a document doesn't fit the open way. USP <17> asks for 25 to 30 % of the type
size between lines."""


@dataclass(frozen=True, slots=True)
class BlockStyle:
    """How one kind of text block is set, relative to the body."""

    role: str
    ratio: float
    before_em: float
    weight: str = "regular"
    keep_next: bool = False


STYLES = {
    BlockKind.TITLE: BlockStyle("H1", 1.5, 0.0, "bold", True),
    BlockKind.HEADING: BlockStyle("H2", 1.2, 1.1, "bold", True),
    BlockKind.PARAGRAPH: BlockStyle("P", 1.0, 0.5),
    BlockKind.ITEM: BlockStyle("LI", 1.0, 0.3),
    BlockKind.WARNING: BlockStyle("P", 1.0, 0.8, "bold"),
    BlockKind.STEPS: BlockStyle("P", 1.0, 0.7),
    BlockKind.TABLE: BlockStyle("TD", 1.0, 0.7),
}


class TooNarrow(Exception):
    """A word is wider than its column: no height would help."""

    def __init__(self, found: TooBig) -> None:
        super().__init__(found.text)
        self.found = found


@dataclass(frozen=True, slots=True)
class Setting:
    """For whom, how wide and how large a document is set."""

    spot: Spot
    voice: Voice
    width_mm: float
    size_pt: float
    pace: Pace = OPEN

    @property
    def em_mm(self) -> float:
        """The type size in millimetres."""
        return pt_to_mm(self.size_pt)

    def before_mm(self, style: BlockStyle) -> float:
        """The space above a block of that style."""
        return style.before_em * self.em_mm * self.pace.space

    def origin(self, source: str) -> Origin:
        """Origin in this document's language."""
        return self.spot.origin(source, self.voice.language)

    def text(self, said: Said, width_mm: float, style: BlockStyle, tag: Tag) -> Chunk:
        """A said text as a divisible chunk. Raises TooNarrow."""
        size_pt = self.size_pt * style.ratio
        leading = self.pace.leading if style.ratio == 1.0 else 1.2
        setting = Style(size_pt, size_pt, style.weight, leading=leading)
        fitted = set_in(of(said), setting, width_mm, TALL_MM)
        if isinstance(fitted, TooBig):
            raise TooNarrow(fitted)
        height_mm = fitted.lines[-1].baseline_mm + 0.27 * pt_to_mm(size_pt)
        item = TextItem(
            Box(0.0, 0.0, width_mm, height_mm), fitted.lines, self.origin(said.origin), tag
        )
        return Chunk(
            (item,),
            height_mm,
            self.before_mm(style),
            keep_next=style.keep_next,
            divisible=not style.keep_next,
            line_mm=fitted.leading_mm,
        )
