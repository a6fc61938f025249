"""All rules together, for one prescription, one lot or one preparation.

Every fault at once. A fault that a licensed person overrode in ``decisions.toml`` is left
out where its rule may be overridden; the report prints every recorded decision.
No answer here means 'no conflicts': it means that the rules found none in what is recorded.
"""

from collections.abc import Iterator

from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.model import Lot, Preparation, Prescription, Workspace
from labelkit.rules.beyond_use import judge_beyond_use, judge_study
from labelkit.rules.ceilings import judge_ceilings, judge_patient_limits
from labelkit.rules.comparisons import judge_comparison
from labelkit.rules.conflicts import (
    judge_conflicts,
    judge_contraindicated,
    judge_decisions,
    judge_pairs,
)
from labelkit.rules.limits import judge_limits
from labelkit.rules.lots import judge_made
from labelkit.rules.open import judge_open
from labelkit.rules.own_names import judge_medicine_names
from labelkit.rules.particulars import judge_profile
from labelkit.rules.persons import judge_persons
from labelkit.rules.places import of_lot, of_prescription
from labelkit.rules.prescribing import judge_validity
from labelkit.rules.printable import judge_own_words
from labelkit.rules.reasons import judge_uses
from labelkit.rules.regimen import judge_regimen, regimen_of
from labelkit.rules.unknown import judge_ingredients

OVERRIDABLE = frozenset({"conflict", "interaction", "age", "ceiling", "use"})
"""First parts of the ids of rules that a named pharmacist may override, with a reason.

Not among them: a patient whom nobody asked, unknown and controlled ingredients, the
preparation's own limits, comparisons, dates.
"""


def judge_prescription(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """Every fault of a prescription, its preparation's included."""
    general = judge_preparation(workspace, workspace.preparation(rx.preparation))
    return (*general, *judge_row(workspace, rx))


def judge_row(workspace: Workspace, rx: Prescription) -> tuple[Fault, ...]:
    """Every fault of a prescription's own row: for many, whose preparations are judged once."""
    return _kept(workspace, rx.number, tuple(_prescription(workspace, rx)))


def judge_lot(workspace: Workspace, lot: Lot) -> tuple[Fault, ...]:
    """Every fault of a lot, its preparation's included."""
    preparation = workspace.preparation(lot.preparation)
    general = judge_preparation(workspace, preparation)
    own = [*_counts(lot), *judge_made(workspace, lot)]
    if not any(fault.rule.startswith(("beyond-use.", "particulars.profile")) for fault in general):
        own += judge_beyond_use(workspace, lot)
    return (*general, *_kept(workspace, lot.number, tuple(own)))


def judge_preparation(workspace: Workspace, preparation: Preparation) -> tuple[Fault, ...]:
    """Every fault of a preparation, and of the pharmacy's country profile."""
    return _kept(workspace, preparation.id, tuple(_preparation(workspace, preparation)))


def _may_be_overridden(rule: str) -> bool:
    return rule.split(".")[0] in OVERRIDABLE


def _kept(workspace: Workspace, record: str, faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    overridden = {
        o.rule
        for o in workspace.decisions.overrides
        if o.record == record and _may_be_overridden(o.rule)
    }
    return tuple(dict.fromkeys(f for f in faults if f.rule not in overridden))


def _profile(workspace: Workspace) -> tuple[Fault, ...]:
    try:
        return judge_profile(workspace)
    except RuleRefused as refused:
        return refused.faults


def _preparation(workspace: Workspace, preparation: Preparation) -> Iterator[Fault]:
    profile = _profile(workspace)
    yield from profile
    yield from judge_medicine_names(workspace)
    yield from judge_ingredients(preparation, workspace)
    yield from judge_limits(preparation)
    yield from judge_ceilings(preparation, workspace)
    yield from judge_comparison(preparation)
    yield from judge_uses(preparation, workspace)
    yield from judge_contraindicated(preparation)
    yield from judge_pairs(preparation, workspace)
    yield from judge_decisions(preparation, workspace)
    yield from judge_own_words(preparation, workspace.pharmacy.language)
    if not any(fault.rule == "particulars.profile" for fault in profile):
        yield from judge_study(workspace, preparation)


def _prescription(workspace: Workspace, rx: Prescription) -> Iterator[Fault]:
    yield from judge_persons(workspace, rx)
    yield from judge_validity(workspace, rx)
    yield from judge_conflicts(workspace, rx)
    yield from judge_regimen(regimen_of(workspace, rx), of_prescription(rx))
    yield from judge_open(workspace, rx)
    yield from judge_patient_limits(workspace, rx)


def _counts(lot: Lot) -> Iterator[Fault]:
    if lot.usable < 0:
        yield of_lot(lot).fault(
            "made",
            f"{lot.made} made − {lot.rejected} rejected − {lot.tested} tested − "
            f"{lot.retained} retained = {lot.usable} usable",
            "count again",
            "lot.usable",
            "common practice, no source",
        )
