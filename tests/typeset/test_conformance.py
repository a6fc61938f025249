"""UAX #9 and UAX #14 by the Unicode Consortium's own test files (Unicode 15.0).

The files come from Debian's package `unicode-data`. Direction comes from python-bidi and is
reordered here; line breaks come from ICU, which follows a later version of the annex.
"""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from labelkit.typeset.breaking import plain_opportunities
from labelkit.typeset.lines import visual_order
from labelkit.typeset.paragraph import levels_of

FILES = Path("/usr/share/unicode")
BIDI = FILES / "BidiCharacterTest.txt"
BREAKS = FILES / "auxiliary" / "LineBreakTest.txt"

needs_files = pytest.mark.skipif(
    not BIDI.exists() and not os.environ.get("CI"), reason="Debian's unicode-data isn't installed"
)


def rows(path: Path) -> Iterator[str]:
    with path.open(encoding="utf-8") as lines:
        for line in lines:
            said = line.split("#")[0].strip()
            if said:
                yield said


@needs_files
def test_levels_and_visual_order() -> None:
    """Every line of BidiCharacterTest.txt with a stated paragraph direction: the levels are
    those of rule L1's input where the file gives one, and L2 gives the file's order."""
    tried = 0
    for row in rows(BIDI):
        points, direction, _, levels, order = row.split(";")
        if direction == "2":
            continue  # the direction is always the language's here
        text = "".join(chr(int(point, 16)) for point in points.split())
        found = levels_of(text, int(direction))
        wanted = [None if level == "x" else int(level) for level in levels.split()]
        kept = [i for i, level in enumerate(wanted) if level is not None]
        assert [found[i] for i in kept] == [wanted[i] for i in kept], row
        shown = visual_order([found[i] for i in kept])
        assert [kept[i] for i in shown] == [int(i) for i in order.split()], row
        tried += 1
    assert tried > 90_000


CHANGED = frozenset("-,.\"'«»‹›“”()[]{}\u2329\u05d0")
"""Characters of the rules that changed after Unicode 15.0 (LB15, LB19, LB20a, LB25): the
revision notes of UAX #14, revisions 51 to 55."""


@needs_files
def test_line_breaks() -> None:
    """LineBreakTest.txt of Unicode 15.0 holds but for lines about rules that changed since."""
    different, tried = [], 0
    for row in rows(BREAKS):
        text, wanted = "", []
        for token in row.split():
            if token == "÷":
                wanted.append(len(text))
            elif token != "×":
                text += chr(int(token, 16))
        tried += 1
        if [*plain_opportunities(text, "en"), len(text)] != [at for at in wanted if at]:
            different.append(text)
    assert tried > 7_000
    assert len(different) < 0.005 * tried
    assert all(CHANGED & set(text) for text in different)
