"""Reads one file of ``preparations/``: a medicine that the pharmacy compounds.

Checks that the file is complete and agrees with itself: limits name its ingredients, a
comparison covers its strengths. Whether a dose is allowed, or a caution is missing, is
the rules' business.
"""

from labelkit.records.amounts import amount
from labelkit.records.dose_limits import read_comparison, read_limits
from labelkit.records.faultbook import FaultBook
from labelkit.records.fields import Fields
from labelkit.records.model import (
    ActiveIngredient,
    Appearance,
    BeyondUse,
    Preparation,
    Route,
    Strength,
)
from labelkit.records.text import SENTENCE, SHORT, slug
from labelkit.records.toml_tables import TomlFile

HANDLING = ("fragile", "peel-open", "original-container-only")
KEYS = (
    "title",
    "dosage_form",
    "route",
    "uses",
    "storage",
    "container",
    "handling",
    "excipients",
    "contraindicated",
    "statements",
    "side_effects",
    "urgent_effects",
    "ingredient",
    "strength",
    "limits",
    "comparison",
    "beyond_use",
)
MOST_DAYS = 3650
"""Longest beyond-use time a record may claim. Our own bound; the rules cap it far lower."""


def read_preparation(book: FaultBook, file: TomlFile, key: str) -> Preparation | None:
    """The preparation, or None when its file has faults. `key` is the file's name, its id."""
    before = len(book)
    fields = file.root()
    fields.only(KEYS)
    uses = fields.texts("uses", slug, '"erection-difficulty"')
    ingredients = _ingredients(file)
    at_strengths = len(book)
    strengths = _strengths(file, len(ingredients))
    labels = [s.label for s in strengths] if len(book) == at_strengths else []
    limits = read_limits(book, file, [i.inn for i in ingredients])
    comparison = read_comparison(file, labels)
    route = Route(fields.choice("route", [r.value for r in Route]))
    title = fields.text("title")
    dosage_form = fields.slug("dosage_form")
    storage = fields.slug("storage")
    container = fields.text("container")
    handling = _handling(fields)
    lists = {
        name: fields.texts(name, parse)
        for name, parse in (("statements", slug), ("side_effects", slug), ("urgent_effects", slug))
    }
    excipients = fields.texts("excipients")
    contraindicated = fields.texts("contraindicated")
    beyond_use = _beyond_use(file)
    if len(book) > before or limits is None:
        return None
    return Preparation(
        id=key,
        title=title,
        ingredients=ingredients,
        dosage_form=dosage_form,
        route=route,
        strengths=strengths,
        excipients=excipients,
        storage=storage,
        container=container,
        handling=handling,
        uses=uses,
        limits=limits,
        comparison=comparison,
        contraindicated=contraindicated,
        statements=lists["statements"],
        side_effects=lists["side_effects"],
        urgent_effects=lists["urgent_effects"],
        beyond_use=beyond_use,
    )


def _ingredients(file: TomlFile) -> tuple[ActiveIngredient, ...]:
    found: list[ActiveIngredient] = []
    for table in file.tables("ingredient"):
        table.only(("inn", "form", "strength_as", "schedule"))
        inn = table.text("inn")
        if inn != inn.lower():
            table.fault("inn", "has capital letters", f"write '{inn.lower()}'")
        if inn and inn in [i.inn for i in found]:
            table.fault("inn", f"'{inn}' stands twice", "remove one of the two")
        form, strength_as = table.text("form"), table.text("strength_as")
        if table.sound and strength_as not in ("base", form):
            table.fault(
                "strength_as",
                f"is '{strength_as}', neither the base nor the form used",
                f"write 'base' or '{form}'",
            )
        found.append(
            ActiveIngredient(
                inn=inn,
                form=form,
                strength_as=strength_as,
                schedule=table.maybe_text("schedule", SHORT),
            )
        )
    return tuple(found)


def _strengths(file: TomlFile, ingredients: int) -> tuple[Strength, ...]:
    found: list[Strength] = []
    for table in file.tables("strength"):
        table.only(("amounts", "gtin", "colour", "shape", "mark"))
        written = table.texts("amounts", lambda text: text if amount(text) else "", '"2.5 mg"')
        strength = Strength(
            amounts=tuple(amount(text) for text in written) or (amount("1 mg"),),
            gtin=table.maybe_gtin("gtin"),
            appearance=Appearance(
                colour=table.text("colour"),
                shape=table.text("shape"),
                mark=table.maybe_text("mark", SHORT),
            ),
        )
        if table.sound and len(written) != ingredients:
            table.fault(
                "amounts",
                f"holds {len(written)} amounts for {ingredients} active ingredients",
                "write one amount for each, in their order",
            )
        if table.sound and strength.label in [s.label for s in found]:
            table.fault("amounts", f"'{strength.label}' stands twice", "remove one of the two")
        if strength.gtin and strength.gtin in [s.gtin for s in found]:
            table.fault("gtin", "is another strength's too", "give each strength its own")
        found.append(strength)
    return tuple(found)


def _handling(fields: Fields) -> tuple[str, ...]:
    words = fields.texts("handling")
    for word in words:
        if word not in HANDLING:
            fields.fault("handling", f"'{word}' isn't known here", f"use {', '.join(HANDLING)}")
    return words


def _beyond_use(file: TomlFile) -> BeyondUse:
    table = file.table("beyond_use", required=False)
    if table is None:
        return BeyondUse()
    table.only(("days", "study", "container"))
    if table.blank("days"):
        for name in ("study", "container"):
            if not table.blank(name):
                table.fault("days", f"is missing beside '{name}'", "add the days the study found")
        return BeyondUse()
    return BeyondUse(
        days=table.whole("days", 1, MOST_DAYS),
        study=table.text("study", SENTENCE),
        container=table.text("container"),
    )
