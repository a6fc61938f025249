"""Text that nobody asked for: every character on a page belongs to a text that the manifest states.

A second dose beside the right one, a text that stands twice, a digit typed before a number: each
leaves every required text whole. So what belongs to none of them is told. The draft mark of a
draft is looked at elsewhere.
"""

from collections.abc import Iterator

import numpy as np

from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import Edges, edges, grown, place_of
from labelkit.checks.texts import box_of, short
from labelkit.checks.view import PageView
from labelkit.manifest.model import ManifestPage

DRAFT_ROUND_MM = 1.0
"""How far a draft mark's letters may reach out of its place and still be the mark's."""


def check_unasked(view: PageView, page: ManifestPage, state: str) -> Iterator[Finding]:
    """One finding for the characters of a page that no required text explains.

    All texts of the page, and the documents that flow through it, must have been looked at.
    """
    loose = ~view.explained
    if not loose.any():
        return
    if state == "draft":
        for mark in page.draft_marks:
            loose[view.chosen(grown(edges(mark.within), DRAFT_ROUND_MM))] = False
    chosen = np.nonzero(loose)[0]
    if not len(chosen):
        return
    box: Edges = box_of(view, chosen)
    yield sentence(
        FindingKind.TEXT_EXTRA,
        view.number,
        f"{short(_told(view, chosen.tolist()))} stands there, and nobody asked for it",
        expected="required texts only",
        found=f"{len(chosen)} characters",
        where=place_of(box),
    )


def _told(view: PageView, chosen: list[int]) -> str:
    """The characters as words."""
    parted, codes = view.characters.parted, view.characters.codes
    last, told = -1, ""
    for index in chosen:
        told += (" " if parted[index] or index != last + 1 else "") + codes[index]
        last = index
    return told


def check_numbers(view: PageView) -> list[Finding]:
    """Numbers that hold a character without width, anywhere on the page."""
    times = view.characters.numbers_parted
    if not times:
        return []
    return [
        sentence(
            FindingKind.TEXT_OTHER_SHAPE,
            view.number,
            "a number holds a character without width: copied out, it is another text",
            expected="digits that follow one another",
            found=f"{times} such characters",
        )
    ]
