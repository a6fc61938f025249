"""Beyond-use dates: computed, or refused when the recorded one is too late.

The day is never later than the default or study of the preparation, the cap of the
country's profile, and the earliest expiry of an ingredient. A study counts only for the
container and closure it was done in. Whether the day of making is day 0 or day 1 is the
pharmacy's setting. A month-only expiry has become the month's last day in reading.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.model import Lot, Preparation, Workspace
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.places import At, of_lot, of_preparation

INGREDIENT_SOURCE = (
    "USP <795> (official 2023-11-01), section 10: not later than the earliest expiry of a "
    "component, from memory"
)
STUDY_SOURCE = "common practice, no source: stability depends on container and closure"


class Default(Datum):
    """Days for a dosage form without a study."""

    forms: tuple[str, ...]
    days: int
    source: Source


class Profile(Datum):
    """What the countries of a profile allow."""

    countries: tuple[str, ...]
    cap_days: int
    cap_source: Source
    defaults: tuple[Default, ...] = ()


class BeyondUseRules(Datum):
    """The whole data file."""

    least_days_left: int
    least_days_left_source: Source
    profiles: tuple[Profile, ...]


@cache
def rules() -> BeyondUseRules:
    """The shipped rules."""
    return BeyondUseRules.model_validate(load("beyond-use.toml"))


@dataclass(frozen=True, slots=True)
class Bound:
    """One latest day, and why."""

    latest: date
    why: str
    rule: str
    source: str


def beyond_use_of(workspace: Workspace, lot: Lot) -> date:
    """The lot's beyond-use date: the recorded one, or the latest day the rules allow.

    Raises RuleRefused when the recorded one is later than that, or nothing allows any.
    """
    faults = judge_beyond_use(workspace, lot)
    if faults:
        raise RuleRefused(faults)
    return lot.beyond_use or min(b.latest for b in bounds(workspace, lot))


def judge_beyond_use(workspace: Workspace, lot: Lot) -> tuple[Fault, ...]:
    """Every reason why the lot has no beyond-use date, or too late a one.

    Raises RuleRefused, here and below, for a country without a profile.
    """
    preparation = workspace.preparation(lot.preparation)
    faults = judge_study(workspace, preparation)
    return faults or tuple(_too_late(workspace, lot))


def judge_study(workspace: Workspace, preparation: Preparation) -> tuple[Fault, ...]:
    """Whether the preparation has a study for its own container, or a published default."""
    at = of_preparation(preparation)
    given = preparation.beyond_use
    if given.days is None:
        if _default(workspace, preparation) is not None:
            return ()
        return (
            at.fault(
                "beyond_use",
                f"no default is known for {preparation.dosage_form} in the profile "
                f"{workspace.pharmacy.country}, and no study is named",
                "name a stability study with its days, reference and container",
                "beyond-use.default",
                _profile(workspace).cap_source,
            ),
        )
    if not given.study or given.days < 1:
        return (
            at.fault(
                "beyond_use",
                f"{given.days} days are given without a study that supports them",
                "name the study's reference and a positive number of days, or leave the days out",
                "beyond-use.study",
                STUDY_SOURCE,
            ),
        )
    if _same(given.container) != _same(preparation.container):
        return (
            at.fault(
                "beyond_use.container",
                f"the study was done in {given.container or 'an unnamed container'!r}, "
                f"the tablets go into {preparation.container!r}",
                "use the container of the study, or leave its days out",
                "beyond-use.container",
                STUDY_SOURCE,
            ),
        )
    return ()


def bounds(workspace: Workspace, lot: Lot) -> tuple[Bound, ...]:
    """Every latest day that holds for the lot, each with its reason."""
    preparation = workspace.preparation(lot.preparation)
    profile = _profile(workspace)
    found = [
        Bound(
            _after(workspace, lot, profile.cap_days),
            f"{profile.cap_days} days after making at most",
            "beyond-use.cap",
            profile.cap_source,
        )
    ]
    given, default = preparation.beyond_use, _default(workspace, preparation)
    if given.days is not None:
        found.append(
            Bound(
                _after(workspace, lot, given.days),
                f"the study {given.study} gives {given.days} days",
                "beyond-use.study",
                given.study,
            )
        )
    elif default is not None:
        found.append(
            Bound(
                _after(workspace, lot, default.days),
                f"{default.days} days for {preparation.dosage_form}",
                "beyond-use.default",
                default.source,
            )
        )
    found.extend(
        Bound(
            part.expiry,
            f"{part.name}, lot {part.number}, expires then",
            "beyond-use.ingredient",
            INGREDIENT_SOURCE,
        )
        for part in lot.ingredient_lots
    )
    return tuple(found)


def _too_late(workspace: Workspace, lot: Lot) -> Iterator[Fault]:
    at = of_lot(lot)
    for bound in bounds(workspace, lot):
        if bound.latest < lot.made_on:
            yield at.fault(
                "ingredient_lots",
                f"made on {lot.made_on.isoformat()}, after {bound.latest.isoformat()}: {bound.why}",
                "don't use the lot; correct the record if it is wrong",
                bound.rule,
                bound.source,
            )
        elif lot.beyond_use is not None and lot.beyond_use > bound.latest:
            yield at.fault(
                "beyond_use",
                f"{lot.beyond_use.isoformat()} is later than {bound.latest.isoformat()}: "
                f"{bound.why}",
                f"give {bound.latest.isoformat()} or an earlier day, or leave it out",
                bound.rule,
                bound.source,
            )
    if lot.beyond_use is not None and lot.beyond_use < lot.made_on:
        yield at.fault(
            "beyond_use",
            f"{lot.beyond_use.isoformat()} is before the day of making, {lot.made_on.isoformat()}",
            "correct one of the two dates",
            "beyond-use.order",
            "common practice, no source",
        )


def _after(workspace: Workspace, lot: Lot, days: int) -> date:
    try:
        return lot.made_on + timedelta(days=days - workspace.pharmacy.made_on_is_day)
    except OverflowError:
        return date.max  # a study of ten thousand years: the cap of the profile decides


def _profile(workspace: Workspace) -> Profile:
    country = workspace.pharmacy.country
    for profile in rules().profiles:
        if country in profile.countries:
            return profile
    raise RuleRefused(
        [
            At("pharmacy.toml", "", "").fault(
                "country",
                f"no beyond-use rules are known for {country!r}",
                "choose a country profile that is shipped",
                "beyond-use.profile",
                "common practice, no source: the rule depends on the country",
            )
        ]
    )


def _default(workspace: Workspace, preparation: Preparation) -> Default | None:
    return next(
        (d for d in _profile(workspace).defaults if preparation.dosage_form in d.forms), None
    )


def _same(container: str) -> str:
    return " ".join(container.casefold().split())
