"""Medicines that an entry tells of without a name: ``metformin and a spray under the tongue``.

All its words may be explained as forms and joiners, and yet a second medicine is meant.
"""

from collections.abc import Iterator, Sequence

from labelkit.rules.vocabulary import Vocabulary

Piece = tuple[str, bool]
"""A word or sign of an entry, and whether it names something or isn't explained."""


def unnamed(pieces: Sequence[Piece], voc: Vocabulary) -> list[str]:
    """What follows a joiner and has a form, but neither a name nor a count before the form.

    ``2 tablets at night`` after a joiner is a dose of the medicine before it.
    """
    return [
        " ".join(text for text, _ in segment)
        for segment in list(_segments(pieces, voc))[1:]
        if not any(names for _, names in segment) and _has_own_form(segment, voc)
    ]


def _segments(pieces: Sequence[Piece], voc: Vocabulary) -> Iterator[list[Piece]]:
    """The pieces between joiners. A comma or slash between digits joins nothing."""
    segment: list[Piece] = []
    for place, (text, names) in enumerate(pieces):
        around = [pieces[n][0] for n in (place - 1, place + 1) if 0 <= n < len(pieces)]
        if text in voc.joiners and not names and not all(map(str.isdecimal, around)):
            yield segment
            segment = []
        else:
            segment.append((text, names))
    yield segment


def _has_own_form(segment: Sequence[Piece], voc: Vocabulary) -> bool:
    before = ""
    for text, _ in segment:
        if text in voc.own_forms and not (before.isdecimal() or before in voc.counts):
            return True
        before = text
    return False
