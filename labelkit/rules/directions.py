"""Reads short directions as prescribers write them; guesses nothing.

``1 tab SL PRN 30 min before activity, max 1/24 h`` becomes a structured `Directions`, which
wording says back as a plain sentence for a person to confirm. The first word that no line
of ``shorthand.toml`` explains is marked and refused; so is anything missing, said twice, or
on the list of error-prone abbreviations. What follows by arithmetic from what was written
is named in `Reading.implied`.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from labelkit.ground.errors import RuleRefused
from labelkit.records.model import Directions, Preparation, Route
from labelkit.rules.amounts import plain
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.places import At
from labelkit.rules.printable import error_prone
from labelkit.rules.times import times_of

GRAMMAR_SOURCE = "common practice, no source: a word that isn't understood isn't guessed"

_TOKEN = re.compile(r"\d+(?:\.\d+)?|[^\W\d_]+(?:-[^\W\d_]+)*|[^\w\s]")
_NUMBER = re.compile(r"\d{1,4}(?:\.\d{1,4})?")
"""Tablets, hours or minutes: a longer number is a slip, and isn't understood."""

_BY_TIMES = frozenset({"the most in 24 hours", "the least hours between doses"})
"""What may follow from the times: not asked for while these aren't understood."""

_INITIALS = re.compile(r"\b(?:[a-z]\.){2,}", re.I)


class Phrase(Datum):
    """What some ways of writing mean."""

    gives: str
    patterns: tuple[str, ...]


class Shorthand(Datum):
    """The whole grammar."""

    source: Source
    noise: frozenset[str]
    numbers: Mapping[str, str]
    phrases: tuple[Phrase, ...]
    whens: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read, and what followed from it without being written."""

    written: str
    directions: Directions
    implied: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Token:
    text: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class _Meaning:
    kind: str
    value: str
    token: _Token


@cache
def shorthand() -> Shorthand:
    """The shipped grammar."""
    return Shorthand.model_validate(load("shorthand.toml"))


@cache
def _patterns() -> tuple[tuple[tuple[str, ...], str], ...]:
    """Words of each pattern with what it gives, longest first."""
    listed = [
        (tuple(pattern.split()), phrase.gives)
        for phrase in shorthand().phrases
        for pattern in phrase.patterns
    ]
    return tuple(sorted(listed, key=lambda entry: -len(entry[0])))


def read_directions(written: str, preparation: Preparation, at: At | None = None) -> Reading:
    """The structured directions. Raises RuleRefused with the first word not understood."""
    at = at or At("directions", "", "")
    meanings = _read(written, at)
    said: dict[str, _Meaning] = {}
    whens: list[str] = []
    for meaning in meanings:
        if meaning.kind == "when":
            whens.append(meaning.value)
        elif meaning.kind in said:
            raise _refused(at, written, meaning.token, f"says {meaning.kind} a second time")
        else:
            said[meaning.kind] = meaning
    return _complete(written, preparation, {k: m.value for k, m in said.items()}, whens, at)


def _tokens(written: str) -> list[_Token]:
    text = _INITIALS.sub(lambda m: m[0].replace(".", "").ljust(len(m[0])), written.lower())
    return [_Token(m[0].replace("–", "-"), m.start(), m.end()) for m in _TOKEN.finditer(text)]


def _read(written: str, at: At) -> list[_Meaning]:
    tokens = _tokens(written)
    meanings: list[_Meaning] = []
    place = 0
    while place < len(tokens):
        token = tokens[place]
        _refuse_error_prone(written, token, at)
        found = _match(tokens[place:])
        if found is not None:
            length, gives = found
            kind, _, value = gives.partition(":")
            meanings.append(_Meaning(kind, value, token))
            place += length
        elif token.text in shorthand().noise or token.text in {",", ";", "."}:
            place += 1
        else:
            raise _refused(at, written, token, "isn't understood")
    return meanings


def _match(tokens: Sequence[_Token]) -> tuple[int, str] | None:
    for pattern, gives in _patterns():
        if len(pattern) > len(tokens):
            continue
        numbers = _numbers(pattern, tokens)
        if numbers is not None:
            if ":" not in gives:
                gives = f"{gives}:{numbers['n']}"
            return len(pattern), gives.format(**numbers)
    return None


def _numbers(pattern: Sequence[str], tokens: Sequence[_Token]) -> dict[str, str] | None:
    """Numbers of the pattern's places where it fits the tokens, else None."""
    found: dict[str, str] = {}
    for want, token in zip(pattern, tokens, strict=False):
        number = shorthand().numbers.get(token.text, token.text)
        if want in {"{n}", "{m}"}:
            if not _NUMBER.fullmatch(number):
                return None
            found[want[1]] = f"{Decimal(number).normalize():f}"
        elif want.startswith("{"):
            if number != shorthand().numbers[want[1:-1]]:
                return None
        elif want != token.text:
            return None
    return found


def _refuse_error_prone(written: str, token: _Token, at: At) -> None:
    raw = re.match(r"[\w./]+", written[token.start :])
    spelt = raw[0].rstrip(".") if raw else token.text
    for word in error_prone().words:
        spellings = {w.casefold().rstrip(".") for w in word.written}
        if not word.printed_only and spelt.casefold() in spellings:
            whole = _Token(spelt, token.start, token.start + len(spelt))
            raise _refused(
                at, written, whole, f"is misread ({word.source})", f"write {word.write!r}"
            )


def _complete(
    written: str,
    preparation: Preparation,
    said: Mapping[str, str],
    whens: Sequence[str],
    at: At,
) -> Reading:
    implied: dict[str, str] = {}
    key = " ".join(sorted(whens))
    dose = Decimal(said["dose"]) if "dose" in said else None
    every = next((Decimal(w[6:]) for w in whens if re.fullmatch(r"every-\d+", w)), None)
    when = shorthand().whens.get(key)
    most = Decimal(said["max"]) if "max" in said else _implied_most(dose, when)
    if most is not None and "max" not in said:
        implied["most_in_24_h"] = f"at most {plain(most)} in 24 hours"
    interval = Decimal(said["interval"]) if "interval" in said else every
    if interval is None and dose is not None and dose == most:
        interval = Decimal(24)
        implied["least_interval_h"] = "at least 24 hours apart, since one dose is all of a day's"
    reason = said.get("reason")
    if reason is None and len(preparation.uses) == 1:
        reason = preparation.uses[0]
        implied["reason"] = f"for {reason}, the only use of {preparation.id}"
    missing = {
        "the number of tablets": dose,
        "the route": said.get("route"),
        "when to take it": when,
        "what it is for": reason,
        "the most in 24 hours": most,
        "the least hours between doses": interval,
    }
    faults = [
        at.fault(
            "directions",
            f"{written!r} doesn't say {what}" + (f" ({key} isn't one time)" if whens else "")
            if what == "when to take it"
            else f"{written!r} doesn't say {what}",
            "write it out",
            "directions.missing",
            GRAMMAR_SOURCE,
        )
        for what, value in missing.items()
        if value is None and not (what in _BY_TIMES and whens and when is None)
    ]
    if faults or dose is None or most is None or interval is None or not reason or not when:
        raise RuleRefused(faults)
    directions = Directions(
        tablets_per_dose=dose,
        route=Route(said["route"]),
        when=when,
        reason=reason,
        least_interval_h=interval,
        most_in_24_h=most,
    )
    return Reading(written, directions, tuple(implied.values()))


def _implied_most(dose: Decimal | None, when: str | None) -> Decimal | None:
    """Tablets in 24 hours, where the times of day leave no choice."""
    times = times_of(when or "")
    if dose is None or times.doses is None or times.days > 1:
        return None
    return dose * times.doses


def _refused(at: At, written: str, token: _Token, wrong: str, mend: str = "") -> RuleRefused:
    marked = f"{written[: token.start]}[{written[token.start : token.end]}]{written[token.end :]}"
    fault = at.fault(
        "directions",
        f"in {marked!r} the marked word {wrong}",
        mend or "write the directions in full, or correct the word",
        "directions.word",
        GRAMMAR_SOURCE,
    )
    return RuleRefused([fault])
