"""Known names that a word may be a misspelling of: what a question offers, never an answer."""

from functools import lru_cache

from labelkit.rules.spelling import distance, skeleton
from labelkit.rules.substances import in_any_group, known
from labelkit.rules.vocabulary import CLASS_WORDS, joined, vocabulary

MOST_NEAR = 3
"""Names that one question offers (common practice, no source)."""


def phrases(left: list[tuple[int, str]]) -> list[tuple[str, list[str]]]:
    """Unknown words by their places, joined where several side by side are near to one name.

    Each phrase comes with its words.
    """
    found: list[tuple[str, list[str]]] = []
    groups: list[list[tuple[int, str]]] = []
    for at, text in left:
        if groups and at == groups[-1][-1][0] + 1:
            groups[-1].append((at, text))
        else:
            groups.append([(at, text)])
    for group in groups:
        words = [text for _, text in group]
        phrase = " ".join(words)
        found += [(phrase, words)] if near_names(phrase) else [(word, [word]) for word in words]
    return found


@lru_cache(maxsize=8192)
def near_names(word: str) -> tuple[tuple[str, str], ...]:
    """INNs and names that are near in spelling, nearest first; of those, what rules speak of."""
    found: list[tuple[int, bool, str, str]] = []
    for key, meaning in known().items():
        name = joined(key)
        edits = distance(word, name) if meaning.inn not in CLASS_WORDS else None
        if edits is not None:
            found.append((edits, not in_any_group(meaning.inn), meaning.inn, name))
    bones = " ".join(map(skeleton, word.split()))
    if not word.isascii() and bones.strip():
        for key, spelt in vocabulary().spelt.items():
            edits = distance(bones, " ".join(key))
            if edits is not None:
                found.append((edits, not in_any_group(spelt.inn), spelt.inn, spelt.name))
    best: dict[str, str] = {}
    for _, _, inn, name in sorted(found):
        best.setdefault(inn, spoken(inn, name))
    return tuple(best.items())[:MOST_NEAR]


def spoken(inn: str, name: str) -> str:
    """A name with the INN it stands for."""
    return inn if inn == name else f"{name} ({inn})"
