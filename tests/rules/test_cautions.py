"""Warnings that follow from the medicine: which, in what order, and by which source."""

import pytest
from rules_builders import preparation_of, prescription_of, tadalafil, workspace

from labelkit.ground.errors import RuleRefused
from labelkit.records.model import ClosureRequest, Preparation, Prescription, Route
from labelkit.rules.cautions import cautions_for


def said(preparation: Preparation, rx: Prescription | None = None) -> list[str]:
    """Statement ids in their order."""
    return [c.statement for c in cautions_for(preparation, workspace(preparation), rx)]


def test_the_one_that_can_kill_comes_first_and_alone() -> None:
    """For PDE5 inhibitors it is nitrates, the only one of the first rank; ranks ascend."""
    preparation = tadalafil()
    found = cautions_for(preparation, workspace(preparation))
    assert found[0].statement == "caution.nitrates"
    assert [c.severity for c in found] == sorted(c.severity for c in found)
    assert [c.severity for c in found].count(1) == 1


@pytest.mark.parametrize(
    "statement",
    [
        # US labels of sildenafil, tadalafil and vardenafil, sections 4 and 5.
        "caution.nitrates", "caution.sgc-stimulators", "caution.other-pde5",
        "caution.heart-history", "caution.liver", "caution.kidney",
        "caution.eye-history", "caution.erection-4h", "caution.vision-loss",
        "caution.hearing-loss", "caution.chest-pain",
    ],
)  # fmt: skip
@pytest.mark.parametrize("inn", ["sildenafil", "tadalafil", "vardenafil", "avanafil", "newafil"])
def test_pde5_inhibitors_bring_their_labels_warnings(inn: str, statement: str) -> None:
    """For every member and, by the stem -afil (WHO stem book), for one that no list names."""
    assert statement in said(preparation_of(inn, "5 mg"))


@pytest.mark.parametrize(
    ("inn", "told"),
    [
        # US labels of sildenafil and tadalafil, sections 2 and 5: a lower dose, ask first.
        ("sildenafil", {"caution.alpha-blockers", "caution.cyp3a4"}),
        ("tadalafil", {"caution.alpha-blockers", "caution.cyp3a4"}),
        # US vardenafil ODT label: not with CYP3A4 inhibitors; the others from memory.
        (
            "vardenafil",
            {
                "caution.alpha-blockers-do-not-start",
                "caution.cyp3a4-do-not-take",
                "caution.antiarrhythmics",
            },
        ),
        # No figure is known beside strong inhibitors, and judging refuses them.
        ("avanafil", {"caution.alpha-blockers", "caution.cyp3a4-do-not-take"}),
    ],
)
def test_what_is_asked_first_and_what_is_forbidden(inn: str, told: set[str]) -> None:
    """A sentence that asks stands where a lower dose may be given, else one that forbids."""
    either = {
        "caution.alpha-blockers",
        "caution.alpha-blockers-do-not-start",
        "caution.cyp3a4",
        "caution.cyp3a4-do-not-take",
        "caution.antiarrhythmics",
    }
    assert either & set(said(preparation_of(inn, "5 mg"))) == told


@pytest.mark.parametrize(
    "statement",
    [
        "route.under-tongue.dry-hands", "route.under-tongue.use-at-once",
        "route.under-tongue.broken-or-open", "route.under-tongue.nothing-until-dissolved",
        "route.under-tongue.if-swallowed", "route.under-tongue.mouth-sores", "caution.children",
        "caution.child-takes-one", "caution.allergy",
    ],
)  # fmt: skip
@pytest.mark.parametrize("inn", ["tadalafil", "ondansetron", "melatonin", "cyanocobalamin"])
def test_under_the_tongue_whatever_the_drug(inn: str, statement: str) -> None:
    """The route's own cautions hold for a vitamin as for a PDE5 inhibitor."""
    assert statement in said(preparation_of(inn, "5 mg"))


def test_on_the_tongue_is_another_route() -> None:
    """On the tongue brings its own instruction and none of the other's."""
    found = said(preparation_of("ondansetron", "4 mg", route=Route.ON_TONGUE))
    assert {
        "route.on-tongue.place",
        "route.on-tongue.use-at-once",
        "route.on-tongue.broken-or-open",
    } <= set(found)
    assert not [s for s in found if s.startswith("route.under-tongue.")]


@pytest.mark.parametrize(
    ("handling", "expected"),
    [(("fragile", "peel-open"), True), (("peel-open",), False), (("fragile",), False), ((), False)],
)
def test_peel_do_not_push_needs_both(handling: tuple[str, ...], expected: bool) -> None:
    """It follows from fragile and peel-open together."""
    found = said(tadalafil(handling=handling))
    assert ("peel.do-not-push" in found) is expected


def test_a_comparison_brings_do_not_take_more() -> None:
    """Wherever a swallowed tablet is named, and only there."""
    assert "caution.comparison.do-not-take-more" in said(tadalafil())
    assert "caution.comparison.do-not-take-more" not in said(tadalafil(comparison=None))


def test_the_closure_is_said_as_it_is() -> None:
    """Child-resistant unless somebody asked otherwise on a day; never both, never neither."""
    preparation = tadalafil()
    usual = prescription_of(preparation)
    asked = usual.model_copy(
        update={"closure_request": ClosureRequest(by="patient", on=usual.dispensed_on)}
    )
    both = {"caution.child-resistant-outer", "caution.not-child-resistant"}
    assert both & set(said(preparation, usual)) == {"caution.child-resistant-outer"}
    assert both & set(said(preparation, asked)) == {"caution.not-child-resistant"}
    assert both & set(said(preparation)) == set()


def test_five_days_are_said_for_jet_lag_only() -> None:
    """UK SmPC of melatonin (jet lag): at most 5 days; not said of another use."""
    assert "caution.melatonin-days" in said(preparation_of("melatonin", "3 mg", uses=("jet-lag",)))
    assert "caution.melatonin-days" not in said(
        preparation_of("melatonin", "3 mg", uses=("sleep",))
    )


def test_each_statement_stands_once_at_its_worst() -> None:
    """A pharmacy that lists the nitrate caution itself doesn't lower or double it."""
    preparation = tadalafil(statements=("caution.nitrates", "caution.sunlight"))
    found = cautions_for(preparation, workspace(preparation))
    (nitrates,) = [c for c in found if c.statement == "caution.nitrates"]
    assert nitrates.severity == 1
    assert [c for c in found if c.statement == "caution.sunlight"][0].severity == 3  # noqa: RUF015


def test_every_caution_has_rule_and_source() -> None:
    """None is said without a reason that a pharmacist can read."""
    for inn in ("tadalafil", "ondansetron", "melatonin", "naltrexone", "dexamethasone"):
        preparation = preparation_of(inn, "5 mg")
        for caution in cautions_for(preparation, workspace(preparation)):
            assert caution.rule and len(caution.source) >= 8


def test_an_unknown_ingredient_has_no_cautions_to_give() -> None:
    """It is refused, never printed without warnings."""
    with pytest.raises(RuleRefused, match="no monograph covers misoprostol"):
        said(preparation_of("misoprostol", "100 mcg"))
