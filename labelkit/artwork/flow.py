"""Documents poured through a chain of areas at the largest size that holds all of them.

The chain is every FLOW field of one document on one piece, in the order of faces and areas.
Nothing is dropped: a document that doesn't fit at the field's least size is refused, with
the height that is missing. Lines are broken once, for the narrowest area of the chain.
"""

from collections.abc import Sequence
from dataclasses import replace

from labelkit.artwork.blocks import chunks_of
from labelkit.artwork.chunks import Chunk
from labelkit.artwork.page import CodeItem, Item
from labelkit.artwork.pouring import Overflow, Poured, pour
from labelkit.artwork.setting import CLOSE, OPEN, Pace, Setting, TooNarrow
from labelkit.artwork.spots import Spot
from labelkit.artwork.texts import too_big, up
from labelkit.geometry.model import What
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused, Fault
from labelkit.typeset.fitting import STEP_PT
from labelkit.wording.model import BlockKind, Document, Voice

Spoken = Sequence[tuple[Voice, Document, float]]
"""Who says which document, and the size that it is never set larger than."""


def flow_items(chain: Sequence[Spot]) -> tuple[tuple[Item, ...], ...]:
    """The items of each field of the chain, whose documents are those of its first field.

    Raises ArtworkRefused where the documents don't fit at the least size, or are missing.
    """
    first = chain[0]
    field, load = first.field, first.load
    spoken = [(voice, _document(first, voice), field.wanted_pt) for voice in first.voices]
    if field.what is What.FLOW and field.arg in load.closing:
        most_pt = field.beside_pt or field.wanted_pt
        spoken.append((load.pharmacy, load.closing[field.arg], most_pt))
    sizes = _sizes(first.field.wanted_pt, first.field.least_pt)
    found = _largest(chain, spoken, sizes, OPEN)
    if isinstance(found, Overflow):
        found = _largest(chain, spoken, sizes, CLOSE)
    if isinstance(found, Overflow):
        raise ArtworkRefused([_overflow(chain, found)])
    return tuple(
        tuple(_owned(item, spot, place) for item in items)
        for place, (spot, items) in enumerate(zip(chain, found.areas, strict=True), start=1)
    )


def _largest(
    chain: Sequence[Spot], spoken: Spoken, sizes: Sequence[float], pace: Pace
) -> Poured | Overflow:
    """The documents at the largest of `sizes` (in rising order) that fits, by halving."""
    best = _tried(chain, spoken, sizes[0], pace)
    if isinstance(best, Overflow):
        return best
    low, high = 0, len(sizes) - 1
    while low < high:
        middle = (low + high + 1) // 2
        tried = _tried(chain, spoken, sizes[middle], pace)
        if isinstance(tried, Poured):
            low, best = middle, tried
        else:
            high = middle - 1
    return best


def _document(spot: Spot, voice: Voice) -> Document:
    """The field's document in one language; of a TABLE field's document, its tables alone."""
    try:
        whole = spot.load.documents[spot.field.arg][voice.language]
        if spot.field.what is not What.TABLE:
            return whole
        tables = tuple(b for b in whole.blocks if b.kind is BlockKind.TABLE)
        return replace(whole, blocks=tables)
    except KeyError as error:
        wrong = f"there is no document {spot.field.arg} in {voice.language}"
        mend = "use a layout for artwork that has this document"
        raise ArtworkRefused([spot.fault(wrong, mend)]) from error


def _sizes(wanted_pt: float, least_pt: float) -> tuple[float, ...]:
    """From the least size up to the wanted one, in steps."""
    steps = int((wanted_pt - least_pt) / STEP_PT + 1e-6)
    above = tuple(wanted_pt - STEP_PT * step for step in range(steps + 1))
    return tuple(sorted({least_pt, *above}))


def _tried(chain: Sequence[Spot], spoken: Spoken, size_pt: float, pace: Pace) -> Poured | Overflow:
    """The documents at one size. Raises ArtworkRefused where a word is too wide at the least."""
    width_mm = min(spot.box.w_mm for spot in chain)
    chunks: list[Chunk] = []
    try:
        for voice, document, most_pt in spoken:
            setting = Setting(chain[0], voice, width_mm, min(size_pt, most_pt), pace)
            chunks.extend(chunks_of(document, setting))
    except TooNarrow as error:
        if size_pt > chain[0].field.least_pt:
            return Overflow(0.0, 0.0)
        room = Box(0.0, 0.0, width_mm, chain[0].box.h_mm)
        raise ArtworkRefused([too_big(chain[0], error.found, room)]) from error
    return pour(chunks, [spot.box for spot in chain])


def _overflow(chain: Sequence[Spot], found: Overflow) -> Fault:
    """The refusal of a document that the chain can't hold, at the least size, set closely."""
    field = chain[0].field
    room_mm = sum(spot.box.h_mm for spot in chain)
    width_mm = min(spot.box.w_mm for spot in chain)
    return chain[0].fault(
        f"the document {field.arg} needs {up(room_mm + found.over_mm):.1f} mm of a column "
        f"{width_mm:.1f} mm wide at {field.least_pt:g} pt, and its {len(chain)} boxes have "
        f"{room_mm:.1f} mm: {up(found.over_mm):.1f} mm too high (largest part that can't be "
        f"divided: {up(found.tallest_mm):.1f} mm)",
        "choose a layout with more room, or say less",
    )


def _owned(item: Item, spot: Spot, place: int) -> Item:
    """The item as one of the field it came to stand in, read in the order of the chain."""
    origin = replace(item.origin, area=spot.area.id, field=spot.field.id)
    if isinstance(item, CodeItem) or item.tag is None:
        return replace(item, origin=origin)
    return replace(item, origin=origin, tag=replace(item.tag, order=place))
