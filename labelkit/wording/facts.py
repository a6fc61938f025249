"""Facts: what the records say of one medicine, one lot, one fill, ready to print.

A fact is text of one language under a name that layouts use. What comes straight from a
record (a name, a lot number) needs no review; what is worded has the review state of its
statement. A fact that doesn't apply is absent. The drug's name stays its international
English one on every face (USP <17>), and the strength is written one way on all of them.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from decimal import Decimal

from babel.lists import format_list

from labelkit.ground.quoting import parted, whole
from labelkit.records.model import (
    ActiveIngredient,
    Lot,
    Pharmacy,
    Preparation,
    Prescriber,
    Prescription,
    Workspace,
)
from labelkit.rules.limits import dose_limits, least_interval_h
from labelkit.rules.model import DoseLimits, Fill, Pack
from labelkit.rules.products import Product, product
from labelkit.rules.tall_man import spelt
from labelkit.wording.dates import date_text, short_date_text
from labelkit.wording.directions import sentence
from labelkit.wording.keeping import unbroken
from labelkit.wording.model import ReviewState, Said, Voice
from labelkit.wording.numbers import amount_text, amounts_text, locale_of, strength_text
from labelkit.wording.own_words import as_recorded

_BASE = "base"


def preparation_facts(
    workspace: Workspace, preparation: Preparation, voice: Voice
) -> dict[str, Said]:
    """What holds for a preparation in all its strengths, of any lot.

    Raises WordingRefused where the language lacks a word that is needed.
    """
    pharmacy = workspace.pharmacy
    facts = [
        _record("drug", drug_name(preparation, label=True), voice, verbatim=True),
        _worded("form", voice.say(f"form.{preparation.dosage_form}")),
        _worded("route", voice.say(f"route.{preparation.route.value}")),
        _worded("storage", voice.say(f"storage.{preparation.storage}")),
        _joined(
            "strength_basis", [_basis(i, pharmacy, voice) for i in preparation.ingredients], voice
        ),
        _worded("beyond_use_label", voice.say(f"label.beyond-use.{pharmacy.country}")),
        _record("pharmacy", pharmacy.name, voice),
        _record("pharmacy_short", pharmacy.short_name or pharmacy.name, voice),
        _record("pharmacy_address", ", ".join(pharmacy.address), voice),
        _record("pharmacy_telephone", pharmacy.telephone, voice, verbatim=True),
        _record("pharmacy_licence", pharmacy.licence, voice, verbatim=True),
        out_of_hours(pharmacy, voice),
    ]
    if preparation.excipients:
        names = [substance(name, "excipient", pharmacy, voice) for name in preparation.excipients]
        facts.append(_joined("excipients", names, voice))
    return _named(*facts)


def product_facts(workspace: Workspace, medicine: Product, voice: Voice) -> dict[str, Said]:
    """What holds for a preparation in one strength, of any lot. Raises WordingRefused."""
    general = preparation_facts(workspace, medicine.preparation, voice)
    return general | _named(*_strength_facts(workspace, medicine, voice))


def lot_facts(workspace: Workspace, lot: Lot, beyond_use: date, voice: Voice) -> dict[str, Said]:
    """What holds for every tablet of a lot. The cell's serial is not among them."""
    medicine = product(workspace.preparation(lot.preparation), lot.strength)
    facts = product_facts(workspace, medicine, voice)
    facts |= _named(
        _record("lot", lot.number, voice, verbatim=True),
        _record("beyond_use", date_text(beyond_use, voice.locale), voice, verbatim=True),
        _record("made_on", date_text(lot.made_on, voice.locale), voice, verbatim=True),
    )
    short = short_date_text(beyond_use, voice.locale)
    # Said in less room, and the same particular: it answers for the date's own name.
    return facts | {"beyond_use_short": _record("beyond_use", short, voice, verbatim=True)}


def prescription_facts(rx: Prescription, voice: Voice) -> dict[str, Said]:
    """What holds for a prescription, whatever lot it is filled from."""
    refills = (
        voice.say("rx.refills", {"refills": rx.refills_left})
        if rx.refills_left
        else voice.say("rx.no-refills")
    )
    return _named(
        _record("patient", rx.patient.name, voice),
        _record("patient_born", date_text(rx.patient.born_on, voice.locale), voice, verbatim=True),
        _record("rx_number", rx.number, voice, verbatim=True),
        _record("written_on", date_text(rx.written_on, voice.locale), voice, verbatim=True),
        _record("dispensed_on", date_text(rx.dispensed_on, voice.locale), voice, verbatim=True),
        *_prescriber(rx.prescriber, voice),
        sentence(rx.directions, voice),
        _worded("quantity", voice.say("quantity.tablets", {"tablets": rx.quantity_this_fill})),
        _worded("refills", refills),
    )


def prescriber_facts(prescriber: Prescriber, voice: Voice) -> dict[str, Said]:
    """Who prescribes: on what is made for a patient, and on a pad made for one prescriber."""
    return _named(*_prescriber(prescriber, voice))


def _prescriber(prescriber: Prescriber, voice: Voice) -> tuple[Said, ...]:
    return (
        _record("prescriber", prescriber.name, voice),
        _record("prescriber_registration", prescriber.registration, voice, verbatim=True),
        _record("prescriber_telephone", prescriber.telephone, voice, verbatim=True),
    )


def fill_facts(
    workspace: Workspace, rx: Prescription, fill: Fill, pack: Pack | None, voice: Voice
) -> dict[str, Said]:
    """Everything about one fill, and with `pack` about that pack of it."""
    facts = lot_facts(workspace, workspace.lot(fill.lot), fill.beyond_use, voice)
    facts |= prescription_facts(rx, voice)
    if pack is None:
        return facts
    counted = {"number": pack.number, "of": pack.of, "tablets": pack.tablets}
    return facts | _named(
        _worded("pack_line", voice.say("pack.line", counted)),
        _record("tablets_in_pack", str(pack.tablets), voice, verbatim=True),
    )


def values(workspace: Workspace, preparation: Preparation) -> dict[str, object]:
    """Values for the placeholders of statements, in no language yet: of any strength.

    None of them counts tablets: those of `product_values` do.
    """
    pharmacy = workspace.pharmacy
    interval_h = least_interval_h(preparation)
    found: dict[str, object] = {
        "drug": drug_name(preparation),
        "least_interval_h": interval_h,
        "least_interval_min": interval_h * 60,
        "pharmacy": pharmacy.name,
        "pharmacy_telephone": pharmacy.telephone,
    }
    if preparation.comparison is not None:
        found |= {
            "swallowed_name": preparation.comparison.swallowed_name,
            "judged_by": preparation.comparison.judged_by,
            "judged_on": preparation.comparison.judged_on,
        }
    return found


def product_values(
    workspace: Workspace, medicine: Product, rx: Prescription | None
) -> dict[str, object]:
    """Values for the placeholders of statements, in no language yet: of one strength.

    With a prescription, each limit is the stricter of the product's and the directions'.
    Raises RuleRefused where a limit is missing.
    """
    pharmacy = workspace.pharmacy
    limits = dose_limits(medicine)
    interval_h = limits.least_interval_h
    single, in_24_h = _most_tablets(limits, rx)
    if rx is not None:
        interval_h = max(interval_h, rx.directions.least_interval_h)
    found = values(workspace, medicine.preparation) | {
        "strength": strength_text(
            medicine.strength, locale_of(pharmacy.language, pharmacy.country)
        ),
        "single_dose_tablets": single,
        "in_24_h_tablets": in_24_h,
        "most_in_24_h": in_24_h,
        "least_interval_h": interval_h,
        "least_interval_min": interval_h * 60,
    }
    if rx is not None:
        found |= {"rx_number": rx.number, "refills": rx.refills_left}
    return found


def tablet_limits(
    workspace: Workspace, medicine: Product, rx: Prescription | None, voice: Voice
) -> dict[str, Said]:
    """The most at one time and in 24 hours of one product: ``2 tablets (10 mg)``.

    The amount is that of so many tablets. With a prescription, each is the stricter of the
    product's and the directions'. Raises RuleRefused where a limit is missing.
    """
    pharmacy = workspace.pharmacy
    locale = locale_of(pharmacy.language, pharmacy.country)
    single, in_24_h = _most_tablets(dose_limits(medicine), rx)

    def fact(name: str, tablets: Decimal) -> Said:
        amount = amounts_text(medicine.amounts_in(tablets), locale)
        return _worded(name, voice.say("limit.tablets", {"tablets": tablets, "amount": amount}))

    return _named(fact("limit_at_one_time", single), fact("limit_in_24_h", in_24_h))


def _most_tablets(limits: DoseLimits, rx: Prescription | None) -> tuple[Decimal, Decimal]:
    """Tablets at one time and in 24 hours: the stricter of the limits and the directions."""
    single, in_24_h = Decimal(limits.single_dose_tablets), Decimal(limits.in_24_h_tablets)
    if rx is not None:
        in_24_h = min(in_24_h, rx.directions.most_in_24_h)
        single = min(single, in_24_h, rx.directions.tablets_per_dose)
    return single, in_24_h


def drug_name(preparation: Preparation, *, label: bool = False) -> str:
    """The INNs in their order.

    With `label`, look-alike names in their published mixed case (hydrALAZINE), and others as
    a line starts: first letter a capital.
    """
    if not label:
        return " / ".join(ingredient.inn for ingredient in preparation.ingredients)
    names = [spelt(ingredient.inn) for ingredient in preparation.ingredients]
    first = names[0][:1].upper() + names[0][1:] if names[0].islower() else names[0]
    return " / ".join((first, *names[1:]))


def swallowed_name(pharmacy: Pharmacy, preparation: Preparation, voice: Voice) -> Said | str:
    """What the comparison's swallowed tablet is: in the language where its form has a word there.

    ``tadalafil film-coated tablet`` is read as the drug and a form; a name that is read as
    neither stays as it was recorded. Raises KeyError where nothing is compared.
    """
    if preparation.comparison is None:
        raise KeyError("swallowed_name")
    recorded = preparation.comparison.swallowed_name
    drug = drug_name(preparation)
    if recorded == drug:
        return recorded
    form = recorded.removeprefix(drug).strip()
    id_ = f"swallowed.{_slug(form)}"
    if not voice.has(id_):
        return _kept(as_recorded("swallowed_name", recorded, pharmacy, voice))
    said = voice.say(id_)
    return said if form == recorded else voice.say("swallowed.of", {"drug": drug, "form": said})


def comparison_source(pharmacy: Pharmacy, preparation: Preparation, voice: Voice) -> Said:
    """Where the comparison was taken from, as it was recorded. Raises KeyError without one."""
    if preparation.comparison is None:
        raise KeyError("comparison_source")
    source = preparation.comparison.source
    return _kept(as_recorded("comparison_source", source, pharmacy, voice))


def out_of_hours(pharmacy: Pharmacy, voice: Voice) -> Said:
    """Who answers when the pharmacy is closed, as it was recorded."""
    return _kept(as_recorded("out_of_hours", pharmacy.out_of_hours, pharmacy, voice))


def substance(name: str, kind: str, pharmacy: Pharmacy, voice: Voice) -> Said:
    """An excipient's or salt's name in the language, or as recorded where it has none."""
    id_ = f"{kind}.{name.strip().lower().replace(' ', '-')}"
    if voice.has(id_):
        return voice.say(id_)
    return as_recorded(kind, name, pharmacy, voice)


def _kept(said: Said) -> Said:
    """A record's words, broken between themselves and nowhere else."""
    return replace(said, verbatim=unbroken(said.text))


def _strength_facts(workspace: Workspace, medicine: Product, voice: Voice) -> Iterable[Said]:
    strength = medicine.strength
    pharmacy = workspace.pharmacy
    locale = locale_of(pharmacy.language, pharmacy.country)
    looks = strength.appearance
    parts: dict[str, object] = {
        "colour": voice.say(f"colour.{_slug(looks.colour)}"),
        "shape": voice.say(f"shape.{_slug(looks.shape)}"),
    }
    if looks.mark:
        appearance = voice.say("appearance.marked", parts | {"mark": looks.mark})
    else:
        appearance = voice.say("appearance.plain", parts)
    ingredients = [
        _ingredient(ingredient, amount_text(amount, locale), pharmacy, voice)
        for ingredient, amount in medicine.contents
    ]
    return (
        _record("strength", strength_text(strength, locale), voice, verbatim=True),
        _worded("appearance", appearance),
        _joined("ingredients", ingredients, voice),
    )


def _ingredient(
    ingredient: ActiveIngredient, amount: str, pharmacy: Pharmacy, voice: Voice
) -> Said:
    parts: dict[str, object] = {"drug": ingredient.inn, "amount": amount}
    if ingredient.form == _BASE:
        return voice.say("ingredient.plain", parts)
    salt = substance(ingredient.form, "salt", pharmacy, voice)
    return voice.say("ingredient.salt", parts | {"salt": salt})


def _basis(ingredient: ActiveIngredient, pharmacy: Pharmacy, voice: Voice) -> Said:
    parts: dict[str, object] = {"drug": ingredient.inn}
    if ingredient.form == _BASE:
        return voice.say("basis.base", parts)
    salt = substance(ingredient.form, "salt", pharmacy, voice)
    as_base = ingredient.strength_as == _BASE
    return voice.say("basis.salt-as-base" if as_base else "basis.salt", parts | {"salt": salt})


def _slug(word: str) -> str:
    return word.strip().lower().replace(" ", "-")


def _named(*facts: Said) -> dict[str, Said]:
    return {fact.origin.removeprefix("fact:"): fact for fact in facts}


def _record(name: str, text: str, voice: Voice, *, verbatim: bool = False) -> Said:
    """A record's own text: kept on one line where `verbatim`, else broken between words."""
    kept = (text,) if verbatim else unbroken(text)
    return Said(text, voice.language, f"fact:{name}", ReviewState.ACCEPTED, kept, whole(text))


def _worded(name: str, said: Said) -> Said:
    return replace(said, origin=f"fact:{name}")


def _joined(name: str, parts: list[Said], voice: Voice) -> Said:
    texts = [part.marked for part in parts]
    if all(part.text.endswith((".", "。", "।")) for part in parts):
        text, quoted = parted(" ".join(texts))
    else:
        text, quoted = parted(format_list(texts, style="standard", locale=voice.locale))
    states = {part.state for part in parts}
    state = ReviewState.UNREVIEWED if ReviewState.UNREVIEWED in states else ReviewState.ACCEPTED
    return Said(
        text,
        voice.language,
        f"fact:{name}",
        state,
        tuple(kept for part in parts for kept in part.verbatim),
        quoted,
    )
