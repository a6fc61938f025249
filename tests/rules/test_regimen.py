"""A regimen is one value: what of it contradicts itself, what it comes to, how long it lasts."""

import subprocess
import sys
import tomllib
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from decision_rows import melatonin, ondansetron
from hypothesis import given, settings
from hypothesis import strategies as st
from rules_builders import (
    directions,
    limits_of,
    preparation_of,
    prescription_of,
    tadalafil,
    workspace,
)

from labelkit.records.model import Preparation
from labelkit.rules.amounts import in_mg
from labelkit.rules.judging import judge_preparation, judge_prescription
from labelkit.rules.limits import dose_limits
from labelkit.rules.places import At
from labelkit.rules.products import Product, product, products
from labelkit.rules.regimen import Regimen, judge_regimen
from labelkit.rules.times import listed, times_of

AT = At("prescriptions", "prescription 1", "1")
STATEMENTS = Path(__file__).resolve().parents[2] / "labelkit" / "wording" / "statements"
THREE = preparation_of("tadalafil", "2.5 mg", "5 mg", "10 mg")


def refused(preparation: Preparation, quantity: int = 10, **change: Any) -> dict[str, str]:
    """Rules that refuse a prescription of it with those directions, each with its words."""
    numbers = ("tablets_per_dose", "least_interval_h", "most_in_24_h")
    asked = {k: Decimal(v) if k in numbers else v for k, v in change.items()}
    rx = prescription_of(
        preparation,
        directions=directions(**{"reason": preparation.uses[0], **asked}),
        quantity_this_fill=quantity,
    )
    found = judge_prescription(workspace(preparation, prescriptions=(rx,)), rx)
    return {fault.rule: fault.wrong for fault in found}


def test_a_limit_in_tablets_is_the_strengths_own() -> None:
    """10 mg is four tablets of 2.5 mg, two of 5 mg and one of 10 mg, at one time and in a day."""
    counted = [dose_limits(one) for one in products(THREE)]
    assert [one.label for one in products(THREE)] == ["2.5 mg", "5 mg", "10 mg"]
    assert [limits.single_dose_tablets for limits in counted] == [4, 2, 1]
    assert [limits.in_24_h_tablets for limits in counted] == [4, 2, 1]


def test_the_order_of_strengths_in_the_file_changes_nothing() -> None:
    """Whichever strength stands first, each keeps its own limits."""
    turned = THREE.model_copy(update={"strengths": THREE.strengths[::-1]})
    assert [dose_limits(one) for one in products(turned)] == [
        dose_limits(one) for one in products(THREE)
    ]


def test_a_strength_of_something_else_makes_no_product() -> None:
    """A strength that the preparation isn't sold in is refused where the two are joined."""
    with pytest.raises(ValueError, match="has no strength 4 mg"):
        Product(THREE, ondansetron().strengths[0])


def test_the_type_checker_refuses_tablets_of_a_preparation(tmp_path: Path) -> None:
    """Limits in tablets, and values that count them, can't be asked of a preparation."""
    snippet = tmp_path / "snippet.py"
    snippet.write_text(
        "from labelkit.records.model import Directions, Preparation, Workspace\n"
        "from labelkit.rules.ceilings import swallowed\n"
        "from labelkit.rules.limits import dose_limits\n"
        "from labelkit.rules.products import Product\n"
        "from labelkit.rules.regimen import Regimen\n"
        "from labelkit.wording.facts import product_values\n"
        "\n"
        "def of_product(p: Product, w: Workspace, d: Directions) -> None:\n"
        "    dose_limits(p), swallowed(p), product_values(w, p, None), Regimen(p, d, 1)\n"
        "\n"
        "def of_preparation(p: Preparation, w: Workspace, d: Directions) -> None:\n"
        "    dose_limits(p)\n"
        "    swallowed(p)\n"
        "    product_values(w, p, None)\n"
        "    Regimen(p, d, 1)\n",
        encoding="utf-8",
    )
    words = ("-m", "mypy", "--strict", "--no-error-summary", f"--cache-dir={tmp_path}/cache")
    done = subprocess.run(
        [sys.executable, *words, str(snippet)], capture_output=True, text=True, check=False
    )
    told = done.stdout.splitlines()
    assert [int(line.split(":")[1]) for line in told] == [12, 13, 14, 15], done.stdout + done.stderr
    assert all('"Preparation"; expected "Product"' in line for line in told)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"when": "three-times-daily", "most_in_24_h": "1"}, "is 3 tablets in 24 hours"),
        ({"when": "three-times-daily", "most_in_24_h": "2"}, "is 3 tablets in 24 hours"),
        ({"when": "twice-daily", "most_in_24_h": "1"}, "is 2 tablets in 24 hours"),
        (
            {"when": "every-6-h", "most_in_24_h": "3", "least_interval_h": "6"},
            "is 4 tablets in 24 hours",
        ),
        ({"when": "every-8-h", "least_interval_h": "12", "most_in_24_h": "3"}, "8 hours from dose"),
        ({"when": "every-8-h-when-needed", "least_interval_h": "12"}, "8 hours from dose"),
        ({"when": "twice-daily", "least_interval_h": "12.01", "most_in_24_h": "2"}, "12 hours"),
        ({"when": "once-weekly", "least_interval_h": "169", "most_in_24_h": "1"}, "168 hours"),
    ],
)
def test_times_that_contradict_the_numbers_are_refused(change: dict[str, str], says: str) -> None:
    """Times that ask for more than the most, or for sooner than the least interval."""
    asked = {"least_interval_h": "8", "most_in_24_h": "4", **change}
    assert says in refused(ondansetron(), **asked)["directions.sense"]


@pytest.mark.parametrize(
    "change",
    [
        {"when": "three-times-daily", "most_in_24_h": "3"},
        {"when": "twice-daily", "most_in_24_h": "2", "least_interval_h": "12"},
        {"when": "every-8-h", "most_in_24_h": "3"},
        {"when": "every-8-h-when-needed", "most_in_24_h": "2"},
        {"when": "when-needed", "most_in_24_h": "1", "least_interval_h": "24"},
        {"when": "every-morning", "most_in_24_h": "1", "least_interval_h": "24"},
    ],
)
def test_times_that_agree_with_the_numbers_pass(change: dict[str, str]) -> None:
    """At the boundary, and fewer doses where they are only taken when needed."""
    assert refused(ondansetron(), **{"least_interval_h": "8", "most_in_24_h": "4", **change}) == {}


@pytest.mark.parametrize(
    ("preparation", "when", "reason"),
    [
        (ondansetron(), "before-activity-30-60-min", "nausea"),
        (ondansetron(), "before-activity-30-min-4-h", "nausea"),
        (melatonin(uses=("sleep",)), "every-morning", "sleep"),
        (melatonin(uses=("sleep",)), "with-breakfast", "sleep"),
        (melatonin(uses=("sleep",)), "once-daily", "sleep"),
        (melatonin(), "every-morning", "jet-lag"),
        (tadalafil(), "once-weekly", "erection"),
        (tadalafil(), "before-meals-30-min", "erection"),
    ],
)
def test_times_and_reasons_that_contradict_each_other_are_refused(
    preparation: Preparation, when: str, reason: str
) -> None:
    """Before sex, for nausea; every morning, to help you sleep: one of the two is wrong."""
    asked = {"when": when, "reason": reason, "least_interval_h": "8", "most_in_24_h": "3"}
    assert "directions.times" in refused(preparation, 5, **asked)


@pytest.mark.parametrize(
    ("preparation", "when"),
    [
        (ondansetron(), "when-needed"),
        (melatonin(uses=("sleep",)), "at-bedtime"),
        (melatonin(), "before-bed-30-60-min"),
        (tadalafil(), "before-activity-30-60-min"),
        (tadalafil(), "once-daily"),
    ],
)
def test_times_that_fit_the_reason_pass(preparation: Preparation, when: str) -> None:
    """What is usual for it has nothing against it."""
    assert refused(preparation, 5, when=when) == {}


@pytest.mark.parametrize(
    ("inn", "uses", "stops"),
    [
        ("tadalafil", ("erection",), False),
        ("tadalafil", ("prostate",), False),  # US tadalafil label, section 1, from memory
        ("sildenafil", ("prostate",), True),
        ("sildenafil", ("erection", "nausea"), True),
        ("ondansetron", ("sleep",), True),
        ("ondansetron", ("nausea",), False),
        ("cyanocobalamin", ("mood",), False),  # a class that lists no uses
    ],
)
def test_a_use_is_one_that_the_class_is_known_for(
    inn: str, uses: tuple[str, ...], stops: bool
) -> None:
    """Another use is refused; a pharmacist may record an override."""
    preparation = preparation_of(inn, "5 mg", uses=uses)
    found = [f.rule for f in judge_preparation(workspace(preparation), preparation)]
    assert ("use.class" in found) is stops


def test_a_dose_larger_than_the_quantity_is_refused() -> None:
    """Two tablets at a time, and one handed out."""
    asked = {"tablets_per_dose": "2", "most_in_24_h": "2"}
    assert "1 are handed out" in refused(tadalafil(), 1, **asked)["directions.sense"]
    assert refused(tadalafil(), 2, **asked) == {}


@pytest.mark.parametrize(
    ("when", "dose", "most", "quantity", "days", "last"),
    [
        ("once-daily", "1", "1", 30, 30, date(2026, 12, 22)),
        ("once-daily", "1", "2", 30, 30, date(2026, 12, 22)),  # by the times, not the most
        ("three-times-daily", "1", "3", 10, 4, date(2026, 11, 26)),
        ("every-12-h", "2", "4", 10, 3, date(2026, 11, 25)),
        ("once-weekly", "1", "1", 4, 28, date(2026, 12, 20)),
        ("when-needed", "1", "2", 10, None, date(2026, 11, 27)),  # at the quickest
        ("every-8-h-when-needed", "1", "3", 10, None, date(2026, 11, 26)),
        ("after-food", "1", "3", 10, None, date(2026, 11, 26)),
    ],
)
def test_how_long_a_quantity_lasts(
    when: str, dose: str, most: str, quantity: int, days: int | None, last: date
) -> None:
    """By the times where they say doses; where none do nobody knows, and the quickest use is
    what a lot must outlast."""
    asked = directions(when=when, tablets_per_dose=Decimal(dose), most_in_24_h=Decimal(most))
    regimen = Regimen(product(tadalafil(), "5 mg"), asked, quantity)
    assert regimen.lasts_days == days
    assert regimen.last_tablet_on(date(2026, 11, 23)) == last


def test_every_way_of_saying_when_is_listed() -> None:
    """No `when.…` that wording can say is left without its doses, or the word that it has none;
    and the ones listed all have words."""
    ids = tomllib.loads((STATEMENTS / "direction.toml").read_text(encoding="utf-8"))
    said = {id_.removeprefix("when.") for id_ in ids if id_.startswith("when.")}
    reasons = {id_.removeprefix("reason.") for id_ in ids if id_.startswith("reason.")}
    assert set(listed().times) == said
    assert set(listed().reasons) <= reasons
    assert {r for times in listed().times.values() for r in times.only_for} <= reasons


def test_a_when_of_the_pharmacys_own_has_no_doses() -> None:
    """One that isn't listed says nothing of doses or spacing, and its supply has no last day."""
    own = times_of("after-dialysis")
    assert (own.doses, own.spacing_h, own.needed, own.hour) == (None, None, False, None)


WHENS = st.sampled_from(sorted(listed().times))
COUNTS = st.integers(1, 8).map(Decimal)
HOURS = st.sampled_from([Decimal(h) for h in ("4", "6", "8", "12", "24", "48")])


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(products(THREE)), WHENS, COUNTS, COUNTS, HOURS)
def test_what_a_passing_regimen_permits_never_exceeds_the_limits(
    medicine: Product, when: str, dose: Decimal, most: Decimal, hours: Decimal
) -> None:
    """Whatever passes: neither a dose nor a day's tablets, by the most or by the times, is above
    10 mg, and no two doses are nearer than 24 hours."""
    asked = directions(when=when, tablets_per_dose=dose, most_in_24_h=most, least_interval_h=hours)
    regimen = Regimen(medicine, asked, 10)
    if judge_regimen(regimen, AT):
        return
    doses = times_of(when).doses_in_24_h or 0
    (one,) = medicine.strength.amounts
    assert max(dose, most, dose * doses) * in_mg(one) <= 10
    assert min(hours, times_of(when).spacing_h or hours) >= 24


def test_limits_hold_for_the_strength_prescribed() -> None:
    """Four tablets are a dose of 2.5 mg, and too many of 5 mg and of 10 mg."""
    asked = directions(tablets_per_dose=Decimal(4), most_in_24_h=Decimal(4))
    found = [
        {f.rule for f in judge_regimen(Regimen(one, asked, 10), AT)} for one in products(THREE)
    ]
    assert found == [set(), {"dose.single", "dose.in-24-h"}, {"dose.single", "dose.in-24-h"}]


def test_the_strictest_ingredient_decides() -> None:
    """A limit that isn't a multiple of the strength is cut down to whole tablets."""
    odd = preparation_of("tadalafil", "4 mg", limits=limits_of("tadalafil", "10 mg", "10 mg", "24"))
    (medicine,) = products(odd)
    assert dose_limits(medicine).single_dose_tablets == 2
    assert [in_mg(a) for a in medicine.amounts_in(Decimal(2))] == [Decimal(8)]
