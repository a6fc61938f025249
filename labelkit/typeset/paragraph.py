"""A text in one language to runs: direction by UAX #9, script by UAX #24, face by script.

Refuses what would let a text show other than it reads: control characters, embeddings and
overrides; and characters that no packaged font has. What quotes a record is one isolate, so
that a name or a telephone number keeps its own order inside a sentence of any direction.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from babel import Locale
from bidi import get_display
from fontTools.unicodedata import script as script_of

from labelkit.ground.errors import ArtworkRefused, Fault
from labelkit.ground.quoting import Span, has_rtl, marked, parted
from labelkit.typeset.fonts import LATIN, absent, candidates, face
from labelkit.typeset.model import FaceKey
from labelkit.typeset.own_faces import OwnFace, shelf

INVISIBLE = frozenset("\u2066\u2067\u2068\u2069\u200e\u200f\u061c\u200b\u2060\ufeff\u00ad")
"""They steer direction and breaking; nothing of them is drawn or copied out."""

_JOINERS = frozenset("\u200c\u200d")
_FORBIDDEN = frozenset("\u202a\u202b\u202c\u202d\u202e")
_COMMON = ("Zyyy", "Zinh", "Zzzz")
_FACE_SCRIPT = {"Hani": "Hans", "Hang": "Kore", "Cyrl": LATIN, "Grek": LATIN}
_LANGUAGE_SCRIPT = {"ar": "Arab", "hi": "Deva", "zh": "Hani", "ko": "Hang"}
_RTL_SCRIPTS = frozenset({"Arab", "Hebr", "Syrc", "Thaa"})
_TOKEN = r"[0-9A-Za-zÀ-ɏµ°%](?:[0-9A-Za-zÀ-ɏµ°%]|[-.,:/'’&+‐](?=[0-9A-Za-zÀ-ɏµ°]))*"
_LATIN_STRETCH = re.compile(
    r"(?:\+?\(\d+\)[ \u00a0]|\+)?\d+(?:[- \u00a0]\d+){2,}"  # a telephone number in groups
    r"|\(\d+\)[ \u00a0]\d+(?:-\d+)*"
    rf"|{_TOKEN}"
)
_LEVEL = re.compile(r"Level\(\s*(\d+),?\s*\)")


@dataclass(frozen=True, slots=True)
class Paragraph:
    """The characters that are drawn, each with its level, script and face."""

    text: str
    language: str
    base: int
    """Paragraph level: 0 left to right, 1 right to left."""
    levels: tuple[int, ...]
    scripts: tuple[str, ...]
    faces: tuple[FaceKey, ...]


def named(character: str) -> str:
    """``U+202E RIGHT-TO-LEFT OVERRIDE``: how a refusal names a character."""
    return f"U+{ord(character):04X} {unicodedata.name(character, 'without a name')}"


def _refuse(character: str, text: str, wrong: str, mend: str) -> ArtworkRefused:
    return ArtworkRefused(
        [Fault("", "", "", f"{named(character)} in “{text.strip()[:60]}” {wrong}", mend)]
    )


def unshown(character: str, text: str, install: str = "") -> Fault:
    """The fault of a character that no font has; `install` says what would bring one, if any."""
    return Fault(
        "",
        "",
        "",
        f"{named(character)} in “{text.strip()[:60]}” is in no font: its script is "
        f"{script_of(character)}",
        install
        or "put an OpenType font that has it, with TrueType outlines (glyf), into the workspace's "
        "folder fonts, and name it in fonts.toml with its scripts, licence and SHA-256",
    )


@lru_cache(maxsize=64)
def is_rtl(language: str) -> bool:
    """Whether the language is written from right to left (CLDR's character order)."""
    return bool(Locale.parse(tag(language), sep="-").text_direction == "rtl")


def tag(language: str) -> str:
    """The language as a BCP 47 tag: gettext writes ``pt_BR`` for ``pt-BR``."""
    return language.replace("_", "-")


def visible(text: str) -> str:
    """The text without the characters that only steer direction and breaking."""
    return "".join(one for one in text if one not in INVISIBLE)


def spans(text: str, parts: tuple[str, ...]) -> list[tuple[int, int]]:
    """Where the parts stand in the text, longest first, without overlaps, in order."""
    found: list[tuple[int, int]] = []
    for part in sorted(filter(None, parts), key=len, reverse=True):
        for match in re.finditer(re.escape(part), text):
            start, end = match.span()
            if all(end <= a or b <= start for a, b in found):
                found.append((start, end))
    return sorted(found)


def isolates(text: str, quoted: tuple[Span, ...], rtl: bool) -> list[Span]:
    """Stretches that keep their own order: what quotes a record, each whole, and, in a
    right-to-left text, Latin words and numbers with what joins them, since ``25 mg`` shows as
    ``mg 25`` after an Arabic letter (UAX #9, rules W2 and N1).

    Neighbours are one stretch where only signs stand between two quotations, or a space beside
    a Latin word: a drug and its strength read as one in a right-to-left sentence. Stretches
    that hold right-to-left letters aren't joined: each is a name of its own.
    """
    found = list(quoted)
    for match in _LATIN_STRETCH.finditer(text) if rtl else ():
        start, end = match.span()
        if all(end <= a or b <= start for a, b in quoted):
            found.append((start, end))
    joined: list[Span] = []
    for start, end in sorted(found):
        if joined and not has_rtl(text[joined[-1][0] : end]):
            before, last = joined[-1]
            gap = text[last:start]
            both = (start, end) in quoted and any(b == last for _, b in quoted)
            if (both and all(map(_is_sign, gap))) or (
                gap.isspace() and any(map(str.isalpha, text[before:end]))
            ):
                joined[-1] = (before, end)
                continue
        joined.append((start, end))
    return joined


def _is_sign(character: str) -> bool:
    return (character.isascii() and not character.isalnum()) or character == "\u00a0"


def _levels(text: str, base: int, isolated: list[Span]) -> tuple[int, ...]:
    """Embedding levels of the visible characters; `isolated` stretches keep to themselves.

    A text without a right-to-left letter reads from the left in every language: a code's
    text, an address or a name in Latin letters would else come out word by word backwards.
    """
    if not has_rtl(text):
        return (0,) * len(visible(text))
    full = marked(text, isolated)
    levels = zip(full, levels_of(full, base), strict=True)
    return tuple(level for one, level in levels if one not in INVISIBLE)


def levels_of(text: str, base: int) -> tuple[int, ...]:
    """Resolved levels of one paragraph (UAX #9, 3.3), one per character.

    python-bidi gives the levels in its debug form, one per UTF-8 byte.
    """
    said = str(get_display(text, base_dir="R" if base else "L", debug=True))
    listed = said[said.rindex("    levels: [") : said.rindex("    paragraphs: [")]
    per_byte = [int(level) for level in _LEVEL.findall(listed)]
    levels: list[int] = []
    at = 0
    for one in text:
        levels.append(per_byte[at])
        at += len(one.encode())
    if at != len(per_byte):
        raise ValueError("the bidi library gave levels for another text")
    return tuple(levels)


_script = lru_cache(maxsize=20_000)(script_of)


def _scripts(text: str, language: str) -> tuple[str, ...]:
    """Script per character; common ones take the script before them, else the next."""
    own = [_script(one) for one in text]
    fallback = _LANGUAGE_SCRIPT.get(tag(language).split("-")[0], LATIN)
    current = next((one for one in own if one not in _COMMON), fallback)
    resolved: list[str] = []
    for one in own:
        current = current if one in _COMMON else one
        resolved.append(current)
    return tuple(resolved)


def _directed(
    text: str, scripts: tuple[str, ...], levels: tuple[int, ...], language: str
) -> tuple[str, ...]:
    """Common characters side with what they are set among: between Latin letters or digits,
    and in a left-to-right stretch of right-to-left text, they are Latin (a telephone number
    is one run); in a right-to-left stretch they are the language's."""
    own = _LANGUAGE_SCRIPT.get(tag(language).split("-")[0], LATIN)
    settled = list(scripts)
    for i, one in enumerate(text):
        if one.isascii() and one.isalnum():
            settled[i] = LATIN
            continue
        if one.isalnum() or _script(one) not in _COMMON:
            continue
        beside = text[max(0, i - 1) : i + 2]
        if len(beside) == 3 and beside[0].isascii() and beside[2].isascii():
            between = beside[0].isalnum() and beside[2].isalnum()
        else:
            between = False
        if between or (levels[i] % 2 == 0 and settled[i] in _RTL_SCRIPTS):
            settled[i] = LATIN
        elif levels[i] % 2 and settled[i] not in _RTL_SCRIPTS and own in _RTL_SCRIPTS:
            settled[i] = own
    return tuple(settled)


@lru_cache(maxsize=20_000)
def _face_for(
    character: str, script: str, family: str, weight: str, own: tuple[OwnFace, ...]
) -> FaceKey | None:
    """The first face that has the character, if any; ASCII always from the Latin face."""
    wanted = LATIN if character.isascii() and character.isalnum() else script
    for key in candidates(family, _FACE_SCRIPT.get(wanted, wanted), weight, own):
        known = face(key)
        if known.has(character) or (unicodedata.category(character) == "Zs" and known.has(" ")):
            return key
    return None


@lru_cache(maxsize=20_000)
def _category(character: str) -> str:
    """General category, with joiners as marks: they belong to the character before them."""
    return "Mn" if character in _JOINERS else unicodedata.category(character)


def _faces(text: str, scripts: tuple[str, ...], family: str, weight: str) -> tuple[FaceKey, ...]:
    """Face per character; marks and joiners stay with the character they belong to."""
    own = shelf()
    chosen: list[FaceKey] = []
    for one, script in zip(text, scripts, strict=True):
        if chosen and _category(one)[0] == "M":
            chosen.append(chosen[-1])
            continue
        found = _face_for(one, script, family, weight, own)
        if found is None:
            raise ArtworkRefused([unshown(one, text, absent(_FACE_SCRIPT.get(script, script)))])
        chosen.append(found)
    return tuple(chosen)


def paragraph(text: str, language: str, family: str, weight: str) -> Paragraph:
    """Itemise one paragraph (no line feed in it), marked where it quotes a record.

    Raises ArtworkRefused for a control character, an embedding or override, and for a
    character that no packaged font has.
    """
    for one in text:
        if one in _FORBIDDEN or _category(one) in ("Cc", "Cs", "Cn"):
            raise _refuse(
                one, text, "may not stand in a text to be printed", "take the character out"
            )
    language = tag(language)
    base = int(is_rtl(language))
    drawn = visible(text)
    bare, quoted = parted(text)
    levels = _levels(bare, base, isolates(bare, quoted, bool(base)))
    scripts = _directed(drawn, _scripts(drawn, language), levels, language)
    return Paragraph(
        drawn,
        language,
        base,
        levels,
        scripts,
        _faces(drawn, scripts, family, weight),
    )
