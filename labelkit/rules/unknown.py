"""Ingredients that must not be made into a card: unknown, controlled, or kept in glass."""

from collections.abc import Iterator

from labelkit.ground.errors import Fault
from labelkit.records.model import ActiveIngredient, Preparation, Workspace
from labelkit.rules.classes import sets_for
from labelkit.rules.controlled_lists import controlled, controlled_lists
from labelkit.rules.places import At, of_preparation

UNKNOWN_SOURCE = "common practice, no source: no caution can be derived for an unknown substance"
CONTROLLED_SOURCE = "21 CFR 1306.05, 1306.14 and 290.5: duties that this version doesn't carry out"


def judge_ingredients(preparation: Preparation, workspace: Workspace) -> tuple[Fault, ...]:
    """Every reason in the ingredients themselves why the preparation stops."""
    at = of_preparation(preparation)
    return tuple(
        fault
        for ingredient in preparation.ingredients
        for fault in _judge(ingredient, preparation, workspace, at)
    )


def _judge(
    ingredient: ActiveIngredient, preparation: Preparation, workspace: Workspace, at: At
) -> Iterator[Fault]:
    sets = sets_for(ingredient.inn, workspace)
    if not sets:
        yield at.fault(
            "ingredients",
            f"no rule set covers {ingredient.inn}",
            "have a pharmacist record its class, cautions and conflicts in decisions.toml "
            "(its own [[ingredient]]), or correct the INN",
            "ingredient.unknown",
            UNKNOWN_SOURCE,
        )
    schedules = [f"recorded schedule {ingredient.schedule}"] if ingredient.schedule else []
    schedules += [f"schedule {s.schedule} ({s.source})" for s in sets if s.schedule]
    schedules += [
        f"schedule {why.schedule} of {country} ({why.source})"
        for country in (workspace.pharmacy.country,)
        if country in controlled_lists()
        for why in controlled(ingredient.inn, country)
    ]
    if schedules:
        yield at.fault(
            "ingredients",
            f"{ingredient.inn} is a controlled substance: {'; '.join(dict.fromkeys(schedules))}",
            "use the forms and pack your authority approves for controlled substances",
            "ingredient.controlled",
            CONTROLLED_SOURCE,
        )
    for rules in sets:
        if rules.no_cavity_card:
            yield at.fault(
                "ingredients",
                f"{ingredient.inn} can't go into a cavity card: {rules.no_cavity_card}",
                "dispense it in its original container",
                "ingredient.original-container",
                rules.source,
            )
    if "original-container-only" in preparation.handling:
        yield at.fault(
            "handling",
            f"{preparation.id} is recorded as original-container-only",
            "dispense it in its original container",
            "ingredient.original-container",
            f"the pharmacy's own record, {at.file}",
        )
