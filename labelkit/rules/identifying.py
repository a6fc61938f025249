"""What one entry of a patient's list of medicines says, read to its last character.

Every character belongs to a known name, a strength, a form or a joining word, or it is left
over, and the entry is asked about. A guess is a question, never an answer: a name that only
memory has, or that is spelt otherwise, is stopped for where it can be, and asked about too.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache

from labelkit.rules.near_names import near_names, phrases
from labelkit.rules.spelling import Kind, Part, is_run, parts, skeleton
from labelkit.rules.substances import (
    Key,
    Meaning,
    bare,
    by_stem,
    in_group,
    is_sign,
    is_stopped_for,
    known,
)
from labelkit.rules.unnamed import unnamed
from labelkit.rules.vocabulary import CLASS_WORDS, Vocabulary, pieces, spelt, vocabulary

_PREFIXES = ("و", "وال", "بال", "لل", "ب")
"""Arabic words that are written together with the next one: and, the, with."""
_PREFIX_LETTERS = frozenset(prefix[0] for prefix in _PREFIXES)
_COLONS = frozenset(":：")


OwnMeaning = tuple[tuple[str, ...], str]
"""The INNs that a pharmacy's own name means, or the words that say what it is."""


@dataclass(frozen=True, slots=True)
class Unsure:
    """Words that were read as an INN by a name from memory or by another spelling."""

    written: str
    inn: str
    name: str
    """The known name that it is, or is spelt like."""


@dataclass(frozen=True, slots=True)
class Identified:
    """What one entry was read as."""

    written: str
    substances: tuple[str, ...]
    """INNs that were recognised, each once, those by an unsure name too."""
    unknown: tuple[str, ...] = ()
    """Words that no list explains."""
    near: tuple[str, ...] = ()
    """Known names, each with its INN, that an unknown word may be a misspelling of."""
    unsure: tuple[Unsure, ...] = ()
    possible_nitrates: tuple[str, ...] = ()
    """Words that may be a nitrate or nitrite: only saying what it is resolves them."""
    denies: bool = False
    """Whether all it says is that no nitrate is taken."""
    said: tuple[str, ...] = ()
    """What the pharmacy said in words that a name is, where it is no substance of the lists."""


class OwnNames:
    """The pharmacy's own names. Compared by identity, so that entries can be remembered."""

    def __init__(self, meanings: Mapping[Key, OwnMeaning]) -> None:
        self.meanings = meanings
        self.longest = max(map(len, meanings), default=0)
        own_runs = {
            "".join(key): meaning for key, meaning in meanings.items() if all(map(is_run, key))
        }
        self.of_runs: Mapping[str, OwnMeaning] = own_runs
        self.in_runs = vocabulary().runs | own_runs.keys()
        self.longest_run = max(map(len, self.in_runs))


@cache
def no_names() -> OwnNames:
    """Of a pharmacy that has none."""
    return OwnNames({})


@dataclass(slots=True)
class _Word:
    """One part that counts, with its place in the joined text."""

    text: str
    kind: Kind
    start: int
    end: int


@dataclass(slots=True)
class _Reading:
    """What has been found so far."""

    substances: list[str] = field(default_factory=list)
    classes: list[tuple[int, int, str]] = field(default_factory=list)
    """Class words: place and number of parts, and which class."""
    unsure: list[Unsure] = field(default_factory=list)
    left: list[tuple[int, str]] = field(default_factory=list)
    """What nothing explains, with its place among the parts."""
    spans: list[tuple[int, int]] = field(default_factory=list)
    """Places of recognised names in the joined text."""
    said: list[str] = field(default_factory=list)
    named: set[int] = field(default_factory=set)
    """Places of parts that are names or salts, or have one within."""
    whole: set[int] = field(default_factory=set)
    """Places of parts that belong to a name as they stand."""


def identify(written: str, own: OwnNames | None = None) -> Identified:
    """Read one entry: longest known names first, from left to right."""
    return _identify(written, own or no_names())


@lru_cache(maxsize=65536)
def _identify(written: str, own: OwnNames) -> Identified:
    voc = vocabulary()
    found, text = _words(written, voc)
    if _denies(found, voc):
        return Identified(written, (), denies=True)
    reading = _Reading()
    _read(found, reading, voc, own)
    if reading.left or any(word.kind is Kind.RUN for word in found):
        _look_inside(text, reading, voc)
    return _concluded(written, found, reading, voc)


def _words(written: str, voc: Vocabulary) -> tuple[list[_Word], str]:
    """The parts that are compared, runs of one script joined, and the text of them all."""
    found: list[_Word] = []
    text = ""
    for part in parts(written):
        if is_sign(part.text, part.kind):
            continue
        word = _unprefixed(part, voc)
        joins = part.kind is Kind.RUN and found and found[-1].kind is Kind.RUN
        if joins:
            found[-1].text += word
            text += word
            found[-1].end = len(text)
            continue
        text += (" " if text else "") + word
        found.append(_Word(word, part.kind, len(text) - len(word), len(text)))
    return found, text


def _unprefixed(part: Part, voc: Vocabulary) -> str:
    word = bare(part.text)
    if part.text[0] in _PREFIX_LETTERS and not _explained(word, voc):
        for prefix in _PREFIXES:
            rest = bare(part.text.removeprefix(prefix))
            if part.text.startswith(prefix) and len(rest) > 3 and _explained(rest, voc):
                return rest
    return word


def _explained(word: str, voc: Vocabulary) -> bool:
    return (word,) in known() or word in voc.beside


def _denies(found: list[_Word], voc: Vocabulary) -> bool:
    """Whether one denial, a nitrate's or the class's name and fillers are the whole entry.

    ``No, nitrates`` isn't one: the comma may part an answer from a medicine. In ``nitrates:
    none`` the colon stands before the answer.
    """
    texts = _cut(found)
    denials = [place for place, text in enumerate(texts) if text in voc.denials]
    if len(denials) != 1:
        return False
    before = [text for text in texts[: denials[0]] if text not in _COLONS]
    return _names_nitrates([*before, *texts[denials[0] + 1 :]], voc)


def _cut(found: list[_Word]) -> list[str]:
    """The texts of the parts, runs cut into the words that are in them."""
    own = no_names()
    return [
        text
        for word in found
        for text in (
            [piece for _, piece, _ in pieces(word.text, own.in_runs, own.longest_run)]
            if word.kind is Kind.RUN
            else [word.text]
        )
    ]


def _names_nitrates(texts: list[str], voc: Vocabulary) -> bool:
    """Whether the words name what is always stopped for, and beside it are fillers alone."""
    named, at = False, 0
    while at < len(texts):
        key = _longest(texts, at, voc.longest)
        if key and is_stopped_for(known()[key].inn):
            named, at = True, at + len(key)
        elif texts[at] in voc.fillers or texts[at] in voc.beside:
            at += 1
        else:
            return False
    return named


def _longest(texts: list[str], at: int, most: int) -> Key:
    """The longest known name that begins there, or ()."""
    for size in range(min(most, len(texts) - at), 0, -1):
        key = tuple(texts[at : at + size])
        if key in known():
            return key
    return ()


def _read(found: list[_Word], reading: _Reading, voc: Vocabulary, own: OwnNames) -> None:
    texts = [word.text for word in found]
    at = 0
    while at < len(found):
        size = _name(texts, at, reading, voc, own)
        if not size:
            size = _other(found, texts, at, reading, voc, own)
        if size:
            reading.spans.append((found[at].start, found[at + size - 1].end))
            reading.named.update(range(at, at + size))
            reading.whole.update(range(at, at + size))
        at += max(size, 1)


def _name(texts: list[str], at: int, reading: _Reading, voc: Vocabulary, own: OwnNames) -> int:
    """Parts of the known name that begins there, 0 where none does.

    The pharmacy's own goes before a shipped one only where both are as long.
    """
    key = _longest(texts, at, voc.longest)
    for size in range(min(own.longest, len(texts) - at), max(len(key), 1) - 1, -1):
        meaning = own.meanings.get(tuple(texts[at : at + size]))
        if meaning is not None:
            _take_own(meaning, reading)
            return size
    if key:
        _take(known()[key], " ".join(key), at, reading)
    return len(key)


def _other(
    found: list[_Word],
    texts: list[str],
    at: int,
    reading: _Reading,
    voc: Vocabulary,
    own: OwnNames,
) -> int:
    """Parts of another spelling that begins there; else 0, and what isn't explained is left."""
    word = found[at]
    if word.kind is Kind.WORD:
        return _spelling(texts, at, reading, voc)
    if word.kind is Kind.RUN:
        _run(word, at, reading, voc, own)
    elif word.kind is Kind.STRANGE:
        reading.left.append((at, word.text))
    return 0


def _take_own(meaning: OwnMeaning, reading: _Reading) -> None:
    inns, said = meaning
    reading.substances.extend(inns)
    if said:
        reading.said.append(said)


def _take(meaning: Meaning, written: str, at: int, reading: _Reading, name: str = "") -> None:
    if meaning.inn in CLASS_WORDS:
        reading.classes.append((at, len(written.split()), meaning.inn))
        return
    reading.substances.append(meaning.inn)
    if not meaning.sure:
        reading.unsure.append(Unsure(written, meaning.inn, name or meaning.inn))


def _spelling(texts: list[str], at: int, reading: _Reading, voc: Vocabulary) -> int:
    """Parts of a name that are a word beside it (0), another spelling, a compound, or unknown."""
    word = texts[at]
    if word in voc.beside:
        if word in voc.salts:
            reading.named.add(at)
        return 0
    bones: list[str] = []
    for text in texts[at : at + voc.longest]:
        bone = skeleton(text)
        if not bone or (bones and text in voc.beside):
            break
        bones.append(bone)
    for size in range(len(bones), 0, -1):
        one = spelt().get(tuple(bones[:size]))
        if one is not None:
            meaning, name = Meaning(one.inn, False), one.name
            _take(meaning, " ".join(texts[at : at + size]), at, reading, name)
            return size
    if by_stem(word):
        reading.substances.append(word)
        return 1
    for form in voc.forms:
        if word.endswith(form) and (word.removesuffix(form),) in known():
            _take(known()[(word.removesuffix(form),)], word, at, reading)
            return 1
    reading.left.append((at, word))
    return 0


def _run(word: _Word, at: int, reading: _Reading, voc: Vocabulary, own: OwnNames) -> None:
    """Names and words within a run, from left to right; what lies between is left over."""
    for place, text, is_word in pieces(word.text, own.in_runs, own.longest_run):
        meaning = (known().get((text,)) or _spaced(text)) if is_word else None
        if text in own.of_runs:
            _take_own(own.of_runs[text], reading)
            reading.named.add(at)
        elif meaning is not None:
            _take(meaning, text, at, reading)
            reading.spans.append((word.start + place, word.start + place + len(text)))
            reading.named.add(at)
        elif text not in voc.beside:
            reading.left.append((at, text))


@lru_cache(maxsize=4096)
def _spaced(run: str) -> Meaning | None:
    """A name that its list writes with a space, found without it."""
    return next((m for key, m in known().items() if len(key) > 1 and "".join(key) == run), None)


def _look_inside(text: str, reading: _Reading, voc: Vocabulary) -> None:
    """Names that are stopped for, wherever else in the text they stand."""
    for name in voc.hidden:
        start = text.find(name)
        while start >= 0:
            if not any(a <= start and start + len(name) <= b for a, b in reading.spans):
                meaning = known().get(tuple(name.split())) or _spaced(name)
                if meaning is not None and meaning.inn not in reading.substances:
                    reading.substances.append(meaning.inn)
                    reading.unsure.append(Unsure(name, meaning.inn, meaning.inn))
            start = text.find(name, start + 1)


def _concluded(written: str, found: list[_Word], reading: _Reading, voc: Vocabulary) -> Identified:
    classes, possible, within = _classes(found, reading)
    left = [text for at, text in reading.left if at not in within]
    possible += [text for text in left if voc.nitrate_like.search(text)]
    unknown = [text for text in left if text not in possible]
    if reading.named:
        unknown += unnamed(_pieces(found, reading, voc), voc)
    substances = [*reading.substances, *classes]
    substances = [s for s in substances if s not in voc.salts] or substances
    if not (substances or unknown or possible or reading.said):
        unknown = [written]
    near: dict[str, None] = {}
    for text, words in phrases([one for one in reading.left if one[1] in unknown]):
        if any(in_group(inn, "nitrates") for inn, _ in near_names(text)):
            possible.append(text)
            unknown = [word for word in unknown if word not in words]
        else:
            near.update((name, None) for _, name in near_names(text))
    for text in possible:
        near.update((name, None) for inn, name in near_names(text) if in_group(inn, "nitrates"))
    return Identified(
        written=written,
        substances=tuple(dict.fromkeys(substances)),
        unknown=tuple(unknown),
        near=tuple(near),
        unsure=tuple(dict.fromkeys(reading.unsure)),
        possible_nitrates=tuple(dict.fromkeys(possible)),
        said=tuple(dict.fromkeys(reading.said)),
    )


def _pieces(found: list[_Word], reading: _Reading, voc: Vocabulary) -> list[tuple[str, bool]]:
    """Each word of the entry, runs cut, and whether it is a name or isn't explained."""
    places = reading.named | {place for place, _ in reading.left}
    own = no_names()
    cut: list[tuple[str, bool]] = []
    for place, word in enumerate(found):
        if word.kind is Kind.RUN and place not in reading.whole:
            for _, text, _ in pieces(word.text, own.in_runs, own.longest_run):
                cut.append((text, text not in voc.beside))
        else:
            cut.append((word.text, place in places))
    return cut


def _classes(found: list[_Word], reading: _Reading) -> tuple[list[str], list[str], frozenset[int]]:
    """Class words that stand alone, as what they mean; the others with what is beside them.

    ``Calcium nitrate`` and ``azotan srebra`` name something else than the class. The places
    of what was said with a class word come third.
    """
    alone: list[str] = []
    beside: list[str] = []
    within: set[int] = set()
    others = reading.named | {place for place, _ in reading.left}
    for at, size, inn in reading.classes:
        first, last = at, at + size - 1
        while first - 1 in others:
            first -= 1
        while last + 1 in others:
            last += 1
        if (first, last) == (at, at + size - 1) and at not in {p for p, _ in reading.left}:
            alone.append(inn)
        else:
            beside.append(" ".join(word.text for word in found[first : last + 1]))
            within.update(range(first, last + 1))
    return alone, beside, frozenset(within)
