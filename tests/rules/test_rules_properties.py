"""What holds for every record: more is never safer, and silence never removes a warning."""

from decimal import Decimal

from decision_rows import ondansetron
from hypothesis import given, settings
from hypothesis import strategies as st
from rules_builders import directions, patient, prescription_of, sildenafil, tadalafil, workspace

from labelkit.ground.errors import Fault
from labelkit.records.model import Directions, Preparation
from labelkit.rules.amounts import in_mg, multiple, parse, plain
from labelkit.rules.cautions import cautions_for
from labelkit.rules.identifying import identify
from labelkit.rules.judging import judge_prescription
from labelkit.rules.limits import dose_limits
from labelkit.rules.places import At
from labelkit.rules.products import Product, products
from labelkit.rules.regimen import Regimen, judge_regimen

AT = At("prescriptions", "prescription 1", "1")

TABLETS = st.decimals("0.5", "12", places=1)
HOURS = st.decimals("0.5", "80", places=2)
PREPARATIONS = st.sampled_from([tadalafil(), ondansetron(), sildenafil()])
TAKEN = st.sampled_from([(), ("ritonavir",), ("tamsulosin",), ("itraconazole", "lisinopril")])


def dose_faults(
    preparation: Preparation, asked: Directions, taken: tuple[str, ...] = ()
) -> set[str]:
    """Rules of dose that refuse these directions for a patient who takes that."""
    rx = prescription_of(preparation, directions=asked, patient=patient(*taken))
    space = workspace(preparation, prescriptions=(rx,))
    return {
        fault.rule
        for fault in judge_prescription(space, rx)
        if fault.rule.startswith(("dose.", "interaction.", "age.", "ceiling."))
    }


@settings(max_examples=120, deadline=None)
@given(PREPARATIONS, TAKEN, TABLETS, TABLETS, HOURS, TABLETS)
def test_more_is_never_safer(
    preparation: Preparation,
    taken: tuple[str, ...],
    dose: Decimal,
    most: Decimal,
    hours: Decimal,
    more: Decimal,
) -> None:
    """Raising dose, count or frequency never turns a refusal into a pass."""
    asked = directions(tablets_per_dose=dose, most_in_24_h=most, least_interval_h=hours)
    before = dose_faults(preparation, asked, taken)
    raised = (
        asked.model_copy(update={"tablets_per_dose": dose + more}),
        asked.model_copy(update={"most_in_24_h": most + more}),
        asked.model_copy(update={"least_interval_h": hours / (1 + more)}),
    )
    for larger in raised:
        assert before <= dose_faults(preparation, larger, taken)


@settings(max_examples=60, deadline=None)
@given(PREPARATIONS, TABLETS, HOURS)
def test_a_stronger_tablet_is_never_safer(
    preparation: Preparation, dose: Decimal, hours: Decimal
) -> None:
    """The same directions with a larger strength are refused by at least the same dose rules."""
    asked = directions(tablets_per_dose=dose, most_in_24_h=dose, least_interval_h=hours)
    refused: set[str] = set()
    for product in products(preparation):
        found = {
            f.rule
            for f in judge_regimen(Regimen(product, asked, 10), AT)
            if f.rule.startswith("dose.")
        }
        assert refused <= found
        refused = found


@settings(max_examples=60, deadline=None)
@given(st.sets(st.sampled_from(
    ["handling", "contraindicated", "statements", "side_effects", "urgent_effects", "excipients",
     "comparison", "appearance"]
)))  # fmt: skip
def test_an_emptier_file_keeps_every_warning_of_the_class(emptied: set[str]) -> None:
    """Removing a field from a preparation's file never removes a caution of its class or route."""
    full = sildenafil(
        contraindicated=("nitrates",), statements=("caution.nitrates",), excipients=("mannitol",)
    )
    update = dict.fromkeys(emptied - {"comparison", "appearance"}, ())
    if "comparison" in emptied:
        update["comparison"] = None  # type: ignore[assignment]
    silent = full.model_copy(update=update)

    def of_class(preparation: Preparation) -> dict[str, int]:
        return {
            c.statement: c.severity
            for c in cautions_for(preparation, workspace(preparation))
            if c.rule.startswith(("class.", "circumstance.under-the-tongue", "circumstance.always"))
        }

    assert of_class(silent) == of_class(full)
    assert "caution.nitrates" in of_class(silent)


@given(TABLETS, st.sampled_from(["500 mcg", "2.5 mg", "0.1 g"]))
def test_sums_are_exact(times: Decimal, text: str) -> None:
    """A multiple converted is the converted value multiplied: nothing is rounded on the way."""
    one = parse(text)
    assert in_mg(multiple(times, one)) == times * in_mg(one)


@given(st.decimals("0.001", "999999", places=3))
def test_numbers_in_messages_are_not_misread(value: Decimal) -> None:
    """No exponent, no trailing zero, a zero before the point, and the same value read back."""
    text = plain(value)
    assert Decimal(text.replace(",", "")) == value
    assert not text.startswith(".") and "E" not in text
    assert "." not in text or not text.endswith("0")


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=40))
def test_any_text_is_identified_or_asked_about(written: str) -> None:
    """A line of a list of medicines never vanishes: it names a substance, or words not known."""
    found = identify(written)
    assert found.substances or found.unknown


@settings(max_examples=80, deadline=None)
@given(PREPARATIONS, TABLETS)
def test_printed_limits_never_exceed_the_recorded_ones(
    preparation: Preparation, dose: Decimal
) -> None:
    """The whole tablets that are printed as a limit pass it; one tablet more is refused."""
    for product in products(preparation):
        printed = dose_limits(product)
        hours = printed.least_interval_h

        def refused(tablets: int, of: Product = product, h: Decimal = hours) -> list[Fault]:
            asked = directions(
                tablets_per_dose=Decimal(tablets), most_in_24_h=Decimal(tablets), least_interval_h=h
            )
            return [
                f for f in judge_regimen(Regimen(of, asked, None), AT) if f.rule == "dose.single"
            ]

        assert refused(printed.single_dose_tablets) == []
        assert refused(printed.single_dose_tablets + 1) or (
            printed.single_dose_tablets == printed.in_24_h_tablets
        )
