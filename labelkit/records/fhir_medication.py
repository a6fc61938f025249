"""Which of the pharmacy's preparations and strengths a FHIR R4 medication is.

Goes by the international names of all active ingredients and by exact amounts. Two
candidates, or none, are left to a person: it never takes the likelier one.
"""

import re
from collections.abc import Sequence

from labelkit.records import amounts
from labelkit.records.faultbook import Unreadable
from labelkit.records.fhir_elements import Element
from labelkit.records.fhir_terms import TABLETS, UCUM, UCUM_MASS
from labelkit.records.model import Amount, Preparation

_AMOUNT = re.compile(r"(?<![\w.,])([0-9]+(?:\.[0-9]+)?)\s?(mcg|ug|mg|g)\b")


def medication_cells(
    concept: Element, ingredients: Sequence[Element], preparations: Sequence[Preparation]
) -> dict[str, str]:
    """Preparation and strength, each only where exactly one fits."""
    words = [concept.text("text")] + [c.text("display") for c in concept.children("coding")]
    words = [word for word in words if word]
    stated = _stated(ingredients)
    named = " ".join([*words, *(name for name, _ in stated)]).casefold()
    fitting = [p for p in preparations if _names_all(named, p)]
    if len(fitting) != 1:
        concept.put_back()
        return {}
    by_inn = {name.casefold(): amount for name, amount in stated if amount}
    strength = _strength(words, by_inn, fitting[0])
    if not strength:
        concept.put_back()
    return {"preparation": fitting[0].id, "strength": strength}


def _names_all(named: str, preparation: Preparation) -> bool:
    return all(
        re.search(rf"\b{re.escape(i.inn.casefold())}\b", named) for i in preparation.ingredients
    )


def _stated(ingredients: Sequence[Element]) -> list[tuple[str, Amount | None]]:
    found = []
    for ingredient in ingredients:
        concept = ingredient.child("itemCodeableConcept")
        names = [concept.text("text")] + [c.text("display") for c in concept.children("coding")]
        name = next((n for n in names if n), "")
        found.append((name, _per_tablet(ingredient.child("strength"))))
    return found


def _per_tablet(ratio: Element) -> Amount | None:
    """Numerator in mass over one tablet, exact; UCUM ``ug`` becomes mcg."""
    numerator, denominator = ratio.child("numerator"), ratio.child("denominator")
    value, per = numerator.number("value"), denominator.number("value")
    unit = UCUM_MASS.get(numerator.text("code")) if numerator.text("system") == UCUM else None
    one_tablet = (denominator.text("system"), denominator.text("code")) in TABLETS and per == 1
    numerator.text("unit")
    denominator.text("unit")
    if value is None or value <= 0 or unit is None or not one_tablet:
        ratio.put_back()
        return None
    return amounts.tidy(Amount(value=value, unit=unit))


def _strength(words: Sequence[str], by_inn: dict[str, Amount], preparation: Preparation) -> str:
    inns = [i.inn.casefold() for i in preparation.ingredients]
    if all(inn in by_inn for inn in inns):
        wanted = {amounts.label(tuple(by_inn[inn] for inn in inns))}
    else:
        wanted = {label for label in map(_written, words) if label}
    labels = [s.label for s in preparation.strengths if s.label in wanted]
    return labels[0] if len(labels) == 1 and len(wanted) == 1 else ""


def _written(words: str) -> str:
    """All amounts in the words, as a strength's label."""
    try:
        found = tuple(
            amounts.amount(f"{digits} {UCUM_MASS.get(unit, unit)}")
            for digits, unit in _AMOUNT.findall(words)
        )
    except Unreadable:
        return ""
    return amounts.label(found)
