"""The pharmacy's own names of medicines, ``medicines.toml``: which of them hold.

``is`` names what labelkit knows, or says it in words after ``other:``. An entry can't give
a shipped name of a stop another meaning, and can't call something that may be a nitrate
nothing. One that breaks a rule is refused, and read as if it weren't there.
"""

from collections.abc import Iterator
from functools import lru_cache

from labelkit.ground.errors import Fault
from labelkit.records.model import MedicineName, Workspace
from labelkit.rules.identifying import Identified, OwnMeaning, OwnNames, identify, no_names
from labelkit.rules.places import At
from labelkit.rules.substances import in_any_group, is_stopped_for, key_of
from labelkit.rules.vocabulary import vocabulary

FILE = "medicines.toml"
OTHER = "other:"
LEAST_WORDS = 4
"""Least letters that say what something is, our own bound."""
SOURCE = "common practice, no source: a local name is what a named person says that it is"


class _SameTuple:
    """Names compared by identity: to hash them for each patient is slow."""

    def __init__(self, names: tuple[MedicineName, ...]) -> None:
        self.names = names

    def __hash__(self) -> int:
        return id(self.names)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _SameTuple) and other.names is self.names


def own_names(workspace: Workspace) -> OwnNames:
    """Those of the workspace's own names that hold."""
    names = workspace.medicine_names
    return _held(_SameTuple(names)) if names else no_names()


@lru_cache(maxsize=8)
def _held(same: _SameTuple) -> OwnNames:
    return OwnNames(
        {
            key_of(one.name): _meaning(one)
            for one in same.names
            if not tuple(_faults(one, same.names))
        }
    )


def judge_medicine_names(workspace: Workspace) -> tuple[Fault, ...]:
    """Every fault of the pharmacy's own names."""
    return tuple(
        fault
        for one in workspace.medicine_names
        for fault in _faults(one, workspace.medicine_names)
    )


def _meaning(one: MedicineName) -> OwnMeaning:
    said = _in_words(one)
    return ((), said) if said else (identify(one.is_).substances, "")


def _in_words(one: MedicineName) -> str:
    """What stands after ``other:``, empty where it isn't said that way."""
    is_ = one.is_.strip()
    return is_[len(OTHER) :].strip() if is_.casefold().startswith(OTHER) else ""


def _faults(one: MedicineName, names: tuple[MedicineName, ...]) -> Iterator[Fault]:
    key = key_of(one.name)
    same = {_meaning(other) for other in names if key_of(other.name) == key}
    if len(same) > 1:
        yield _fault(one, "name", "stands in the file with two meanings", "keep one", "twice")
    if not any(any(map(str.isalpha, word)) for word in key) or set(key) <= vocabulary().beside:
        yield _fault(one, "name", "is no name of a medicine", "write the name in full", "no-name")
        return
    yield from _wrong_meaning(one)
    yield from _remapped(one)


def _wrong_meaning(one: MedicineName) -> Iterator[Fault]:
    if one.is_.strip().casefold().startswith(OTHER):
        said = _in_words(one)
        read = identify(said)
        if read.possible_nitrates or any(map(is_stopped_for, read.substances)):
            yield _fault(
                one,
                "is",
                f"{said!r} may be a nitrate itself",
                "write which one by its INN, or the salt by its full name",
                "nitrate",
            )
        elif sum(map(str.isalpha, said)) < LEAST_WORDS:
            yield _fault(one, "is", "doesn't say what it is", f"say it after '{OTHER}'", "nothing")
    elif not _is_certain(identify(one.is_)):
        yield _fault(
            one,
            "is",
            f"{one.is_!r} isn't known for certain",
            f"write an INN that labelkit knows, or '{OTHER}' and what it is in words",
            "unknown",
        )


def _remapped(one: MedicineName) -> Iterator[Fault]:
    """A shipped name keeps its meaning where it is certain, or where a rule may stop for it."""
    shipped, means = identify(one.name), set(_meaning(one)[0])
    fixed = set(shipped.substances) if _is_certain(shipped) else set()
    fixed |= {inn for inn in shipped.substances if in_any_group(inn)}
    if not fixed <= means:
        yield _fault(
            one,
            "name",
            f"means {', '.join(sorted(fixed))} for labelkit, and {one.is_!r} here",
            "take the entry out: a shipped name can't be given another meaning",
            "remapped",
        )


def _is_certain(read: Identified) -> bool:
    return bool(read.substances) and not (
        read.unknown or read.unsure or read.possible_nitrates or read.denies
    )


def _fault(one: MedicineName, field: str, wrong: str, mend: str, rule: str) -> Fault:
    at = At(FILE, f"medicine {one.name!r}", one.name)
    return at.fault(
        field,
        f"{one.name!r} {wrong}" if field == "name" else wrong,
        mend,
        f"medicine-name.{rule}",
        SOURCE,
    )
