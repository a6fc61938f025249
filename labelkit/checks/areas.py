"""What must not be: ink at the sheet's edge, particulars over an empty cavity, a draft mark
on released artwork, a code nobody asked for."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labelkit.checks import symbols, values
from labelkit.checks.answers import Sheet
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import Edges, edges, grown, millimetres, overlap, place_of
from labelkit.checks.streams import normal
from labelkit.checks.symbols import Seen
from labelkit.checks.texts import short
from labelkit.checks.view import PageView
from labelkit.manifest.model import DraftMark, Manifest, ManifestPage, Place

INK_BELOW = 235
"""Grey level below which a pixel is ink: a tint of a tenth is, a speck of rounding isn't."""

EDGE_SLACK_MM = 0.1
"""Over a dot of a 300 dpi printer: the snap to the printer's grid."""

BLOCK = 8
"""Samples along a side of the blocks in which a page is searched for stray codes: the bits
of a byte, so that a block's rows are counted by table."""

_ONES = np.array([bin(byte).count("1") for byte in range(256)], dtype=np.uint8)
_CHANGES = np.array([bin((byte ^ byte >> 1) & 127).count("1") for byte in range(256)], np.uint8)
"""Dark samples of a row of eight, and changes between neighbours."""

SAMPLE_PX = 4
"""Every so many pixels one is looked at in that search: blocks are 2.7 mm at 300 dpi."""

COARSER = 4
"""How much wider the second search's samples are apart."""

CHANGES = 12
"""Changes between dark and light along a block's rows, or its columns, from which it may be
part of a code: half of 56, less what the edge of a code leaves."""

AROUND_MM = 8.0
"""Room around a suspicious part that is read with it: the rest of a code partly under text."""

NEAR_MM = 3.0
"""The same over an empty cavity, where no block was left out for its text."""

REACH_MM = 15.0
"""How far beyond an empty cavity a text is read that stands over its edge."""

DENSE = (0.2, 0.8)
"""Share of ink of a block that may belong to a code: about half its modules are dark."""


def check_safe(view: PageView, page: ManifestPage) -> Iterator[Finding]:
    """Ink outside the printable area."""
    height, width = view.raster.grey.shape
    rows, columns = view.raster.window(grown(edges(page.safe), EDGE_SLACK_MM))
    strips = (
        (slice(0, rows.start), slice(0, width)),
        (slice(rows.stop, height), slice(0, width)),
        (rows, slice(0, columns.start)),
        (rows, slice(columns.stop, width)),
    )
    for strip_rows, strip_columns in strips:
        if box := view.raster.inked(strip_rows, strip_columns, INK_BELOW):
            yield sentence(
                FindingKind.INK_OUTSIDE,
                view.number,
                f"ink at {box[0]:.1f}, {box[1]:.1f} mm lies outside the printable area",
                expected="nothing outside the printable area",
                found="ink",
                where=place_of(box),
            )
            return


@dataclass(frozen=True)
class Particulars:
    """What of a whole file must not stand over an empty cavity, gathered once."""

    lots: tuple[str, ...]
    drugs: tuple[str, ...]
    languages: tuple[str, ...]

    @classmethod
    def of(cls, manifest: Manifest) -> "Particulars":
        """Those of a manifest."""
        named = {(v.kind, v.value) for page in manifest.pages for v in page.values}
        return cls(
            tuple(sorted(value for kind, value in named if kind == "lot")),
            tuple(sorted(value for kind, value in named if kind == "drug")),
            manifest.languages,
        )


def check_empty(
    view: PageView, page: ManifestPage, particulars: Particulars, strays: Iterable[Seen]
) -> Iterator[Finding]:
    """Particulars or codes over cavities that hold no tablet, be it with one letter."""
    codes = [(seen, seen.edges(view.raster.dpi)) for seen in strays]
    for place in page.empty:
        box = edges(place.within)
        found = _particulars(view, box, particulars)
        read = [seen for seen, where in codes if overlap(where, box)]
        if found or read:
            what = short(found) if found else f"a {read[0].symbology}"
            yield sentence(
                FindingKind.NOT_EMPTY,
                view.number,
                f"the cavity below is empty, but {what} stands on it",
                expected="no lot, strength, date, drug or code",
                found=found or read[0].text,
                piece=place.piece,
                area=place.area,
                where=place.within,
            )


def _particulars(view: PageView, box: Edges, particulars: Particulars) -> str:
    """The first text that looks like a lot, drug, strength or date and reaches into the box;
    empty where none does. A wide text may begin and end outside."""
    here = set(view.chosen(box).tolist())
    if not here:
        return ""
    stream = view.content(grown(box, REACH_MM))
    text = stream.text
    found = [f for lot in particulars.lots for f in values.alike(text, normal(lot))]
    found += [f for drug in particulars.drugs for f in values.words_in(text, normal(drug))]
    found += values.amounts_in(text, particulars.languages)
    found += values.dates_in(text, particulars.languages)
    for one in found:
        if not here.isdisjoint(stream.owners[one.begin : one.end]):
            return text[one.begin : one.end]
    return ""


def check_draft_marks(view: PageView, page: ManifestPage, state: str) -> Iterator[Finding]:
    """The draft mark stands on drafts, in its own words, and on nothing else."""
    for mark in page.draft_marks:
        marked = _has_ink(view, mark.within)
        if state == "draft" and not (marked and _says_draft(view, mark)):
            yield sentence(
                FindingKind.DRAFT_MARK_MISSING,
                view.number,
                "this is a draft and doesn't say so where it must",
                expected=" or ".join(" ".join(texts) for texts in mark.words),
                found=short(view.content(edges(mark.within)).text) or "nothing",
                where=mark.within,
            )
        elif state != "draft" and marked:
            yield sentence(
                FindingKind.DRAFT_MARK_LEFT,
                view.number,
                "something stands where only a draft has its mark",
                expected="nothing",
                found=short(view.content(edges(mark.within)).text),
                where=mark.within,
            )


def _says_draft(view: PageView, mark: DraftMark) -> bool:
    """Whether one of the mark's wordings stands there, seen, and nothing beside it."""
    chosen = view.chosen(edges(mark.within))
    if not len(chosen) or view.trouble[chosen].any():
        return False
    codes = view.characters.codes
    letters = {index for index in chosen.tolist() if normal(codes[index]).strip()}
    for texts in mark.words:
        found = [view.find(text, edges(mark.within)) for text in texts]
        if all(found) and letters <= {i for one in found for o in one for i in o.characters}:
            return True
    return False


def _has_ink(view: PageView, place: Place) -> bool:
    crop = view.raster.crop(grown(edges(place), -EDGE_SLACK_MM))
    return bool(crop.size) and int(crop.min()) < INK_BELOW


def stray_codes(
    view: PageView, page: ManifestPage, known: Iterable[Place], before: Sheet | None = None
) -> tuple[list[Seen], set[Edges]]:
    """Codes elsewhere than in the boxes of required ones, and the parts that were searched and
    hold none; `before` knows which parts are what they were.

    Looks only where the page is as dark as a code is and no required code stands, and no text
    either; over empty cavities, text hides nothing.
    """
    expected = [edges(place) for place in known]
    found: dict[tuple[int, int, int, int], Seen] = {}
    known_boxes = [*expected, *(edges(c.within) for c in page.codes)]
    if before and before.searched(known_boxes):
        return [], before.bare_before
    empty = [edges(place.within) for place in page.empty]
    parts = [
        grown(box, NEAR_MM if any(overlap(box, place) for place in empty) else AROUND_MM)
        for box in _dense_blocks(view, known_boxes, empty)
    ]
    bare = before.bare(parts) if before else set()
    for part in parts:
        if part in bare:
            continue
        read = symbols.read_in(view.raster, part)
        if not read:
            bare.add(part)
        for seen in read:
            where = seen.edges(view.raster.dpi)
            if not any(overlap(where, other) for other in expected):
                found[seen.box] = seen
    return list(found.values()), bare


def check_strays(view: PageView, strays: Iterable[Seen]) -> Iterator[Finding]:
    """A finding for each code that nobody asked for."""
    for seen in strays:
        where = seen.edges(view.raster.dpi)
        yield sentence(
            FindingKind.CODE_EXTRA,
            view.number,
            f"a {seen.symbology} that nobody asked for stands at {where[0]:.1f}, {where[1]:.1f} mm",
            expected="required codes only",
            found=short(seen.text),
            where=place_of(where),
        )


def _dense_blocks(view: PageView, known: list[Edges], empty: list[Edges]) -> list[Edges]:
    """Boxes around connected blocks that look like a code's, and aren't known and aren't text.

    Looks twice, the second time for modules so large that one fills a block of the first.
    """
    return [
        box
        for step in (SAMPLE_PX, SAMPLE_PX * COARSER)
        for box in _grouped(*_suspicious(view, known, empty, step))
    ]


def _suspicious(
    view: PageView, known: list[Edges], empty: list[Edges], step: int
) -> tuple[NDArray[np.bool_], float]:
    """Which blocks to search, and a block's side in millimetres."""
    raster = view.raster
    dark = np.packbits(raster.grey[::step, ::step] < 128, axis=1)
    rows, columns = len(dark) // BLOCK, dark.shape[1]
    by_row = dark[: rows * BLOCK].reshape(rows, BLOCK, columns)
    share = _ONES[by_row].sum(axis=1) / BLOCK**2
    across = _CHANGES[by_row].sum(axis=1)
    down = _ONES[by_row[:, 1:] ^ by_row[:, :-1]].sum(axis=1)
    dense = (share > DENSE[0]) & (share < DENSE[1]) & (np.maximum(across, down) >= CHANGES)
    side_mm = millimetres(BLOCK * step, raster.dpi)
    for box in known:
        left, top, right, bottom = (round(v / side_mm) for v in box)
        dense[max(top - 1, 0) : bottom + 1, max(left - 1, 0) : right + 1] = False
    boxes = view.characters.boxes[_elsewhere(view, empty)] / side_mm
    for x in (boxes[:, 0], boxes[:, [0, 2]].mean(axis=1), boxes[:, 2]):
        for y in (boxes[:, 1], boxes[:, [1, 3]].mean(axis=1), boxes[:, 3]):
            here = (x >= 0) & (y >= 0) & (x < columns) & (y < rows)
            dense[y[here].astype(np.intp), x[here].astype(np.intp)] = False
    return dense, side_mm


def _elsewhere(view: PageView, empty: list[Edges]) -> NDArray[np.bool_]:
    """Characters that don't stand over an empty cavity."""
    away = np.ones(len(view.characters.codes), dtype=np.bool_)
    for box in empty:
        away[view.chosen(box)] = False
    return away


def _grouped(dense: NDArray[np.bool_], block_mm: float) -> list[Edges]:
    """Boxes of the runs of neighbouring blocks, each found by flooding from one of them."""
    left_over = {(int(r), int(c)) for r, c in zip(*np.nonzero(dense), strict=True)}
    boxes: list[Edges] = []
    while left_over:
        group, edge = [], [left_over.pop()]
        while edge:
            row, column = edge.pop()
            group.append((row, column))
            for near in ((row + i, column + j) for i in (-1, 0, 1) for j in (-1, 0, 1)):
                if near in left_over:
                    left_over.discard(near)
                    edge.append(near)
        rows, columns = [g[0] for g in group], [g[1] for g in group]
        boxes.append(
            (
                min(columns) * block_mm,
                min(rows) * block_mm,
                (max(columns) + 1) * block_mm,
                (max(rows) + 1) * block_mm,
            )
        )
    return boxes
