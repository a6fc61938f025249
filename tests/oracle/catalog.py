"""Catalogs read as data: each statement's translations, turned into patterns for squeezed text.

A number's own form is checked with plural rules of the oracle's own.
Source: Unicode CLDR, supplemental/plurals (release 46), cardinal rules for whole numbers.
"""

import ast
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from dates import date_pattern
from printed import RIGHT_TO_LEFT, squeezed

_SLAVIC_FEW = frozenset({2, 3, 4})


def _arabic(n: int) -> int:
    if n < 3:
        return n
    return 3 if 3 <= n % 100 <= 10 else 4 if n % 100 >= 11 else 5


def _polish(n: int) -> int:
    few = n % 10 in _SLAVIC_FEW and n % 100 - n % 10 != 10
    return 0 if n == 1 else 1 if few else 2


def _russian(n: int) -> int:
    few = n % 10 in _SLAVIC_FEW and n % 100 - n % 10 != 10
    return 0 if n % 10 == 1 and n % 100 != 11 else 1 if few else 2


PLURALS: Mapping[str, Callable[[int], int]] = {
    "en": lambda n: int(n != 1),
    "es": lambda n: int(n != 1),
    "de": lambda n: int(n != 1),
    "fr": lambda n: int(n > 1),
    "fr-CA": lambda n: int(n > 1),
    "pt-BR": lambda n: int(n > 1),
    "hi": lambda n: int(n > 1),
    "pl": _polish,
    "ru": _russian,
    "ar": _arabic,
    "vi": lambda n: 0,
    "zh-Hans": lambda n: 0,
    "ko": lambda n: 0,
}
"""Which of a language's forms goes with a number, in CLDR's order of categories."""

NUMBER_WORDS: Mapping[str, Mapping[str, int]] = {
    "ar": {"قرصين": 2, "قرصان": 2, "ساعتين": 2, "ساعتان": 2, "مرتين": 2},
}
"""Numbers inside a word: the Arabic dual (CLDR's category *two* stands for 2 alone)."""

DECIMAL_COMMA = frozenset({"de", "es", "fr", "fr-CA", "pl", "pt-BR", "ru", "vi"})
"""Languages that write 2,5 (CLDR, numbers/symbols, decimal); Spanish in the United States 2.5."""

COUNTED = re.compile(
    r"^(?:number|of|pages|refills|hours|doses|days|tablets_per_dose|.*_(?:h|min)|(?:.*_)?tablets)$"
)
AMOUNT_NAMES = re.compile(r"(?:^|_)(?:amount|strength|mg|swallowed)$")
DATE_NAMES = re.compile(r"(?:_on|^day)$")

NUMBER = r"(?<![\d.,])\d+(?:[.,]\d+)?(?![\d])"
AMOUNT = r"(?<![\d.,])\d+(?:[.,]\d+)*(?:mcg|mg|g(?![^\W\d_]))"
AMOUNTS = rf"{AMOUNT}(?:\s?/\s?{AMOUNT})*"


def number(text: str, language: str, country: str) -> Decimal:
    """A printed number, its groups of thousands joined. Raises InvalidOperation."""
    comma = language in DECIMAL_COMMA and (language, country) != ("es", "us")
    sign, group = (",", ".") if comma else (".", ",")
    return Decimal(text.replace(group, "").replace(sign, "."))


@dataclass(frozen=True)
class Statement:
    """One sentence in one language, with all its forms."""

    id: str
    language: str
    forms: tuple[str, ...]
    counted: bool
    """Whether its form goes with a number."""

    @property
    def weight(self) -> int:
        """How much of it is words: the longest are looked for first, whole ones before parts."""
        bare = (re.sub(r"\{(?:when|reason)\}", "-" * 40, form) for form in self.forms)
        return max(len(re.sub(r"\{\w+\}|\s", "", form)) for form in bare)


@cache
def statements(locales: Path, language: str) -> tuple[Statement, ...]:
    """All sentences of a language; English stands in every catalog beside its translation.

    A regional catalog says only what differs from the language's own.
    """
    said: dict[str, Statement] = {}
    for folder in dict.fromkeys((language.partition("-")[0], language.replace("-", "_"))):
        po = locales / folder / "LC_MESSAGES" / "labelkit.po"
        if folder == "en":
            po = locales / "es" / "LC_MESSAGES" / "labelkit.po"
        for entry in _entries(po) if po.exists() else ():
            forms = tuple(_forms(entry, english=folder == "en"))
            if entry.get("msgctxt") and forms:
                id_ = entry["msgctxt"]
                said[id_] = Statement(id_, language, forms, "msgid_plural" in entry)
    return tuple(said.values())


def _forms(entry: Mapping[str, str], *, english: bool) -> list[str]:
    if english:
        return [entry[key] for key in ("msgid", "msgid_plural") if key in entry]
    return [text for key, text in sorted(entry.items()) if key.startswith("msgstr") and text]


def _entries(po: Path) -> list[dict[str, str]]:
    """Entries of a gettext catalog (GNU gettext manual, The Format of PO Files)."""
    found: list[dict[str, str]] = [{}]
    key = ""
    for line in po.read_text("utf-8").splitlines():
        if not line.strip():
            found.append({})
        elif line.startswith('"'):
            found[-1][key] += ast.literal_eval(line)
        elif not line.startswith("#"):
            key, _, text = line.partition(" ")
            found[-1][key] = ast.literal_eval(text)
    return found


def pattern_of(form: str, language: str, known: Mapping[str, tuple[str, ...]]) -> re.Pattern[str]:
    """A form as a pattern, its placeholders as groups; `known` has the texts one may stand for."""
    bare = language in RIGHT_TO_LEFT
    parts: list[str] = []
    seen: set[str] = set()
    for part in re.split(r"(\{\w+\})", form):
        name = part[1:-1]
        if not part.startswith("{"):
            parts.append(_literal(part, bare=bare))
        elif name in seen:
            parts.append(f"(?P={name})")
        else:
            seen.add(name)
            parts.append(f"(?P<{name}>{_group(name, language, known, bare=bare)})")
    return re.compile(r"\s?".join(filter(None, parts)))


def _literal(text: str, *, bare: bool) -> str:
    """Fixed words; a figure at their edge isn't part of a longer one."""
    words = squeezed(text, letters_only=bare)
    before = r"(?<!\d)" if words[:1].isdecimal() else ""
    after = r"(?!\d)" if words[-1:].isdecimal() else ""
    return before + re.escape(words) + after if words else ""


def _group(name: str, language: str, known: Mapping[str, tuple[str, ...]], *, bare: bool) -> str:
    if name in known:
        texts = sorted({squeezed(t, letters_only=bare) for t in known[name]}, key=len)
        # Behind words of another language a note may say which it is.
        note = r"(?:\([^()\d]{1,60}\))?" if name == "comparison_source" and not bare else ""
        return "|".join(re.escape(text) + note for text in reversed(texts)) or "(?!)"
    if AMOUNT_NAMES.search(name):
        return AMOUNTS
    if COUNTED.search(name):
        return "|".join([NUMBER, *NUMBER_WORDS.get(language, {})])
    if DATE_NAMES.search(name):
        return date_pattern(language, letters_only=bare)
    return r"\D{1,200}?"
