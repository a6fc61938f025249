"""FHIR R4 `Dosage` and `Quantity`, as cells of a prescription row.

Maps a structured dose in tablets, a route, a plain schedule, a largest amount in 24 hours.
A dose in milligrams, a range, a rate or a schedule of several times isn't turned into
tablets or hours: it is left, and so it is named. Nor is 'as needed' or a reason lost where the
cells can't say it: the cell stays blank then.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal

from labelkit.records.fhir_elements import Element
from labelkit.records.fhir_terms import (
    BEDTIME,
    HOURS,
    LEAST_INTERVAL,
    OWN_REASON,
    OWN_WHEN,
    REASONS,
    ROUTES,
    TABLETS,
    UCUM,
    WHEN,
    WHEN_NEEDED,
)
from labelkit.records.model import Route

Tell = Callable[[str, str, str], None]
"""Takes the path of an element, what is wrong, and what mends it."""

_ORDERED = ("ordered", "")
_ON_TONGUE = "on the tongue"
"""The route's text as labelkit itself writes it: no code of R4's value sets means it."""
_FILL_IN = "ask what is meant, and fill it in"


def tablets(quantity: Element) -> str:
    """The number of tablets, or '' when the quantity counts anything else."""
    value = quantity.number("value")
    unit = quantity.text("unit")
    coded = (quantity.text("system"), quantity.text("code"))
    counts_tablets = coded in TABLETS or (
        coded == ("", "") and unit.lower() in ("tablet", "tablets")
    )
    if value is None or not counts_tablets or "comparator" in quantity.values:
        quantity.put_back()
        return ""
    return plain(value)


def plain(value: Decimal) -> str:
    """The number in digits alone, without needless noughts."""
    return f"{value.normalize():f}"


def dosage_cells(dosage: Element, reasons: Sequence[Element], tell: Tell) -> dict[str, str]:
    """Cells that the one dosage instruction, and the request's own reasons, give."""
    dosage.number("sequence")
    needed, of_dosage = _as_needed(dosage, tell)
    return {
        "route": _route(dosage.child("route")),
        "tablets_per_dose": _dose(dosage),
        "most_in_24_h": _most(dosage.child("maxDosePerPeriod")),
        "reason": the_reason([*reasons, *of_dosage], tell),
        **_times(dosage, needed, tell),
    }


def the_reason(concepts: Sequence[Element], tell: Tell) -> str:
    """Ending of the one statement `reason.…` that all of them mean; '' where they don't."""
    found = [_reason(concept) for concept in concepts]
    meant = {slug for slug in found if slug}
    if len(meant) == 1 and "" not in found:
        return meant.pop()
    for concept in concepts:
        concept.put_back()
        if len(meant) > 1:
            wrong = f"gives one of several reasons that aren't the same: {', '.join(sorted(meant))}"
            tell(concept.path, wrong, _FILL_IN)
    return ""


def _reason(concept: Element) -> str:
    own = [code for system, code in concept.codes() if system == OWN_REASON]
    words = concept.words()
    known = {REASONS.get(word.casefold(), "") for word in words}
    if own:
        return own[0] if len(own) == 1 and known <= {own[0]} else ""
    return known.pop() if len(known) == 1 else ""


def _route(concept: Element) -> str:
    codes, words = concept.codes(), concept.words()
    routes = {ROUTES.get(code) for code in codes}
    if len(routes) == 1 and (route := routes.pop()):
        return route.value
    if not codes and words == [_ON_TONGUE]:
        return Route.ON_TONGUE.value
    concept.put_back()
    return ""


def _dose(dosage: Element) -> str:
    rates = dosage.children("doseAndRate")
    if len(rates) != 1:
        for rate in rates:
            rate.put_back()
        return ""
    kind = rates[0].child("type")
    kinds = [coding.text("code") for coding in kind.children("coding")] or [""]
    for coding in kind.children("coding"):
        coding.text("system")
        coding.text("display")
    kind.text("text")
    if any(code not in _ORDERED for code in kinds):
        rates[0].put_back()
        return ""
    return tablets(rates[0].child("doseQuantity"))


def _most(ratio: Element) -> str:
    """Tablets in 24 hours; a largest amount over any other period is left, and so it is told."""
    period = ratio.child("denominator")
    hours = HOURS.get(period.text("code")) if period.text("system") == UCUM else None
    value = period.number("value")
    period.text("unit")
    if hours is None or value is None or value * hours != 24 or "comparator" in period.values:
        ratio.put_back()
        return ""
    most = tablets(ratio.child("numerator"))
    if not most:
        ratio.put_back()
    return most


def _as_needed(dosage: Element, tell: Tell) -> tuple[bool, list[Element]]:
    """Whether it is taken as needed, and what for."""
    concept = dosage.child("asNeededCodeableConcept")
    flag = dosage.flag("asNeededBoolean")
    if concept and flag is False:
        path = f"{dosage.path}.asNeededBoolean"
        tell(
            path, "says that it isn't taken as needed, and something else says that it is", _FILL_IN
        )
    return bool(flag or concept), [concept] if concept else []


def _times(dosage: Element, needed: bool, tell: Tell) -> dict[str, str]:
    cells = _schedule(dosage.child("timing"), needed)
    interval = _least_interval(dosage)
    if interval:
        cells["least_interval_h"] = interval
    if needed and not cells.get("when", "").endswith(WHEN_NEEDED):
        name = (
            "asNeededBoolean" if "asNeededBoolean" in dosage.values else "asNeededCodeableConcept"
        )
        wrong = "is to be taken as needed, at times for which there is no statement"
        tell(f"{dosage.path}.{name}", wrong, "write a 'when' that says when needed")
        cells.pop("when", None)
    return cells


def _least_interval(dosage: Element) -> str:
    for extension in dosage.children("extension"):
        if extension.values.get("url") == LEAST_INTERVAL:
            extension.text("url")
            hours = extension.child("valueQuantity")
            value = hours.number("value")
            if value and (hours.text("system"), hours.text("code")) == (UCUM, "h"):
                hours.text("unit")
                return plain(value)
            extension.put_back()
    return ""


def _schedule(timing: Element, needed: bool) -> dict[str, str]:
    if not timing:
        return {"when": WHEN_NEEDED} if needed else {}
    own = [code for system, code in timing.child("code").codes() if system == OWN_WHEN]
    cells = _repeated(timing, needed) if timing.child("repeat") else {}
    if len(own) == 1 and cells.get("when", own[0]) == own[0]:
        timing.child("code").words()
        return {"when": own[0]}
    if own or not cells:
        timing.put_back()
        return {}
    if timing.values.get("code"):
        timing.child("code").put_back()
    return cells


def _repeated(timing: Element, needed: bool) -> dict[str, str]:
    repeat = timing.child("repeat")
    bedtime = repeat.texts("when") == [BEDTIME]
    frequency = repeat.number("frequency")
    period, unit = repeat.number("period"), HOURS.get(repeat.text("periodUnit"))
    if set(repeat.values) - {"when", "frequency", "period", "periodUnit"}:
        return {}
    if bedtime and not needed and period in (None, 1) and frequency in (None, 1):
        return {"when": "at-bedtime"} if period is None or unit == 24 else {}
    if period is None or unit is None or "when" in repeat.values:
        return {}
    if frequency is None and "frequency" in repeat.values:
        return {}
    times, hours = frequency or Decimal(1), period * unit
    when = WHEN.get((times, hours, needed), "")
    if not when and (not needed or times != 1):
        return {}
    cells = {"when": when or WHEN_NEEDED}
    if times == 1:
        cells["least_interval_h"] = plain(hours)
    return cells
