"""Which of the pharmacy's preparations and strengths a FHIR R4 medication is.

All or nothing: every word of every name must be an ingredient of one preparation, an amount, or a
word for such a tablet, and every ingredient of that preparation must be named. A word that isn't
known may be a second substance or another form, so nothing is taken then: the likelier
preparation is never taken. Amounts count when they are exact and per tablet.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from labelkit.records import amounts
from labelkit.records.faultbook import Unreadable
from labelkit.records.fhir_bundle import Bundle, brief
from labelkit.records.fhir_elements import Element, Resource
from labelkit.records.fhir_terms import TABLETS, UCUM, UCUM_MASS
from labelkit.records.fhir_told import Weight
from labelkit.records.model import Amount, Preparation, Unit
from labelkit.records.text import shown

_UNITS = {
    "mcg": Unit.MCG,
    "ug": Unit.MCG,
    "μg": Unit.MCG,  # as case folding leaves both the micro sign and the Greek letter
    "microgram": Unit.MCG,
    "micrograms": Unit.MCG,
    "mg": Unit.MG,
    "milligram": Unit.MG,
    "milligrams": Unit.MG,
    "g": Unit.G,
    "gram": Unit.G,
    "grams": Unit.G,
}
"""Units as RxNorm (``MG``), dm+d (``microgram``) and prescribers write them, in folded case."""

_TOKEN = re.compile(r"([0-9][0-9.,]*)\s*([^\W\d_]+)|([^\W\d_]+)|([0-9.,]*[0-9])|([^\w\s])")
_JOINERS = frozenset("+/,&()-.;")
_WORDS = frozenset(
    {"tablet", "tablets", "tab", "tabs", "oral", "orally", "disintegrating", "orodispersible",
     "sublingual", "fast", "dissolving", "under", "on", "the", "tongue", "odt", "and"}
)  # fmt: skip
"""Words that name a tablet for the mouth, and joining words. The route is read by itself."""


@dataclass(frozen=True, slots=True)
class Medicine:
    """A medication as a resource names it, wherever the name stands."""

    path: str
    """The element of the request that holds or refers to it."""
    names: tuple[str, ...]
    """Each name, and each ingredient's, as it is written."""
    cells: dict[str, str]
    """Preparation and strength, each only where exactly one fits."""

    @property
    def written(self) -> str:
        """All that it is called."""
        return " / ".join(dict.fromkeys(self.names))


@dataclass(frozen=True, slots=True)
class _Read:
    """One name, taken apart: its words, and its amounts in their order."""

    words: tuple[str, ...]
    amounts: tuple[Amount, ...]


def medicine(bundle: Bundle, resource: Resource, preparations: Sequence[Preparation]) -> Medicine:
    """The medication of a request, statement or dispensing, and what it is here."""
    concept = resource.child("medicationCodeableConcept")
    if concept:
        cells = _cells(concept.words(), (), preparations)
        names = _names(concept, ())
        if not cells.get("strength"):
            concept.put_back()
        return Medicine("medicationCodeableConcept", names, cells)
    reference = resource.child("medicationReference")
    named = reference.text("display") or reference.text("reference")
    found = bundle.follow(resource, reference, "Medication")
    if found is None:
        return Medicine("medicationReference", (named,) if named else (), {})
    code, ingredients = found.child("code"), found.children("ingredient")
    active = [i for i in ingredients if i.values.get("isActive") is not False]
    names = _names(code, ingredients)
    cells = {}
    if _is_tablet(found.child("form")) and all(_is_readable(i) for i in active):
        for ingredient in active:
            ingredient.flag("isActive")
        cells = _cells(code.words(), active, preparations)
    if not cells.get("strength"):
        for element in (code, found.child("form"), *ingredients):
            element.put_back()
    return Medicine("medicationReference", names or (named,), cells)


def _names(concept: Element, ingredients: Sequence[Element]) -> tuple[str, ...]:
    said = concept.words()
    for ingredient in ingredients:
        item = ingredient.child("itemCodeableConcept")
        reference = ingredient.child("itemReference")
        said += item.words() or ([reference.text("display")] if reference else [])
    said = [name for name in said if name]
    if not said and concept:
        said = [brief(concept.values.get("coding", concept.values))]
    return tuple(said)


def _is_tablet(form: Element) -> bool:
    """Whether nothing is said of the form, or what is said is a tablet."""
    if not form:
        return True
    words = form.words()
    known = all(set(re.findall(r"\w+", word.casefold())) <= _WORDS for word in words)
    coded = any(code in TABLETS for code in form.codes())
    return known and bool(words or coded)


def _is_readable(ingredient: Element) -> bool:
    """Whether the ingredient is named, and its strength, if any, is a mass in one tablet."""
    named = bool(ingredient.child("itemCodeableConcept").words())
    strength = ingredient.child("strength")
    return named and (not strength or _per_tablet(strength) is not None)


def _cells(
    names: Sequence[str], ingredients: Sequence[Element], preparations: Sequence[Preparation]
) -> dict[str, str]:
    """Preparation and strength, each only where exactly one fits every name."""
    stated = {
        ingredient.child("itemCodeableConcept").words()[0].casefold(): _per_tablet(
            ingredient.child("strength")
        )
        for ingredient in ingredients
    }
    for ingredient in ingredients:
        ingredient.child("itemCodeableConcept").codes()
    fitting = [p for p in preparations if _fits(names, tuple(stated), p)]
    if len(fitting) != 1:
        return {}
    return {"preparation": fitting[0].id, "strength": _strength(names, stated, fitting[0])}


def _fits(names: Sequence[str], stated: Sequence[str], preparation: Preparation) -> bool:
    inns = {i.inn.casefold() for i in preparation.ingredients}
    if stated and set(stated) != inns:
        return False
    said = [name for name in names if name.casefold() != preparation.title.casefold()]
    read = [_read(name, preparation) for name in said]
    if any(one is None for one in read):
        return False
    named = [inns & set(one.words) for one in read if one]
    return all(n == inns for n in named) and bool(named or stated)


def _read(name: str, preparation: Preparation) -> _Read | None:
    """The name's parts, or None where any of it isn't understood."""
    folded = name.casefold()
    inns = " ".join(i.inn for i in preparation.ingredients)
    folded = folded.replace(preparation.title.casefold(), inns.casefold())
    words: list[str] = []
    for inn in sorted((i.inn.casefold() for i in preparation.ingredients), key=len, reverse=True):
        folded, count = re.subn(rf"(?<!\w){re.escape(inn)}(?!\w)", " ", folded)
        words += [inn] * bool(count)
    salts = {
        word
        for i in preparation.ingredients
        if i.strength_as != "base"
        for word in i.strength_as.casefold().split()
    }
    found: list[Amount] = []
    for digits, unit, word, number, mark in _TOKEN.findall(folded):
        if digits:
            amount = _amount(digits, unit)
            if amount is None:
                return None
            found.append(amount)
        elif number or (mark and mark not in _JOINERS) or (word and word not in _WORDS | salts):
            return None
    return _Read(tuple(words), tuple(found))


def _amount(digits: str, unit: str) -> Amount | None:
    """An amount in words; None where the unit isn't a mass or the number has two readings."""
    if unit not in _UNITS:
        return None
    try:
        return amounts.amount(f"{digits} {_UNITS[unit].value}")
    except Unreadable:
        return None


def _strength(
    names: Sequence[str], stated: dict[str, Amount | None], preparation: Preparation
) -> str:
    """The one strength that all amounts name, in words and in numbers; '' where they don't."""
    wanted = set()
    by_inn = [stated.get(i.inn.casefold()) for i in preparation.ingredients]
    if all(by_inn):
        wanted.add(amounts.label(tuple(amount for amount in by_inn if amount)))
    for name in names:
        read = _read(name, preparation)
        if read and read.amounts:
            wanted.add(amounts.label(read.amounts))
    labels = [s.label for s in preparation.strengths if s.label in wanted]
    return labels[0] if len(labels) == 1 and len(wanted) == 1 else ""


def _per_tablet(ratio: Element) -> Amount | None:
    """Numerator in mass over one tablet, exact; UCUM ``ug`` becomes mcg."""
    numerator, denominator = ratio.child("numerator"), ratio.child("denominator")
    value, per = numerator.number("value"), denominator.number("value")
    unit = UCUM_MASS.get(numerator.text("code")) if numerator.text("system") == UCUM else None
    one_tablet = (denominator.text("system"), denominator.text("code")) in TABLETS and per == 1
    if "comparator" in numerator.values or value is None or value <= 0 or unit is None:
        return None
    if not one_tablet:
        return None
    numerator.text("unit")
    denominator.text("unit")
    return amounts.tidy(Amount(value=value, unit=unit))


def unmatched(bundle: Bundle, resource: Resource, found: Medicine) -> None:
    """Tell what a medicine is called that is none, or not for certain one, of the preparations."""
    if found.cells.get("strength"):
        said = f"{found.cells['preparation']}, {found.cells['strength']}"
        wrong = f"{shown(found.written, 300)} was read as {said}"
        mend = "see whether medicine, form and route are the same"
        bundle.tell(resource, found.path, wrong, mend, Weight.LOOK)
        return
    what = shown(found.written, 300) if found.names else "a medicine without a name"
    if found.cells.get("preparation"):
        wrong = f"names {what}: {found.cells['preparation']}, of no strength for certain"
    else:
        wrong = f"names {what}: for certain it is none of the pharmacy's preparations"
    bundle.tell(resource, found.path, wrong, "ask the prescriber, or write what it is into the row")
