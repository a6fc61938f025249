"""Pours chunks into a chain of areas, in order: a panel, the next panel, the next page.

Drops nothing and changes no order. A heading stays with what follows it. What the chain
can't hold is measured, not cut.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from labelkit.artwork.chunks import Chunk, at
from labelkit.artwork.page import Item
from labelkit.ground.box import SLACK_MM, Box


@dataclass(frozen=True, slots=True)
class Poured:
    """Every chunk has its place: the items of each area of the chain, in order."""

    areas: tuple[tuple[Item, ...], ...]


@dataclass(frozen=True, slots=True)
class Overflow:
    """The chain is too short: height of what found no place, and the tallest undivided part."""

    over_mm: float
    tallest_mm: float


def pour(chunks: Sequence[Chunk], boxes: Sequence[Box]) -> Poured | Overflow:
    """All chunks in the chain, or by how much they are over."""
    queue = deque(chunks)
    areas = [_fill(queue, box) for box in boxes]
    if queue:
        over_mm = sum(chunk.before_mm + chunk.height_mm for chunk in queue)
        return Overflow(over_mm, max(chunk.least_mm for chunk in queue))
    return Poured(tuple(areas))


def _fill(queue: deque[Chunk], box: Box) -> tuple[Item, ...]:
    """Take from the queue what fits one area."""
    items: list[Item] = []
    y_mm = 0.0
    promised = False  # the chunk before stands here because this one does
    while queue:
        chunk = queue[0]
        top_mm = y_mm + (chunk.before_mm if items else 0.0)
        room_mm = box.h_mm - top_mm + SLACK_MM
        here, rest = chunk, None
        if chunk.height_mm > room_mm or _needed(queue, box.h_mm) > room_mm:
            parts = chunk.divided(min(room_mm, chunk.height_mm - SLACK_MM))
            if parts is not None:
                here, rest = parts
            elif chunk.height_mm > room_mm or (items and not promised):
                break
        queue.popleft()
        items.extend(at(here, box, top_mm))
        y_mm = top_mm + here.height_mm
        if rest is not None:
            queue.appendleft(rest)
            break
        promised = chunk.keep_next and not promised
    return tuple(items)


def _needed(queue: deque[Chunk], height_mm: float) -> float:
    """Room that the next chunk asks for: its own least part, or, where it keeps with the next,
    the whole run it keeps with and the least part of that run's end. Where no area of that
    height holds the run and it doesn't begin with a text (a long table), its first two parts.
    """
    run_mm = two_mm = 0.0
    for index, chunk in enumerate(queue):
        run_mm += chunk.before_mm if index else 0.0
        least_mm = run_mm + chunk.least_mm
        two_mm = least_mm if index < 2 else two_mm
        run_mm += chunk.height_mm
        if not chunk.keep_next:
            run_mm = least_mm
            break
    return run_mm if run_mm <= height_mm or queue[0].divisible else two_mm
