"""Published figures as bounds: labelled maxima, lower limits beside other medicines and by age.

They are figures of swallowed tablets (or of tablets on the tongue). Under the tongue they
can't be carried over by their number: a dose is compared by the swallowed strength that a
named person judged comparable, and where nobody did, a lower limit stops the job. Nothing
here permits anything: the preparation's own limits hold beside it.
"""

from collections.abc import Iterator
from decimal import Decimal

from labelkit.ground.errors import Fault
from labelkit.records.model import Amount, Preparation, Prescription, Route, Workspace
from labelkit.rules.amounts import duration, in_mg, parse, plain, spoken
from labelkit.rules.classes import AgeDatum, CeilingDatum, InteractionDatum, sets_for
from labelkit.rules.conflicts import taken_by
from labelkit.rules.limits import amount_limit, interval_limit, sum_shown
from labelkit.rules.places import At, of_patient, of_preparation, of_prescription
from labelkit.rules.products import Product, products
from labelkit.rules.regimen import Regimen, regimen_of
from labelkit.rules.substances import in_group, title_of

COMPARED_SOURCE = "the comparison recorded for the preparation"


def judge_ceilings(preparation: Preparation, workspace: Workspace) -> tuple[Fault, ...]:
    """Recorded limits that lie above what a label allows for the swallowed form."""
    at = of_preparation(preparation)
    return tuple(
        fault
        for ingredient in preparation.ingredients
        for rules in sets_for(ingredient.inn, workspace)
        for ceiling in rules.ceilings
        if ceiling.holds_for(ingredient.inn, preparation.uses)
        for fault in (
            *_above(preparation, ingredient.inn, ceiling, at),
            *_compared_above(preparation, ingredient.inn, ceiling, at),
        )
    )


def judge_patient_limits(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """Lower limits that hold for this patient: other medicines, age, days of supply."""
    regimen = regimen_of(workspace, rx)
    preparation = regimen.product.preparation
    at = of_prescription(rx)
    faults: list[Fault] = []
    for ingredient in preparation.ingredients:
        inn = ingredient.inn
        for rules in sets_for(inn, workspace):
            for interaction in rules.interactions:
                if interaction.holds_for(inn, preparation.uses):
                    faults.extend(_beside(workspace, regimen, rx, interaction, at))
            for age in rules.ages:
                if age.holds_for(inn, preparation.uses):
                    faults.extend(_of_age(regimen, rx, inn, rules.id, age, at))
            for ceiling in rules.ceilings:
                if ceiling.holds_for(inn, preparation.uses):
                    faults.extend(_days(regimen, ceiling, at))
    return tuple(faults)


def years(rx: Prescription) -> int:
    """The patient's age in whole years on the day of dispensing."""
    born, on = rx.patient.born_on, rx.dispensed_on
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))


def swallowed(product: Product) -> Amount | None:
    """The amount that one tablet stands for when a figure of swallowed tablets is applied.

    None where the tablet goes under the tongue and no comparison is recorded that can be
    read, or where it holds more than one ingredient.
    """
    preparation, amounts = product.preparation, product.strength.amounts
    if len(amounts) > 1:
        return None
    if preparation.comparison is not None:
        rows = {row.strength: row.swallowed for row in preparation.comparison.rows}
        try:
            return parse(rows[product.label])
        except (KeyError, ValueError):
            return None  # judge_comparison has refused the table
    return amounts[0] if preparation.route is Route.ON_TONGUE else None


def _above(preparation: Preparation, inn: str, ceiling: CeilingDatum, at: At) -> Iterator[Fault]:
    limits = preparation.limits
    pairs = (
        ("single_dose", amount_limit(limits.single_dose, inn), ceiling.single_dose_amount),
        ("in_24_h", amount_limit(limits.in_24_h, inn), ceiling.in_24_h_amount),
    )
    for field, limit, most in pairs:
        if limit is not None and most is not None and in_mg(limit[0]) > in_mg(most):
            yield at.fault(
                f"limits.{field}",
                f"{spoken(limit[0])} of {inn} is above the {spoken(most)} of the label",
                "correct the limit; a pharmacist may record an override",
                f"ceiling.{field.replace('_', '-')}",
                ceiling.source,
            )
    interval = interval_limit(limits.least_interval, inn)
    least = ceiling.least_interval_h
    if interval is not None and least is not None and interval[0] < least:
        yield at.fault(
            "limits.least_interval",
            f"{duration(interval[0])} is shorter than the label's {duration(least)}",
            "correct the limit; a pharmacist may record an override",
            "ceiling.least-interval",
            ceiling.source,
        )


def _compared_above(
    preparation: Preparation, inn: str, ceiling: CeilingDatum, at: At
) -> Iterator[Fault]:
    """The recorded dose limit, in tablets, said in swallowed strengths."""
    most = ceiling.single_dose_amount
    limit = amount_limit(preparation.limits.single_dose, inn)
    if most is None or limit is None or preparation.comparison is None:
        return
    for product in products(preparation):
        one = swallowed(product)
        if one is None:
            continue
        tablets = Decimal(in_mg(limit[0]) // in_mg(product.strength.amounts[0]))
        if tablets * in_mg(one) > in_mg(most):
            yield at.fault(
                "limits.single_dose",
                f"at {product.label} it allows {sum_shown(tablets, one)} of the swallowed "
                f"tablet, above the {spoken(most)} of its label",
                "correct the limit or the comparison; a pharmacist may record an override",
                "ceiling.comparable",
                f"{COMPARED_SOURCE}; {ceiling.source}",
            )


def _beside(
    workspace: Workspace,
    regimen: Regimen,
    rx: Prescription,
    interaction: InteractionDatum,
    at: At,
) -> Iterator[Fault]:
    for taken in taken_by(workspace, rx):
        if in_group(taken, interaction.group):
            title = title_of(interaction.group)
            beside = f"beside {taken}" + (f" ({title})" if title != taken else "")
            yield from _lower(
                regimen,
                parse(interaction.single_dose),
                interaction.least_interval_h,
                beside,
                f"interaction.{interaction.group}",
                interaction.source,
                at,
            )


def _of_age(
    regimen: Regimen, rx: Prescription, inn: str, class_id: str, age: AgeDatum, at: At
) -> Iterator[Fault]:
    old = years(rx)
    below, from_ = age.below_years, age.from_years
    if not ((below is not None and old < below) or (from_ is not None and old >= from_)):
        return
    if age.single_dose:
        beside = f"at {old} years"
        yield from _lower(
            regimen, parse(age.single_dose), None, beside, f"age.{class_id}", age.source, at
        )
    else:
        yield of_patient(rx.patient).fault(
            "born_on",
            f"the patient is {old} years old on the day of dispensing; {inn} isn't given "
            + (f"under {below} years" if below is not None else f"from {from_} years"),
            "call the prescriber; a pharmacist may record an override",
            f"age.{class_id}",
            age.source,
        )


def _lower(
    regimen: Regimen,
    most: Amount,
    interval_h: Decimal | None,
    beside: str,
    rule: str,
    source: str,
    at: At,
) -> Iterator[Fault]:
    one = swallowed(regimen.product)
    mend = "call the prescriber for a lower dose; a pharmacist may record an override"
    if one is None:
        yield at.fault(
            "tablets_per_dose",
            f"{beside} the limit for a swallowed dose is {spoken(most)}, and no comparison says "
            f"what that is under the tongue",
            "call the prescriber; a pharmacist may record an override",
            rule,
            source,
        )
        return
    asked = regimen.directions
    spans = (("tablets_per_dose", asked.tablets_per_dose), ("most_in_24_h", asked.most_in_24_h))
    compared = regimen.product.preparation.comparison
    named = "" if compared is None else ", as swallowed tablets judged comparable"
    for field, tablets in spans:
        if tablets * in_mg(one) > in_mg(most):
            yield at.fault(
                field,
                f"{sum_shown(tablets, one)}{named}; {beside} the limit is {spoken(most)}",
                mend,
                rule,
                source,
            )
    if interval_h is not None and asked.least_interval_h < interval_h:
        yield at.fault(
            "least_interval_h",
            f"{duration(asked.least_interval_h)} between doses; {beside} the least interval "
            f"is {duration(interval_h)}",
            "call the prescriber for a longer interval; a pharmacist may record an override",
            rule,
            source,
        )


def _days(regimen: Regimen, ceiling: CeilingDatum, at: At) -> Iterator[Fault]:
    days, quantity = regimen.least_days, regimen.quantity
    if ceiling.most_days is None or days is None or days <= ceiling.most_days:
        return
    asked = regimen.directions
    said = (
        f"taken {asked.when}"
        if regimen.lasts_days
        else f"at most {plain(asked.most_in_24_h)} in 24 hours"
    )
    yield at.fault(
        "quantity_this_fill",
        f"{quantity} tablets, {said}, last longer than {ceiling.most_days} days in a row",
        f"fill {plain(regimen.tablets_for(ceiling.most_days))} tablets or fewer; a pharmacist may "
        "record an override",
        "ceiling.days",
        ceiling.source,
    )
