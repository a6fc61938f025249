"""Which warnings must be said, because of what the medicine is and how it is used.

They follow from the ingredient's class, the excipients, the route, the handling and the
comparison, also where the preparation's file is silent of warnings; the file can only add
to them. Nothing here says them: wording does. An ingredient that no rule set covers is refused.
"""

from functools import cache

from labelkit.ground.errors import RuleRefused
from labelkit.records.model import Preparation, Prescription, Workspace
from labelkit.rules.classes import sets_for
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.excipients import of_known_effect
from labelkit.rules.model import Caution
from labelkit.rules.places import of_preparation
from labelkit.rules.unknown import judge_ingredients


class Circumstance(Datum):
    """A caution that doesn't depend on the ingredient."""

    when: str
    """Circumstances that must all hold, joined by ``and``."""
    statement: str
    severity: int
    source: Source

    def holds(self, circumstances: frozenset[str]) -> bool:
        """Whether everything it asks for is the case."""
        return set(self.when.split(" and ")) <= circumstances


@cache
def _circumstances() -> tuple[Circumstance, ...]:
    return tuple(
        Circumstance.model_validate(entry) for entry in load("circumstances.toml")["circumstances"]
    )


def circumstances_of(
    preparation: Preparation, prescription: Prescription | None = None
) -> frozenset[str]:
    """What is the case: ``always``, route, handling, comparison, excipients, closure asked for."""
    case = {"always", preparation.route.value, *preparation.handling}
    if preparation.comparison is not None:
        case.add("comparison")
    if preparation.excipients:
        case.add("excipients")
    case.update(f"excipient-{one.id}" for one in of_known_effect(preparation))
    if prescription is not None:
        case.add("prescription")
        asked = prescription.closure_request is not None
        case.add("closure-as-asked" if asked else "closure-child-resistant")
        if prescription.lidding == "patient":
            case.add("patient-lidding")
    return frozenset(case)


def cautions_for(
    preparation: Preparation, workspace: Workspace, prescription: Prescription | None = None
) -> tuple[Caution, ...]:
    """Every caution of the preparation, most severe first, each statement once.

    Within one severity: those of the class, of the circumstances, of the excipients, then
    the pharmacy's own. What is said of the closure depends on the prescription. Raises
    RuleRefused when an ingredient has no rule set.
    """
    faults = [
        f for f in judge_ingredients(preparation, workspace) if f.rule == "ingredient.unknown"
    ]
    if faults:
        raise RuleRefused(faults)
    found = [
        *_of_classes(preparation, workspace),
        *_of_circumstances(circumstances_of(preparation, prescription)),
        *_of_excipients(preparation),
        *_of_pharmacy(preparation),
    ]
    worst: dict[str, Caution] = {}
    for caution in found:
        known = worst.get(caution.statement)
        if known is None or caution.severity < known.severity:
            worst[caution.statement] = caution
    return tuple(sorted(worst.values(), key=lambda c: c.severity))


def _of_classes(preparation: Preparation, workspace: Workspace) -> list[Caution]:
    return [
        Caution(datum.statement, f"class.{rules.id}", datum.source, datum.severity)
        for ingredient in preparation.ingredients
        for rules in sets_for(ingredient.inn, workspace)
        for datum in rules.cautions
        if datum.holds_for(ingredient.inn, preparation.uses)
    ]


def _of_circumstances(case: frozenset[str]) -> list[Caution]:
    return [
        Caution(c.statement, f"circumstance.{c.when.replace(' ', '-')}", c.source, c.severity)
        for c in _circumstances()
        if c.holds(case)
    ]


def _of_excipients(preparation: Preparation) -> list[Caution]:
    return [
        Caution(one.statement, f"excipient.{one.id}", one.source, one.severity)
        for one in of_known_effect(preparation)
    ]


def _of_pharmacy(preparation: Preparation) -> list[Caution]:
    source = f"the pharmacy's own statement, {of_preparation(preparation).file}"
    return [Caution(s, "preparation.statements", source, 3) for s in preparation.statements]
