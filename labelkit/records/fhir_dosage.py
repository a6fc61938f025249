"""FHIR R4 `Dosage` and `Quantity`, as cells of a prescription row.

Maps a structured dose in tablets, a route, a plain schedule, a largest amount in 24 hours.
A dose in milligrams, a range, a rate or a schedule of several times isn't turned into
tablets or hours: it is left, and so it is named.
"""

from decimal import Decimal

from labelkit.records.fhir_elements import Element
from labelkit.records.fhir_terms import BEDTIME, HOURS, REASONS, ROUTES, TABLETS, UCUM, WHEN

_ORDERED = ("ordered", "")


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
    return f"{value.normalize():f}"


def dosage_cells(dosage: Element) -> dict[str, str]:
    """Cells that the one dosage instruction gives."""
    dosage.number("sequence")
    needed, reason = _as_needed(dosage)
    return {
        "route": _route(dosage.child("route")),
        "tablets_per_dose": _dose(dosage),
        "most_in_24_h": _most(dosage.child("maxDosePerPeriod")),
        "reason": reason,
        **_schedule(dosage.child("timing"), needed),
    }


def reason(concept: Element) -> str:
    """Ending of the statement `reason.…`, or '' for one that isn't known."""
    words = [concept.text("text")] + [
        coding.text("display") for coding in concept.children("coding")
    ]
    for word in words:
        if word.casefold() in REASONS:
            return REASONS[word.casefold()]
    concept.put_back()
    return ""


def _route(concept: Element) -> str:
    for coding in concept.children("coding"):
        route = ROUTES.get((coding.text("system"), coding.text("code")))
        if route:
            coding.text("display")
            concept.text("text")
            return route.value
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
    period = ratio.child("denominator")
    hours = HOURS.get(period.text("code")) if period.text("system") == UCUM else None
    value = period.number("value")
    if hours is None or value is None or value * hours != 24:
        ratio.put_back()
        return ""
    period.text("unit")
    return tablets(ratio.child("numerator"))


def _as_needed(dosage: Element) -> tuple[bool, str]:
    if dosage.flag("asNeededBoolean"):
        return True, ""
    concept = dosage.child("asNeededCodeableConcept")
    return (True, reason(concept)) if concept else (False, "")


def _schedule(timing: Element, needed: bool) -> dict[str, str]:
    if not timing:
        return {"when": "when-needed"} if needed else {}
    repeat = timing.child("repeat")
    bedtime = repeat.texts("when") == [BEDTIME]
    frequency = repeat.number("frequency") or Decimal(1)
    period, unit = repeat.number("period"), HOURS.get(repeat.text("periodUnit"))
    if set(repeat.values) - {"when", "frequency", "period", "periodUnit"}:
        timing.put_back()
        return {}
    if bedtime and period is None and not needed:
        return {"when": "at-bedtime"}
    if period is None or unit is None or "when" in repeat.values:
        timing.put_back()
        return {}
    hours = period * unit
    when = WHEN.get((frequency, hours, needed), "")
    if not when and not needed:
        timing.put_back()
        return {}
    cells = {"when": when or "when-needed"}
    if frequency == 1:
        cells["least_interval_h"] = f"{hours.normalize():f}"
    elif not when:
        timing.put_back()
        return {}
    return cells
