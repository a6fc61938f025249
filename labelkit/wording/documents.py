"""Leaflets and backs of sleeves and pads, composed from their definitions and the records.

The order is the definition's. No statement is said twice in one document, a caution of
severity 1 always stands in a warning block, and a document that leaves out a caution it
was given is refused. Knows no place on paper.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from fnmatch import fnmatchcase

from labelkit.ground.errors import Fault, WordingRefused
from labelkit.ground.quoting import whole
from labelkit.records.model import Preparation, Prescription, Workspace
from labelkit.rules.model import Caution
from labelkit.rules.products import Product, products
from labelkit.wording.definitions import BlockDefinition, SectionDefinition, definition
from labelkit.wording.facts import (
    comparison_source,
    out_of_hours,
    preparation_facts,
    prescription_facts,
    product_facts,
    product_values,
    swallowed_name,
    values,
)
from labelkit.wording.model import Block, BlockKind, Document, ReviewState, Said, Voice
from labelkit.wording.numbers import NBSP
from labelkit.wording.text_edition import as_text

__all__ = ["COMPLETE", "as_text", "compose"]

COMPLETE = frozenset({"leaflet"})
"""Documents that must say every caution; the others say what their panel is for."""


@dataclass(frozen=True)
class _Matter:
    """What one document is about, gathered once."""

    preparation: Preparation
    products: tuple[Product, ...]
    """The strengths that the document speaks of."""
    cautions: tuple[Caution, ...]
    conditions: frozenset[str]
    facts: dict[str, Said]
    values: dict[str, object]
    voice: Voice
    said: set[str] = field(default_factory=set)

    def say(self, statement: str, own: dict[str, object] | None = None) -> Said:
        """The statement with the document's values, noted as said."""
        self.said.add(statement)
        return self.voice.say(statement, self.values | (own or {}))


def compose(
    id_: str,
    workspace: Workspace,
    medicine: Preparation | Product,
    cautions: tuple[Caution, ...],
    rx: Prescription | None,
    voice: Voice,
) -> Document:
    """The document in the voice's language, with `rx` for one patient.

    Of a product it speaks of that strength alone; of a preparation it counts no tablets, which
    are each strength's own. `cautions` come most severe first. Raises
    KeyError for an unknown document, RuleRefused where a limit is missing, and WordingRefused
    where the language can't say something, a sentence counts tablets of a preparation, or a
    caution has no place.
    """
    plan = definition(id_)
    if isinstance(medicine, Product):
        preparation = medicine.preparation
        spoken_of: tuple[Product, ...] = (medicine,)
        facts = product_facts(workspace, medicine, voice)
        raw = product_values(workspace, medicine, rx)
    else:
        preparation, spoken_of = medicine, products(medicine)
        facts = preparation_facts(workspace, medicine, voice)
        raw = values(workspace, medicine)
    if rx is not None:
        facts |= prescription_facts(rx, voice)
    pharmacy = workspace.pharmacy
    raw["out_of_hours"] = out_of_hours(pharmacy, voice)
    if preparation.comparison is not None:
        raw["swallowed_name"] = swallowed_name(pharmacy, preparation, voice)
        raw["comparison_source"] = comparison_source(pharmacy, preparation, voice)
    from_facts = ("form", "route", "ingredients", "excipients", "appearance")
    matter = _Matter(
        preparation=preparation,
        products=spoken_of,
        cautions=cautions,
        conditions=_conditions(preparation, raw, rx),
        facts=facts,
        values=raw | {name: facts[name] for name in from_facts if name in facts},
        voice=voice,
    )
    title = voice.say(plan.title, matter.values | {"drug": facts["drug"].text})
    blocks: list[Block] = [Block(BlockKind.TITLE, (title,))] if plan.show_title else []
    for section in plan.sections:
        blocks.extend(_section(section, matter))
    unsaid = [c for c in cautions if c.statement not in matter.said]
    if id_ in COMPLETE and unsaid:
        raise WordingRefused(
            Fault(
                f"documents/{id_}.toml",
                "",
                caution.statement,
                "the document has no place for this caution",
                "add its id to one of the document's lists",
                caution.rule,
                caution.source,
            )
            for caution in unsaid
        )
    word = voice.say("leaflet.warning").text
    return Document(id_, voice.language, title.text, tuple(blocks), word)


def _conditions(
    preparation: Preparation, raw: dict[str, object], rx: Prescription | None
) -> frozenset[str]:
    hours = raw["least_interval_h"]
    holds = {
        "no-rx" if rx is None else "rx",
        f"route:{preparation.route.value}",
        *(f"handling:{handling}" for handling in preparation.handling),
        "interval:hours" if isinstance(hours, Decimal) and hours % 1 == 0 else "interval:minutes",
    }
    if rx is not None:
        asked = rx.closure_request is not None
        holds.add("closure:as-asked" if asked else "closure:child-resistant")
    if preparation.comparison is not None:
        holds.add("comparison")
    if preparation.excipients:
        holds.add("excipients")
    if preparation.side_effects:
        holds.add("effects")
    if preparation.urgent_effects:
        holds.add("urgent")
    if any(ingredient.schedule for ingredient in preparation.ingredients):
        holds.add("controlled")
    return frozenset(holds)


def _section(section: SectionDefinition, matter: _Matter) -> Iterator[Block]:
    if not matter.conditions.issuperset(section.when):
        return
    blocks = [
        block
        for part in section.blocks
        if matter.conditions.issuperset(part.when)
        for block in _blocks(part, matter)
    ]
    if blocks and section.heading:
        yield Block(BlockKind.HEADING, (matter.say(section.heading),))
    yield from blocks


def _blocks(part: BlockDefinition, matter: _Matter) -> Iterator[Block]:
    kind = BlockKind(part.kind)
    if part.table:
        yield _comparison(matter)
    elif part.fact:
        yield Block(kind, (matter.facts[part.fact],))
    elif kind is BlockKind.STEPS:
        yield Block(kind, tuple(matter.say(s) for s in part.say), pictures=part.pictures)
    elif part.each:
        for said in _listed(part, matter):
            yield Block(kind, (said,))
    else:
        for statement in part.say:
            yield Block(kind, (matter.say(statement),))


def _listed(part: BlockDefinition, matter: _Matter) -> Iterator[Said]:
    preparation = matter.preparation
    match part.each:
        case "cautions":
            for caution in matter.cautions:
                if caution.statement not in matter.said and _wanted(part, caution):
                    yield matter.say(caution.statement, dict(caution.values))
        case "uses":
            yield from (matter.say(f"use.{suffix}") for suffix in preparation.uses)
        case "effects":
            yield from (matter.say(f"effect.{suffix}") for suffix in preparation.side_effects)
        case "urgent":
            yield from (matter.say(f"urgent.{suffix}") for suffix in preparation.urgent_effects)
        case "statements":
            yield from (matter.say(s) for s in preparation.statements if s not in matter.said)


def _wanted(part: BlockDefinition, caution: Caution) -> bool:
    def matches(patterns: tuple[str, ...]) -> bool:
        return any(fnmatchcase(caution.statement, pattern) for pattern in patterns)

    # The one that can kill is never sent elsewhere by a pattern: it belongs in the box.
    kept_out = matches(part.except_) and caution.severity != 1
    return caution.severity in part.severities and matches(part.only) and not kept_out


def _comparison(matter: _Matter) -> Block:
    """Each strength spoken of beside the swallowed one it was judged comparable to."""
    comparison = matter.preparation.comparison
    if comparison is None:
        raise KeyError("comparison")
    cells = [matter.say("comparison.column.ours"), matter.say("comparison.column.swallowed")]
    beside = {row.strength: row.swallowed for row in comparison.rows}
    for product in matter.products:
        for recorded in (product.label, beside[product.label]):
            text = recorded.replace(" ", NBSP)
            language = matter.voice.language
            state = ReviewState.ACCEPTED
            cells.append(Said(text, language, "fact:comparison", state, (text,), whole(text)))
    return Block(BlockKind.TABLE, tuple(cells), columns=2)
