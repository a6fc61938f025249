"""A regimen: how a product is taken, as one value that is judged whole.

Dose, times, least interval, most in 24 hours, quantity and the days it lasts depend on one
another, so they are asked of this value alone, and judged together against the product's
limits: once, from whatever file or command they came. Directions at a limit pass, one
smallest unit above it is refused; so are parts that contradict each other. What the patient
takes besides is judged in `open`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from labelkit.ground.errors import Fault
from labelkit.records.model import Directions, Limit, Prescription, Workspace
from labelkit.rules.amounts import duration, in_mg, multiple, plain, spoken
from labelkit.rules.limits import amount_limit, interval_limit, sum_shown
from labelkit.rules.places import At
from labelkit.rules.products import Product, product_of
from labelkit.rules.reasons import judge_reason
from labelkit.rules.times import Times, judge_times, times_of

WHOLE_SOURCE = "common practice, no source: a tablet that crumbles can't be halved"
SENSE_SOURCE = "common practice, no source: directions must not contradict themselves"
ROUTE_SOURCE = (
    "US vardenafil orally disintegrating tablets label (on the tongue) and US zolpidem sublingual "
    "tablets label (under the tongue): different routes, not interchangeable"
)


@dataclass(frozen=True, slots=True)
class Regimen:
    """A product, how it is to be taken, and how much of it is handed out."""

    product: Product
    directions: Directions
    quantity: int | None
    """Tablets of this fill; None while directions are only being read."""

    @property
    def times(self) -> Times:
        """What its way of saying when comes to."""
        return times_of(self.directions.when)

    @property
    def lasts_days(self) -> int | None:
        """Days that the quantity lasts by its times; None where nobody can tell.

        Nobody can where it is taken when needed, or where the times say no doses.
        """
        by_times = self._by_times
        if self.quantity is None or by_times is None:
            return None
        return ceil(self.quantity / by_times)

    @property
    def least_days(self) -> int | None:
        """Days that the quantity lasts: by its times, or else by the most in 24 hours.

        None without a quantity, or where no tablet is allowed.
        """
        a_day = self._a_day
        return ceil(self.quantity / a_day) if self.quantity is not None and a_day else None

    def tablets_for(self, days: int) -> Decimal:
        """The most whole tablets that don't last longer than so many days."""
        return Decimal(floor(days * self._a_day))

    @property
    def _by_times(self) -> Fraction | None:
        """Tablets a day by its times."""
        times, dose = self.times, Fraction(self.directions.tablets_per_dose)
        if times.needed or times.doses is None or dose <= 0:
            return None
        return dose * times.doses / times.days

    @property
    def _a_day(self) -> Fraction:
        """Tablets a day by its times, or else the most in 24 hours."""
        return self._by_times or max(Fraction(0), Fraction(self.directions.most_in_24_h))

    @property
    def one_dose_shown(self) -> str:
        """``1 tablet × 5 mg = 5 mg``, for each ingredient."""
        return self._shown(self.directions.tablets_per_dose)

    @property
    def most_shown(self) -> str:
        """The most in 24 hours, as `one_dose_shown`."""
        return self._shown(self.directions.most_in_24_h)

    def _shown(self, tablets: Decimal) -> str:
        amounts = self.product.strength.amounts
        return " and ".join(sum_shown(tablets, amount) for amount in amounts)

    def last_tablet_on(self, first: date) -> date:
        """The day of the last tablet by `least_days`, the first being taken on that day.

        The last day there is where no tablet is allowed, or next to none.
        """
        days = self.least_days
        try:
            return date.max if days is None else first + timedelta(days=days - 1)
        except OverflowError:
            return date.max


def regimen_of(workspace: Workspace, rx: Prescription) -> Regimen:
    """The regimen of a prescription's fill. Raises KeyError; reading has checked references."""
    return Regimen(product_of(workspace, rx), rx.directions, rx.quantity_this_fill)


def judge_regimen(regimen: Regimen, at: At) -> tuple[Fault, ...]:
    """Every way in which it contradicts itself or goes beyond the product's limits."""
    directions = regimen.directions
    return (
        *_route(regimen, at),
        *_counts(regimen, at),
        *_against_times(regimen, at),
        *judge_reason(regimen.product.preparation, directions, at),
        *judge_times(directions.when, directions.reason, at),
        *_amounts(regimen, at),
        *_intervals(regimen, at),
    )


def _sense(at: At, field: str, wrong: str, mend: str) -> Fault:
    return at.fault(field, wrong, mend, "directions.sense", SENSE_SOURCE)


def _route(regimen: Regimen, at: At) -> Iterator[Fault]:
    route, preparation = regimen.directions.route, regimen.product.preparation
    if route is not preparation.route:
        yield at.fault(
            "route",
            f"the directions say {route.value}, "
            f"{preparation.id} is made for {preparation.route.value}",
            "ask the prescriber; correct the route or choose another preparation",
            "directions.route",
            ROUTE_SOURCE,
        )


def _counts(regimen: Regimen, at: At) -> Iterator[Fault]:
    directions = regimen.directions
    dose, most = directions.tablets_per_dose, directions.most_in_24_h
    if dose <= 0:
        wrong = f"a dose of {plain(dose)} tablets is none"
        yield _sense(at, "tablets_per_dose", wrong, "write the number of tablets for one dose")
    if "fragile" in regimen.product.preparation.handling and dose % 1:
        yield at.fault(
            "tablets_per_dose",
            f"{plain(dose)} tablets would have to be divided, and the tablet is fragile",
            "write whole tablets, or prescribe another strength",
            "directions.whole-tablets",
            WHOLE_SOURCE,
        )
    if dose > most:
        yield _sense(
            at,
            "most_in_24_h",
            f"one dose is {plain(dose)} tablets, but at most {plain(most)} are allowed in 24 hours",
            "correct one of the two",
        )
    if directions.least_interval_h <= 0:
        yield _sense(
            at,
            "least_interval_h",
            f"an interval of {plain(directions.least_interval_h)} hours is none",
            "write the least number of hours between two doses",
        )
    if regimen.quantity is not None and dose > regimen.quantity:
        yield _sense(
            at,
            "quantity_this_fill",
            f"one dose is {plain(dose)} tablets, and {regimen.quantity} are handed out",
            "correct the dose or the quantity",
        )


def _against_times(regimen: Regimen, at: At) -> Iterator[Fault]:
    """Times that ask for more, or for sooner, than the directions allow beside them."""
    directions, times = regimen.directions, regimen.times
    dose, most = directions.tablets_per_dose, directions.most_in_24_h
    doses, spacing_h = times.doses_in_24_h, times.spacing_h
    if doses is None or spacing_h is None:
        return
    if not times.needed and dose <= most < dose * doses:
        yield _sense(
            at,
            "most_in_24_h",
            f"{directions.when}, {plain(dose)} at a time, is {plain(dose * doses)} tablets in 24 "
            f"hours, but at most {plain(most)} are allowed",
            "correct one of the two",
        )
    if directions.least_interval_h > spacing_h:
        yield _sense(
            at,
            "least_interval_h",
            f"{directions.when} is {duration(spacing_h)} from dose to dose, but at least "
            f"{duration(directions.least_interval_h)} must lie between two",
            "correct one of the two",
        )


def _amounts(regimen: Regimen, at: At) -> Iterator[Fault]:
    directions, limits = regimen.directions, regimen.product.preparation.limits
    checks: tuple[tuple[str, Decimal, str, str, tuple[Limit, ...]], ...] = (
        (
            "tablets_per_dose",
            directions.tablets_per_dose,
            "one dose",
            "dose.single",
            limits.single_dose,
        ),
        ("most_in_24_h", directions.most_in_24_h, "24 hours", "dose.in-24-h", limits.in_24_h),
    )
    for field, tablets, span, rule, own in checks:
        for ingredient, amount in regimen.product.contents:
            limit = amount_limit(own, ingredient.inn)
            if limit is not None and in_mg(multiple(tablets, amount)) > in_mg(limit[0]):
                yield at.fault(
                    field,
                    f"{sum_shown(tablets, amount)} of {ingredient.inn}; "
                    f"the limit for {span} is {spoken(limit[0])}",
                    "ask the prescriber for a lower dose",
                    rule,
                    limit[1],
                )


def _intervals(regimen: Regimen, at: At) -> Iterator[Fault]:
    asked_h, preparation = regimen.directions.least_interval_h, regimen.product.preparation
    for ingredient in preparation.ingredients:
        limit = interval_limit(preparation.limits.least_interval, ingredient.inn)
        if limit is not None and asked_h < limit[0]:
            yield at.fault(
                "least_interval_h",
                f"{duration(asked_h)} between doses; the least interval "
                f"for {ingredient.inn} is {duration(limit[0])}",
                "ask the prescriber for a longer interval",
                "dose.interval",
                limit[1],
            )
