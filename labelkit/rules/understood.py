"""Entries of a patient's list that weren't understood to their last character: each asks."""

import re
from collections.abc import Iterator, Sequence

from labelkit.ground.errors import Fault
from labelkit.rules.identifying import Identified
from labelkit.rules.near_names import spoken
from labelkit.rules.places import At

FIELD = "medicine"
NAME_SOURCE = "common practice, no source: a name that isn't understood can't be checked"
NITRATE_SOURCE = "US sildenafil label, section 7: organic nitrates or nitrites in any form"
SAY_WHAT = (
    "ask what it is, and write its INN; a local name can be said in medicines.toml "
    "(name, is, by, licence, on)"
)


def not_understood(one: Identified, at: At) -> Iterator[Fault]:
    """A fault for each word of an entry that isn't known for certain."""
    for word in one.possible_nitrates:
        yield at.fault(
            FIELD,
            f"{one.written!r} may be a nitrate or nitrite: {word!r} isn't known",
            f"{SAY_WHAT}; no decision passes it",
            "asked.possible-nitrate",
            NITRATE_SOURCE,
        )
    for guess in one.unsure:
        yield at.fault(
            FIELD,
            f"{one.written!r} isn't known for certain: it may be {spoken(guess.inn, guess.name)}",
            SAY_WHAT,
            f"conflict.spelling.{_slug(guess.written)}",
            NAME_SOURCE,
        )
    for word in one.unknown:
        if one.near:
            yield at.fault(
                FIELD,
                f"{one.written!r} isn't known; it may be {' or '.join(one.near)}",
                SAY_WHAT,
                f"conflict.spelling.{_slug(word)}",
                NAME_SOURCE,
            )
        else:
            yield at.fault(
                FIELD,
                f"{one.written!r} isn't known: {word!r} is in no list",
                f"{SAY_WHAT}; a brand name isn't looked up",
                f"conflict.unknown.{_slug(word)}",
                NAME_SOURCE,
            )


def only_denied(said: Sequence[Identified], at: At) -> Iterator[Fault]:
    """A fault where all that was written down is what the patient doesn't take."""
    if said and all(one.denies for one in said):
        yield at.fault(
            FIELD,
            f"{said[0].written!r} says what isn't taken, and nothing says what is",
            "ask about all medicines; 'none' is an answer",
            "asked.only-denied",
            NAME_SOURCE,
        )


def _slug(word: str) -> str:
    """The word as part of a rule's id: letters of any script, since each word asks for itself."""
    slug = re.sub(r"\s+", "-", word.casefold().strip())
    return slug or "empty"
