"""What must not be: ink at the sheet's edge, particulars over an empty cavity, a draft mark
on released artwork, a code nobody asked for."""

from collections.abc import Iterable, Iterator

import numpy as np

from labelkit.checks import symbols, values
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import Edges, edges, grown, overlap, place_of
from labelkit.checks.streams import normal
from labelkit.checks.texts import short
from labelkit.checks.view import PageView
from labelkit.manifest.model import Manifest, ManifestPage, Place

INK_BELOW = 235
"""Grey level below which a pixel is ink: a tint of a tenth is, a speck of rounding isn't."""

EDGE_SLACK_MM = 0.1
"""Over a dot of a 300 dpi printer: the snap to the printer's grid."""

BLOCK_PX = 32
"""Side of the blocks in which a page is searched for stray codes: 2.7 mm at 300 dpi."""

SAMPLE_PX = 4
"""Every so many pixels one is looked at in that search."""

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
        strip = view.raster.grey[strip_rows, strip_columns]
        if strip.size and int(strip.min()) < INK_BELOW:
            dark_rows = np.nonzero((strip < INK_BELOW).any(axis=1))[0]
            dark_columns = np.nonzero((strip < INK_BELOW).any(axis=0))[0]
            box = view.raster.edges(
                slice(strip_rows.start + dark_rows[0], strip_rows.start + dark_rows[-1] + 1),
                slice(
                    strip_columns.start + dark_columns[0],
                    strip_columns.start + dark_columns[-1] + 1,
                ),
            )
            yield sentence(
                FindingKind.INK_OUTSIDE,
                view.number,
                f"ink at {box[0]:.1f}, {box[1]:.1f} mm lies outside the printable area",
                expected="nothing outside the printable area",
                found="ink",
                where=place_of(box),
            )
            return


def check_empty(view: PageView, page: ManifestPage, manifest: Manifest) -> Iterator[Finding]:
    """Particulars or codes over cavities that hold no tablet."""
    lots = sorted({v.value for p in manifest.pages for v in p.values if v.kind == "lot"})
    drugs = sorted({v.value for p in manifest.pages for v in p.values if v.kind == "drug"})
    for place in page.empty:
        box = edges(place.within)
        text = view.content(box).text
        found = _particulars(text, lots, drugs, manifest.languages)
        read = [] if found else symbols.read_in(view.raster, box)
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


def _particulars(
    text: str, lots: Iterable[str], drugs: Iterable[str], languages: tuple[str, ...]
) -> str:
    """The first text that looks like a lot, drug, strength or date; empty where none does."""
    if not text:
        return ""
    found = [f for lot in lots for f in values.alike(text, normal(lot))]
    found += [f for drug in drugs for f in values.words_in(text, normal(drug))]
    found += values.amounts_in(text, languages)
    found += values.dates_in(text, languages)
    return text[found[0].begin : found[0].end] if found else ""


def check_draft_marks(view: PageView, page: ManifestPage, state: str) -> Iterator[Finding]:
    """The draft mark stands on drafts and on nothing else."""
    for place in page.draft_marks:
        marked = _has_ink(view, place)
        if state == "draft" and not (marked and _has_seen_text(view, place)):
            yield sentence(
                FindingKind.DRAFT_MARK_MISSING,
                view.number,
                "this is a draft and doesn't say so where it must",
                expected="the draft mark",
                found="nothing",
                where=place,
            )
        elif state != "draft" and marked:
            yield sentence(
                FindingKind.DRAFT_MARK_LEFT,
                view.number,
                "something stands where only a draft has its mark",
                expected="nothing",
                found=short(view.content(edges(place)).text),
                where=place,
            )


def _has_ink(view: PageView, place: Place) -> bool:
    crop = view.raster.crop(grown(edges(place), -EDGE_SLACK_MM))
    return bool(crop.size) and int(crop.min()) < INK_BELOW


def _has_seen_text(view: PageView, place: Place) -> bool:
    chosen = view.chosen(edges(place))
    return bool(len(chosen)) and bool(view.visibility.inked[chosen].all())


def check_stray_codes(
    view: PageView, page: ManifestPage, known: Iterable[Place]
) -> Iterator[Finding]:
    """Codes elsewhere than in the boxes of required ones.

    Looks only where the page is as dark as a code is and no required code or text stands.
    """
    expected = [edges(place) for place in known]
    for box in _dense_blocks(view, [*expected, *(edges(c.within) for c in page.codes)]):
        for seen in symbols.read_in(view.raster, grown(box, 2.0)):
            where = seen.edges(view.raster.dpi)
            if not any(overlap(where, other) for other in expected):
                yield sentence(
                    FindingKind.CODE_EXTRA,
                    view.number,
                    f"a {seen.symbology} that nobody asked for stands at "
                    f"{where[0]:.1f}, {where[1]:.1f} mm",
                    expected="required codes only",
                    found=short(seen.text),
                    where=place_of(where),
                )


def _dense_blocks(view: PageView, known: Iterable[Edges]) -> list[Edges]:
    """Boxes around connected blocks that are neither light nor black, nor known, nor text."""
    raster = view.raster
    sampled = raster.grey[::SAMPLE_PX, ::SAMPLE_PX] < 128
    side = BLOCK_PX // SAMPLE_PX
    rows, columns = sampled.shape[0] // side, sampled.shape[1] // side
    blocks = sampled[: rows * side, : columns * side].reshape(rows, side, columns, side)
    share = blocks.mean(axis=(1, 3), dtype=np.float32)
    dense = (share > DENSE[0]) & (share < DENSE[1])
    block_mm = BLOCK_PX * 25.4 / raster.dpi
    for box in known:
        left, top, right, bottom = (round(v / block_mm) for v in box)
        dense[max(top - 1, 0) : bottom + 1, max(left - 1, 0) : right + 1] = False
    centres = (view.characters.centres / block_mm).astype(np.intp)
    inside = (centres >= 0).all(axis=1) & (centres[:, 1] < rows) & (centres[:, 0] < columns)
    dense[centres[inside, 1], centres[inside, 0]] = False
    return _grouped(dense, block_mm)


def _grouped(dense: "np.typing.NDArray[np.bool_]", block_mm: float) -> list[Edges]:
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
