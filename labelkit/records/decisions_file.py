"""Reads ``acceptances.toml`` and ``decisions.toml``: what named, licensed people answer for.

Both files may be absent. Checks form only: which decision a rule accepts, and which words
of a catalog are current, later floors know.
"""

import re
from datetime import UTC, datetime
from decimal import Decimal

from labelkit.records import identifiers
from labelkit.records.decisions import (
    AddedParticular,
    Decisions,
    IngredientDecision,
    Override,
    RemovedParticular,
    SamePerson,
)
from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.fields import Fields
from labelkit.records.model import Acceptance
from labelkit.records.pharmacy_file import language_tag
from labelkit.records.text import NAME, SENTENCE, SHORT, clean, shown, slug
from labelkit.records.toml_tables import TomlFile

ACCEPTANCES = "acceptances.toml"
DECISIONS = "decisions.toml"
READS = ("native", "fluent", "with-help")
"""How well a person reads the language of the words that are accepted: it is their mother
tongue, they read it well, or somebody or something helped them. Our own words."""
_DIGEST = re.compile(r"[0-9a-f]{16}")
MOST_WRONG = 10
"""Wrong lines of one table that are told. Our own bound."""
LEAST_REASON = 10
"""Least characters of a reason: the models of `labelkit.records.decisions` ask for them."""
ARTWORKS = ("lidding", "sleeve", "leaflet", "pad")
PLACES = ("cell", "band", "piece", "document")


def read_acceptances(file: TomlFile) -> tuple[Acceptance, ...]:
    """The acceptances that could be read; faults are in the file's book."""
    file.root().only(("acceptance",))
    found = []
    for table in file.tables("acceptance", required=False):
        if "revision" in table.values:
            table.fault(
                "revision",
                "names a catalog as a whole; an acceptance names the words of each statement",
                "take this entry out, read the words and accept them: labelkit wording --accept",
            )
            continue
        table.only(("language", "name", "licence", "on", "reads", "note", "words"))
        acceptance = Acceptance(
            language=table.parsed("language", "", language_tag),
            words=_accepted_words(table),
            name=table.text("name"),
            licence=table.text("licence", SHORT),
            on=table.day("on"),
            reads=table.choice("reads", READS),
            note=table.maybe_text("note", SENTENCE),
        )
        if table.sound:
            found.append(acceptance)
    return tuple(found)


def _accepted_words(table: Fields) -> tuple[tuple[str, str], ...]:
    """Id and digest of each statement under ``[acceptance.words]``, by id."""
    words = table.values.get("words")
    if not isinstance(words, dict) or not words:
        table.fault(
            "words",
            "names no statement",
            "accept words with labelkit wording --accept, which writes this table",
        )
        return ()
    wrong = [
        id_
        for id_, digest in words.items()
        if not (_DIGEST.fullmatch(str(digest)) and len(id_) <= NAME)
    ]
    for id_ in wrong[:MOST_WRONG]:
        table.fault(
            "words",
            f"{shown(id_)} has no digest of its words",
            "take it out and accept the words anew: labelkit wording --accept",
        )
    return tuple(sorted((id_, str(digest)) for id_, digest in words.items()))


def read_decisions(book: FaultBook, file: TomlFile) -> Decisions:
    """The decisions; what has a fault is left out, and the fault is in the book."""
    file.root().only(
        ("override", "ingredient", "added_particular", "removed_particular", "same_person")
    )
    overrides = [_override(t) for t in file.tables("override", required=False)]
    ingredients = [_ingredient(t) for t in file.tables("ingredient", required=False)]
    added = [_added(t) for t in file.tables("added_particular", required=False)]
    removed = [_removed(t) for t in file.tables("removed_particular", required=False)]
    same = [_same_person(t) for t in file.tables("same_person", required=False)]
    return Decisions(
        overrides=tuple(o for o in overrides if o),
        ingredients=tuple(i for i in ingredients if i),
        added_particulars=tuple(a for a in added if a),
        removed_particulars=tuple(r for r in removed if r),
        same_persons=tuple(p for p in same if p),
    )


def _reason(fields: Fields) -> str:
    def long_enough(text: str) -> str:
        kept = clean(text, SENTENCE)
        if len(kept) < LEAST_REASON:
            raise Unreadable(
                "says too little", f"give a reason of {LEAST_REASON} characters or more"
            )
        return kept

    return fields.parsed("reason", "-" * LEAST_REASON, long_enough)


def _moment(fields: Fields) -> datetime:
    value = fields.values.get("at")
    if not isinstance(value, datetime) or value.tzinfo is None:
        fields.fault(
            "at",
            "is no moment with its offset from UTC",
            "write it without quotation marks, as 2026-11-20T09:30:00-08:00",
        )
        return datetime(1, 1, 1, tzinfo=UTC)
    return value


def _override(table: Fields) -> Override | None:
    table.only(("rule", "record", "by", "licence", "reason", "at"))
    override = Override(
        rule=table.text("rule"),
        record=table.text("record"),
        by=table.text("by"),
        licence=table.text("licence", SHORT),
        reason=_reason(table),
        at=_moment(table),
    )
    return override if table.sound else None


def _ingredient(table: Fields) -> IngredientDecision | None:
    table.only(("inn", "of_class", "cautions", "conflicts", "source", "by", "licence", "on"))
    cautions = table.texts("cautions", slug, '"caution.drowsy"')
    decision = IngredientDecision(
        inn=table.text("inn"),
        of_class=table.text("of_class"),
        cautions=cautions or ("",),
        conflicts=table.texts("conflicts"),
        source=table.text("source", SENTENCE),
        by=table.text("by"),
        licence=table.text("licence", SHORT),
        on=table.day("on"),
    )
    return decision if table.sound else None


def _added(table: Fields) -> AddedParticular | None:
    table.only(("id", "artwork", "place", "satisfied_by", "least_pt", "source"))
    least = Decimal(0) if table.blank("least_pt") else table.positive("least_pt")
    particular = AddedParticular(
        id=table.slug("id"),
        artwork=table.choice("artwork", ARTWORKS),
        place=table.choice("place", PLACES),
        satisfied_by=table.text("satisfied_by", NAME),
        least_pt=float(least),
        source=table.text("source", SENTENCE),
    )
    return particular if table.sound else None


def _removed(table: Fields) -> RemovedParticular | None:
    table.only(("id", "artwork", "reason", "by", "licence", "on"))
    particular = RemovedParticular(
        id=table.slug("id"),
        artwork=table.choice("artwork", ARTWORKS),
        reason=_reason(table),
        by=table.text("by"),
        licence=table.text("licence", SHORT),
        on=table.day("on"),
    )
    return particular if table.sound else None


def _same_person(table: Fields) -> SamePerson | None:
    table.only(("ids", "same", "by", "licence", "on"))
    ids = table.texts("ids", identifiers.patient_id, '"p-101", "p-102"')
    if table.sound and len(set(ids)) < 2:
        table.fault("ids", "names fewer than two entries", "name the entries that were compared")
    if "same" not in table.values:
        table.fault("same", "is missing", "write true for one person, false for two")
    decision = SamePerson(
        ids=ids if len(ids) > 1 else ("", ""),
        same=table.maybe_true("same"),
        by=table.text("by"),
        licence=table.text("licence", SHORT),
        on=table.day("on"),
    )
    return decision if table.sound else None
