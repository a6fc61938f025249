"""Text of a finished PDF as Poppler reads it, squeezed so that line ends don't matter.

Words stand in the order in which they were drawn (``-raw``). A line with letters of a script
that runs from right to left is put back into the order in which it is read: its words from the
right, what runs from left to right among them as it stands.
"""

import html
import re
import subprocess
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

_WORD = re.compile(
    r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>'
)
RIGHT_TO_LEFT = frozenset({"ar", "fa", "he", "ur"})


@dataclass(frozen=True)
class Word:
    """One word and where it stands, in points."""

    left: float
    top: float
    right: float
    bottom: float
    drawn: str

    @property
    def backwards(self) -> bool:
        """Whether it is read from right to left: by its letters, or a mark alone without ink."""
        seen = self._seen or self.drawn
        return any(unicodedata.bidirectional(c) in {"R", "AL"} for c in seen)

    @property
    def text(self) -> str:
        """Its letters in reading order: ``-bbox`` gives them as they stand, from the left."""
        return self._seen[::-1] if self.backwards else self._seen

    @property
    def _seen(self) -> str:
        return "".join(c for c in self.drawn if unicodedata.category(c) != "Cf")


def pages(pdf: Path, *, right_to_left: bool) -> list[str]:
    """Text of each page, in reading order. Raises CalledProcessError for what is no PDF."""
    if right_to_left:
        marked = _poppler(pdf, "-bbox")
        return ["\n".join(_lines(page)) for page in marked.split("<page ")[1:]]
    return _poppler(pdf).split("\f")[:-1]


def _poppler(pdf: Path, *options: str) -> str:
    asked = ["pdftotext", "-raw", *options, "-enc", "UTF-8", str(pdf), "-"]
    return subprocess.run(asked, capture_output=True, check=True).stdout.decode("utf-8")


def _lines(page: str) -> Iterator[str]:
    words = [
        Word(*(float(edge) for edge in edges), html.unescape(text))
        for *edges, text in _WORD.findall(page)
    ]
    for line in _turned(_level(words)):
        yield " ".join(filter(None, line))


def _level(words: list[Word]) -> Iterator[list[Word]]:
    """Words drawn one after another that stand on one level."""
    line: list[Word] = []
    for word in words:
        if line:
            first = line[0]
            shared = min(word.bottom, first.bottom) - max(word.top, first.top)
            if shared < 0.5 * min(word.bottom - word.top, first.bottom - first.top):
                yield line
                line = []
        line.append(word)
    if line:
        yield line


def _turned(lines: Iterator[list[Word]]) -> Iterator[list[str]]:
    """Lines in reading order; what was drawn upwards, word above word, is one line of them."""
    column: list[list[Word]] = []
    for line in lines:
        if column and not _goes_on(column[-1], line):
            yield from _read(column)
            column = []
        column.append(line)
    yield from _read(column)


def _goes_on(before: list[Word], line: list[Word]) -> bool:
    """Whether two words follow one another in a turned line: on one axis, and close."""
    if len(before) > 1 or len(line) > 1:
        return False
    one, two = before[0], line[0]
    on_one_axis = abs(one.left + one.right - two.left - two.right) < 2
    return on_one_axis and min(abs(two.top - one.bottom), abs(one.top - two.bottom)) < 4


def _read(column: list[list[Word]]) -> Iterator[list[str]]:
    if len(column) > 1:
        yield _in_order([line[0] for line in column])
        return
    for line in column:
        yield _in_order(line)


def _in_order(line: list[Word]) -> list[str]:
    """A line's words as they are read; one without right-to-left letters as it was drawn."""
    words = _joined(line)
    if not any(word.backwards for word in words):
        return [word.text for word in words]
    turned = words[0].bottom <= words[-1].top
    found: list[Word] = []
    run: list[Word] = []
    for word in sorted(words, key=lambda w: -(w.top if turned else w.left)):
        if word.backwards:
            found += [*run, word]
            run = []
        else:
            run.insert(0, word)
    return [word.text for word in (*found, *run)]


def _joined(line: list[Word]) -> list[Word]:
    """Digits that touch are one number, though Poppler tells them as two words."""
    found: list[Word] = []
    for word in line:
        last = found[-1] if found else None
        if last and not (last.backwards or word.backwards) and _touch(last, word):
            found[-1] = replace(
                last, right=word.right, bottom=word.bottom, drawn=last.drawn + word.drawn
            )
        else:
            found.append(word)
    return found


def _touch(one: Word, two: Word) -> bool:
    """Whether a word begins where the one before it ends, in a level line or a turned one."""
    least = 0.05 * min(two.bottom - two.top, two.right - two.left)
    beside = abs(two.left - one.right) < least and abs(two.bottom - one.bottom) < 1
    below = abs(two.top - one.bottom) < least and abs(two.right - one.right) < 1
    return beside or below


@dataclass(frozen=True)
class Squeezed:
    """Letters alike in all their forms, without spaces, except between two numbers."""

    text: str
    places: tuple[int, ...]
    """Where each of its letters stands in the text that was squeezed."""


def normal(text: str) -> str:
    """The text in Unicode's compatibility form: one code for what looks the same."""
    return unicodedata.normalize("NFKC", text)


def squeeze(plain: str, *, letters_only: bool = False) -> Squeezed:
    """What is left of a normal text once spaces don't matter.

    With `letters_only`, signs and vowel marks are left out too: in a line that runs both ways
    they don't keep their place.
    """
    found: list[tuple[str, int]] = []
    gap = False
    for place, c in enumerate(plain):
        if unicodedata.category(c) == "Cf":
            continue
        if c.isspace() or (letters_only and not c.isalnum()):
            gap = True
            continue
        before = found[-1][0] if found else ""
        if gap and c.isdecimal() and (before.isdecimal() or before in {".", ","}):
            found.append((" ", place))
        gap = False
        found.extend((folded, place) for folded in c.casefold())
    kept = [
        (c, place)
        for n, (c, place) in enumerate(found)
        # A word may have been broken at its hyphen, or by one.
        if not (c == "-" and _letter(found, n - 1) and _letter(found, n + 1))
    ]
    return Squeezed("".join(c for c, _ in kept), tuple(place for _, place in kept))


def _letter(found: list[tuple[str, int]], n: int) -> bool:
    return 0 <= n < len(found) and found[n][0].isalpha()


def squeezed(text: str, *, letters_only: bool = False) -> str:
    """The squeezed text alone."""
    return squeeze(normal(text), letters_only=letters_only).text
