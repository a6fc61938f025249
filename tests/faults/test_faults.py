"""The check catches every kind of harm, and raises no alarm at a file that has none.

A few places of each kind; ``make faults`` tries ten of each and writes the table.
"""

import campaign
import numpy as np
import pypdfium2
import pytest
import released
from benign import BENIGN
from injecting import KINDS, Released, Work, injected

from labelkit.checks.reading_back import check
from labelkit.ground.errors import CheckRefused

OF_THE_FILE = ("kinds_file", "kinds_build", "kinds_tags", "kinds_remains")

UNSEEN = {
    "user-unit",  # PDFium doesn't apply UserUnit; printers may
    "user-unit-small",
    *("letter-homoglyph", "digit-fullwidth", "digit-of-another-script", "superscript-told"),
    *("zero-width-in-number", "told-otherwise", "layer-not-printed", "layer-to-switch", "spot-ink"),
    *(kind.name for kind in campaign.ordered() if kind.module in OF_THE_FILE),
}
"""Kinds whose harm isn't in the pixels of the page."""

SCRIPTS = {"cyrillic": "ru", "devanagari": "hi", "han": "zh-Hans", "hangul": "ko"}
"""Languages for the kinds of scripts that the few files of these tests don't have."""


def pictures(pdf: bytes) -> list[np.ndarray]:
    """Every page in grey at 108 dpi."""
    document = pypdfium2.PdfDocument(pdf)
    return [np.asarray(p.render(scale=1.5, grayscale=True).to_numpy()).copy() for p in document]


def alike(one: list[np.ndarray], two: list[np.ndarray]) -> bool:
    """Whether two files look the same."""
    return len(one) == len(two) and all(
        a.shape == b.shape and int(np.abs(a.astype(int) - b).max()) < 8
        for a, b in zip(one, two, strict=True)
    )


def first_place(name: str, files: tuple[Released, ...]) -> tuple[int, int] | None:
    """A file and a place of it, in the middle of its places."""
    for number, file in enumerate(files):
        found = len(KINDS[name].find(Work(file, files)))
        if found:
            return number, found // 2
    return None


def test_there_are_kinds_enough() -> None:
    """At least thirty kinds, each with a sentence of its own."""
    assert len(KINDS) >= 30
    assert len({kind.says for kind in KINDS.values()}) == len(KINDS)


@pytest.mark.parametrize("rewrite", BENIGN.values(), ids=BENIGN.keys())
def test_no_false_alarm(rewrite: object, files: tuple[Released, ...]) -> None:
    """What another program does to a file without harm is accepted, page by page the same."""
    for file in files:
        rewritten = rewrite(file)  # type: ignore[operator]
        report = check(rewritten, file.manifest)
        assert report.ok, (file.name, report.findings[:3])


@pytest.mark.parametrize("name", KINDS)
def test_each_kind_harms_and_is_caught(name: str, files: tuple[Released, ...]) -> None:
    """The harm shows in the pixels (or is one that can't), and the check refuses the file."""
    place = first_place(name, files)
    if place is None and name.rpartition("-")[2] in SCRIPTS:
        files = tuple(released.in_another(SCRIPTS[name.rpartition("-")[2]]))
        place = first_place(name, files)
    assert place is not None, "no file of the sample has a place for this kind"
    file = files[place[0]]
    harmed = injected(KINDS[name], file, place[1], files)
    if name not in UNSEEN:
        assert not alike(pictures(harmed), pictures(file.pdf))
    try:
        assert not check(harmed, file.manifest).ok
    except CheckRefused as refused:
        assert refused.faults
