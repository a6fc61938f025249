"""Many harms, each checked: how many of each kind were done and how many were caught."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import kinds_build
import kinds_codes
import kinds_drawn
import kinds_file
import kinds_letters
import kinds_pages
import kinds_paint
import kinds_places
import kinds_remains
import kinds_scans
import kinds_sight
import kinds_tags
import kinds_unasked
import kinds_words
from benign import BENIGN
from injecting import KINDS, Kind, Released, Work, injected, opened

from labelkit.checks.reading_back import check
from labelkit.ground.errors import CheckRefused

MODULES = (
    kinds_words,
    kinds_letters,
    kinds_places,
    kinds_unasked,
    kinds_sight,
    kinds_paint,
    kinds_drawn,
    kinds_codes,
    kinds_scans,
    kinds_pages,
    kinds_file,
    kinds_build,
    kinds_tags,
    kinds_remains,
)
"""In the order of the table; importing them registers their kinds."""


@dataclass
class Result:
    """What became of one kind."""

    kind: str
    says: str
    injected: int = 0
    caught: int = 0
    found_as: Counter[str] = field(default_factory=Counter)
    """Kinds of findings by which it was caught."""
    missed: list[str] = field(default_factory=list)
    """File and place of each harm that passed the check, and of each crash of the check."""


def spread(found: Sequence[tuple[int, int]], many: int) -> list[tuple[int, int]]:
    """At most so many (file, place) pairs, spread evenly over all."""
    if len(found) <= many:
        return list(found)
    if many == 1:
        return [found[len(found) // 2]]
    return [found[round(i * (len(found) - 1) / (many - 1))] for i in range(many)]


def chosen(which: Kind, files: Sequence[Released], many: int) -> list[tuple[int, int]]:
    """Places of a kind, spread over the files first, then within each."""
    counts = [len(which.find(looked_at(file, files))) for file in files]
    by_file = [[(n, place) for place in range(count)] for n, count in enumerate(counts) if count]
    each = -(-many // max(1, len(by_file)))
    return spread([pair for pairs in by_file for pair in spread(pairs, each)], many)


def looked_at(file: Released, files: Sequence[Released]) -> Work:
    """The file opened for looking, with the batch around it."""
    work = opened(file)
    work.others = tuple(other for other in files if other is not file)
    return work


def tried(which: Kind, files: Sequence[Released], pairs: Sequence[tuple[int, int]]) -> Result:
    """Do each harm and check each file."""
    result = Result(which.name, which.says)
    for number, place in pairs:
        file = files[number]
        result.injected += 1
        where = f"{file.name} {place}"
        try:
            report = check(injected(which, file, place, files), file.manifest)
        except CheckRefused:
            result.caught += 1
            result.found_as["refused"] += 1
            continue
        except Exception as crash:
            result.missed.append(f"{where}: the check crashed: {crash!r}")
            continue
        if report.ok:
            result.missed.append(where)
        else:
            result.caught += 1
            result.found_as.update({finding.kind for finding in report.findings})
    return result


def alarms(files: Sequence[Released]) -> list[str]:
    """Undamaged files the check refuses: each is a false alarm."""
    raised = []
    for file in files:
        for name, rewrite in BENIGN.items():
            report = check(rewrite(file), file.manifest)
            if not report.ok:
                first = report.findings[0]
                raised.append(f"{file.name}, {name}: {first.kind}: {first.sentence}")
    return raised


def ordered() -> tuple[Kind, ...]:
    """All kinds, in the order of their modules."""
    places = {module.__name__: place for place, module in enumerate(MODULES)}
    return tuple(sorted(KINDS.values(), key=lambda one: places[one.module]))
