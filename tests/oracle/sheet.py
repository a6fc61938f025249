"""One page's text, and what of it has been accounted for."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from printed import Squeezed, normal, squeeze


@dataclass
class Sheet:
    """A page. Whatever the oracle understands, it claims; a figure left over is a finding."""

    number: int
    text: str
    whole: Squeezed
    letters: Squeezed
    claimed: bytearray = field(repr=False)

    @classmethod
    def of(cls, number: int, text: str) -> "Sheet":
        """The page with that number and text."""
        plain = normal(text)
        return cls(
            number,
            plain,
            squeeze(plain),
            squeeze(plain, letters_only=True),
            bytearray(len(plain)),
        )

    def claim(self, pattern: re.Pattern[str], *, bare: bool) -> Iterator[re.Match[str]]:
        """What matches where nothing is claimed yet, each claimed as it is given."""
        view = self.letters if bare else self.whole
        start = 0
        while match := pattern.search(view.text, start):
            first, last = match.span()
            if first == last or any(self.claimed[p] for p in view.places[first:last]):
                start = first + 1
                continue
            begin, end = view.places[first], view.places[last - 1] + 1
            self.claimed[begin:end] = b"\1" * (end - begin)
            start = last
            yield match

    def place(self, match: re.Match[str], *, bare: bool) -> int:
        """Where in the page's text a match begins."""
        return (self.letters if bare else self.whole).places[match.start()]

    def unexplained(self) -> Iterator[str]:
        """Each figure that nothing claimed, with the words about it."""
        for match in re.finditer(r"\d+", self.text):
            if not all(self.claimed[match.start() : match.end()]):
                around = self.text[max(0, match.start() - 25) : match.end() + 25]
                yield f"unexplained number {match[0]} in “{' '.join(around.split())}”"
