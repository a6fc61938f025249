"""What each field of a load says, in which languages: what is required, drawn and accepted."""

from collections.abc import Iterator
from dataclasses import dataclass

from labelkit.geometry.expressions import names_in, render
from labelkit.geometry.model import Field, Layout, What
from labelkit.ground.quoting import has_rtl
from labelkit.manifest.loads import PieceLoad, SheetLoad
from labelkit.wording.model import Said


def languages_of(field: Field, load: PieceLoad) -> tuple[str, ...]:
    """The languages a field speaks, first to last, each once."""
    pharmacy, patient = load.pharmacy.language, load.patient.language
    wanted = {"pharmacy": (pharmacy,), "patient": (patient,)}.get(
        field.language, (patient, pharmacy)
    )
    return tuple(dict.fromkeys(wanted))


@dataclass(frozen=True, slots=True)
class Saying:
    """One text that must stand whole in a field, and what it is made of."""

    text: str
    language: str
    parts: tuple[Said, ...]
    """The statement, or every fact that the text names."""


def sayings(field: Field, load: PieceLoad) -> Iterator[Saying]:
    """The texts of a field, in each language it speaks: facts that it joins stand as it joins
    them, so that none can trade its place with another.

    A fact that the field names and doesn't print, or whose field can't be filled in, is stated
    by itself: the check then misses it.
    """
    if field.what is not What.VALUE:
        for said in said_by(field, load):
            yield Saying(said.text, said.language, (said,))
        return
    by_language: dict[str, list[Said]] = {}
    for said in said_by(field, load):
        by_language.setdefault(said.language, []).append(said)
    for language, parts in by_language.items():
        whole = _filled(field, load, language)
        printed = tuple(said for said in parts if said.text in whole)
        if whole:
            yield Saying(whole, language, printed)
        for said in parts:
            if not whole or said not in printed:
                yield Saying(said.text, language, (said,))


def _filled(field: Field, load: PieceLoad, language: str) -> str:
    """A value field's text with its facts filled in; empty where one of them is unknown."""
    facts = {name: said.text for name, said in load.facts[language].items()}
    try:
        return render(field.arg, facts).strip()
    except ValueError:
        return ""


def said_by(field: Field, load: PieceLoad) -> Iterator[Said]:
    """The statement, the label of a line to write on, or each fact that a field names, in each
    language it speaks; the entries of a list to tick."""
    if not load.prints(field):
        return
    if field.what is What.TICKS and field.arg in load.lists:
        yield from load.lists[field.arg].said
    voices = {load.pharmacy.language: load.pharmacy, load.patient.language: load.patient}
    for language in languages_of(field, load):
        if field.what in (What.STATEMENT, What.WRITING):
            yield voices[language].say(field.arg, load.values)
        elif field.what is What.VALUE:
            facts = load.facts[language]
            yield from (facts[name] for name in sorted(names_in(field.arg)) if name in facts)


def instead(field: Field, load: PieceLoad, language: str) -> Iterator[Said]:
    """The shorter statement that the field may say in that language, if it names one."""
    if field.alternative:
        voice = load.patient if load.patient.language == language else load.pharmacy
        yield voice.say(field.alternative, load.values)


def quotations(*parts: Said) -> tuple[str, ...]:
    """What the parts quote of records, each once; nothing where no letter of any part is read
    from the right, since such a text has one order only."""
    if not any(has_rtl(part.text) for part in parts):
        return ()
    found = (part.text[begin:end] for part in parts for begin, end in part.quoted)
    return tuple(dict.fromkeys(found))


def everything_said(layout: Layout, sheets: tuple[SheetLoad, ...]) -> Iterator[Said]:
    """Every fact and statement the file will hold, so that its state can be told; those of
    pieces that say the same, once."""
    known: set[tuple[int, ...]] = set()
    for sheet in sheets:
        for load in sheet.pieces:
            for by_language in load.documents.values():
                for document in by_language.values():
                    yield from (said for block in document.blocks for said in block.said)
            for document in load.closing.values():
                yield from (said for block in document.blocks for said in block.said)
            for face in layout.faces:
                for piece in face.pieces:
                    if (piece.id, piece.card) == (load.piece, load.card):
                        for area in piece.areas:
                            for field in area.fields:
                                key = load.said_key(field)
                                if key in known:
                                    continue
                                known.add(key)
                                for said in said_by(field, load):
                                    yield said
                                    yield from instead(field, load, said.language)
