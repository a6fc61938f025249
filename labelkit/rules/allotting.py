"""Which lot each of many prescriptions draws on, so that as many as can be are filled whole.

Takes quantities and the lots that may serve each; knows no dates and no medicines. Earlier
prescriptions come before later ones: one that can't be served beside all those served
before it is left over. Lots are taken in the order given. Exact for the batches of a
pharmacy's day; a search that would never end stops after `MOST_TRIED` steps and leaves the
prescription over, which is the safe side.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

MOST_TRIED = 20_000
"""Steps of one search. Our own bound: a tenth of a second."""


@dataclass(frozen=True, slots=True)
class Want:
    """Tablets that one prescription needs from a single lot."""

    tablets: int
    lots: tuple[str, ...]
    """Numbers of the lots that may serve it, the one to be taken first in front."""


def allot(wants: Sequence[Want], usable: Mapping[str, int]) -> list[str | None]:
    """The lot of each want, None where it is left over.

    Where all can be served it is the first choice in the order of the lots: no want could
    have an earlier lot without another, before it, having a later one or none.
    """
    whole = _search(wants, usable)
    return list(whole) if whole is not None else _one_by_one(wants, usable)


def _one_by_one(wants: Sequence[Want], usable: Mapping[str, int]) -> list[str | None]:
    kept: list[int] = []
    chosen: list[str] = []
    left = dict(usable)
    refused: dict[tuple[str, ...], int] = {}
    for place, want in enumerate(wants):
        if want.tablets >= refused.get(want.lots, want.tablets + 1):
            continue  # fewer tablets from the same lots were refused, and nothing came back
        lot = next((lot for lot in want.lots if left[lot] >= want.tablets), None)
        if lot is not None:
            chosen.append(lot)
            left[lot] -= want.tablets
        else:
            found = _search([*(wants[k] for k in kept), want], usable)
            if found is None:
                refused[want.lots] = want.tablets
                continue
            chosen = found
            left = _left([*(wants[k] for k in kept), want], found, usable)
        kept.append(place)
    best = _search([wants[k] for k in kept], usable) or chosen
    by_place = dict(zip(kept, best, strict=True))
    return [by_place.get(place) for place in range(len(wants))]


def _left(
    wants: Sequence[Want], chosen: Sequence[str], usable: Mapping[str, int]
) -> dict[str, int]:
    left = dict(usable)
    for want, lot in zip(wants, chosen, strict=True):
        left[lot] -= want.tablets
    return left


def _search(wants: Sequence[Want], usable: Mapping[str, int]) -> list[str] | None:
    """The first choice that serves all, or None where there is none (or none was found).

    Wants with a single lot take theirs first, whatever their place: no choice can change it.
    """
    fixed = {place: want.lots[0] for place, want in enumerate(wants) if len(want.lots) == 1}
    left = _left([wants[place] for place in fixed], list(fixed.values()), usable)
    if any(tablets < 0 for tablets in left.values()):
        return None
    free = [want for place, want in enumerate(wants) if place not in fixed]
    reachable = {lot for want in free for lot in want.lots}
    if sum(want.tablets for want in free) > sum(left[lot] for lot in reachable):
        return None
    found = _depth_first(free, {lot: left[lot] for lot in left if lot in reachable})
    if found is None:
        return None
    rest = iter(found)
    return [fixed.get(place) or next(rest) for place in range(len(wants))]


def _depth_first(wants: Sequence[Want], left: dict[str, int]) -> list[str] | None:
    """Lots in their order for each want in its own, remembering what led nowhere."""
    dead: set[tuple[int, ...]] = set()
    chosen: list[str] = []
    tried = [0] * (len(wants) + 1)
    steps = len(wants) + MOST_TRIED
    while len(chosen) < len(wants):
        steps -= 1
        if steps < 0:
            return None
        place = len(chosen)
        want = wants[place]
        state = (place, *left.values())
        options = () if state in dead else want.lots[tried[place] :]
        step = next((n for n, lot in enumerate(options) if left[lot] >= want.tablets), None)
        if step is not None:
            lot = options[step]
            tried[place] += step + 1
            tried[place + 1] = 0
            left[lot] -= want.tablets
            chosen.append(lot)
            continue
        dead.add(state)
        if not chosen:
            return None
        lot = chosen.pop()
        left[lot] += wants[place - 1].tablets
    return chosen
