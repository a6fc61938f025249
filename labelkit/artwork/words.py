"""What a text field says: its paragraphs, one for each language that speaks in it.

Says nothing that isn't a statement of the catalog or a fact of the records. A field that
names only absent facts (a patient on stock lidding) says nothing and is left out; one that
names some absent and some present facts, or a fact that doesn't exist, is refused.
"""

from dataclasses import dataclass
from functools import lru_cache

from labelkit.artwork.spots import Spot
from labelkit.geometry.expressions import names_in, render
from labelkit.geometry.model import What
from labelkit.geometry.names import IN_FULL
from labelkit.ground.errors import ArtworkRefused
from labelkit.ground.quoting import Span, parted
from labelkit.wording.model import Said, Voice


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A text in one language, with where it came from."""

    text: str
    language: str
    source: str
    """As `Origin.source`."""
    verbatim: tuple[str, ...] = ()
    quoted: tuple[Span, ...] = ()
    """As `Said.quoted`."""


def paragraphs(spot: Spot) -> tuple[Paragraph, ...]:
    """The field's paragraphs: the patient's language first, equal texts once, maybe none.

    Raises WordingRefused for a statement without words, ArtworkRefused for an expression
    that can't be filled in.
    """
    said = (_said(spot, voice) for voice in spot.voices)
    by_text = {paragraph.text: paragraph for paragraph in reversed([p for p in said if p])}
    return tuple(reversed(by_text.values()))


def alternatives(spot: Spot) -> tuple[Paragraph, ...]:
    """The field's shorter statement in the same languages, or nothing where it names none."""
    if not spot.field.alternative:
        return ()
    return tuple(of(v.say(spot.field.alternative, spot.load.values)) for v in spot.voices)


def of(said: Said) -> Paragraph:
    """One said thing as a paragraph."""
    return Paragraph(said.text, said.language, said.origin, said.verbatim, said.quoted)


def _said(spot: Spot, voice: Voice) -> Paragraph | None:
    field = spot.field
    if field.what is not What.VALUE:
        return of(voice.say(field.arg, spot.load.values))
    facts = spot.facts(voice.language)
    try:
        names = sorted(names_in(field.arg))
        used = {name: facts[name] for name in names if name in facts}
        if names and not used:
            return None
        text, quoted = _filled(field.arg, tuple((name, fact.marked) for name, fact in used.items()))
    except ValueError as error:
        mend = f"use only facts that this artwork has: {', '.join(sorted(facts))}"
        raise ArtworkRefused([spot.fault(str(error), mend)]) from error
    verbatim = tuple(part for fact in used.values() for part in fact.verbatim)
    source = ",".join(IN_FULL.get(name, name) for name in names)
    return Paragraph(text, voice.language, f"fact:{source}", verbatim, quoted) if text else None


@lru_cache(maxsize=4096)
def _filled(expression: str, facts: tuple[tuple[str, str], ...]) -> tuple[str, tuple[Span, ...]]:
    """The expression with these facts, which are marked where they quote a record, and where it
    then quotes; a lot's cells ask for the same again and again."""
    return parted(render(expression, dict(facts)).strip())
