"""What follows from an active ingredient because of what it is.

A class file under ``classes/`` names its members (INN), its reliable stem if it has one,
and the cautions, conflicts, ceilings, lower limits and ages that hold for all or some of
them. A preparation's own file can add to these and never takes one away. An ingredient
that no class names, and that no pharmacist has described in ``decisions.toml``, is unknown:
judging refuses it.
"""

from decimal import Decimal
from functools import cache
from typing import Self

from pydantic import model_validator

from labelkit.records.decisions import IngredientDecision
from labelkit.records.model import Amount, Workspace
from labelkit.rules.amounts import parse
from labelkit.rules.data import Datum, Source, load, names
from labelkit.rules.substances import canonical, known_as


class _ForSome(Datum):
    only: tuple[str, ...] = ()
    """INNs it holds for; empty: every member."""
    unless: tuple[str, ...] = ()
    """INNs it doesn't hold for."""
    use: str = ""
    """The use it belongs to (suffix of ``use.…``); empty: whatever the use."""

    def holds_for(self, inn: str, uses: tuple[str, ...]) -> bool:
        """Whether it is meant for that ingredient, in a preparation for those uses."""
        return (
            inn not in self.unless
            and (not self.only or inn in self.only)
            and (not self.use or self.use in uses)
        )


class CautionDatum(_ForSome):
    """A statement that must be said."""

    statement: str
    severity: int
    source: Source


class ConflictDatum(_ForSome):
    """Other medicines that stop the job."""

    group: str
    """A group of substances (see `substances`), or one INN."""
    source: Source


class CeilingDatum(_ForSome):
    """The labelled maximum of the swallowed form: no recorded limit may lie above it."""

    single_dose: str = ""
    in_24_h: str = ""
    least_interval_h: Decimal | None = None
    most_days: int | None = None
    """Days of use in a row that one supply may cover."""
    source: Source

    @property
    def single_dose_amount(self) -> Amount | None:
        """The largest single dose, None where the label sets none."""
        return parse(self.single_dose) if self.single_dose else None

    @property
    def in_24_h_amount(self) -> Amount | None:
        """The largest amount in 24 hours, None where the label sets none."""
        return parse(self.in_24_h) if self.in_24_h else None


class InteractionDatum(_ForSome):
    """A lower limit of the swallowed form beside another medicine."""

    group: str
    single_dose: str
    least_interval_h: Decimal
    source: Source


class AgeDatum(_ForSome):
    """Patients of that age are refused, or have a lower single dose (swallowed form)."""

    below_years: int | None = None
    """Patients younger than this."""
    from_years: int | None = None
    """Patients this old or older."""
    single_dose: str = ""
    """Empty: refused."""
    source: Source


class UseDatum(_ForSome):
    """Uses (suffixes of ``use.…``) that the class is known for."""

    uses: tuple[str, ...]
    source: Source


class RuleSet(Datum):
    """All that one class brings."""

    id: str
    title: str
    members: tuple[str, ...]
    stem: str = ""
    """End of the INN that tells the class (WHO stem book), empty where no stem is safe."""
    source: Source
    schedule: str = ""
    """Controlled-substance schedule in the United States; such a class is refused."""
    no_cavity_card: str = ""
    """Why it must stay in its original container; empty: it may be carded."""
    cautions: tuple[CautionDatum, ...] = ()
    conflicts: tuple[ConflictDatum, ...] = ()
    ceilings: tuple[CeilingDatum, ...] = ()
    interactions: tuple[InteractionDatum, ...] = ()
    ages: tuple[AgeDatum, ...] = ()
    known_for: tuple[UseDatum, ...] = ()
    """What it is given for; empty: whatever the pharmacy records."""

    @model_validator(mode="after")
    def _members_exist(self) -> Self:
        parts = (
            *self.cautions,
            *self.conflicts,
            *self.ceilings,
            *self.interactions,
            *self.ages,
            *self.known_for,
        )
        for part in parts:
            strangers = {*part.only, *part.unless} - set(self.members)
            if strangers:
                raise ValueError(f"class {self.id} names {sorted(strangers)}, not its members")
        return self

    def covers(self, inn: str) -> bool:
        """Whether the ingredient belongs to it, by name or by a safe stem."""
        return inn in self.members or bool(self.stem and inn.endswith(self.stem))


@cache
def rule_sets() -> tuple[RuleSet, ...]:
    """Every shipped class."""
    sets = tuple(RuleSet.model_validate(load(name)) for name in names("classes"))
    if len({s.id for s in sets}) != len(sets):
        raise ValueError("two classes have the same id")
    return sets


def sets_for(inn: str, workspace: Workspace | None = None) -> tuple[RuleSet, ...]:
    """The shipped classes of an ingredient, and those a pharmacist recorded for it.

    Empty means unknown: whoever asks must refuse.
    """
    inn = canonical(inn)
    found = [s for s in rule_sets() if s.covers(inn)]
    if workspace is not None:
        for decision in workspace.decisions.ingredients:
            if canonical(decision.inn) == inn:
                found.extend(s for s in rule_sets() if s.id == decision.of_class)
                found.append(_recorded(decision, inn))
    return tuple(dict.fromkeys(found))


def _recorded(decision: IngredientDecision, inn: str) -> RuleSet:
    source = (
        f"{decision.source}; recorded by {decision.by} ({decision.licence}) "
        f"on {decision.on.isoformat()}"
    )
    return RuleSet(
        id=f"recorded.{inn}",
        title=decision.of_class,
        members=(inn,),
        source=source,
        cautions=tuple(
            CautionDatum(statement=s, severity=2, source=source) for s in decision.cautions
        ),
        conflicts=tuple(
            ConflictDatum(group=known_as(name), source=source) for name in decision.conflicts
        ),
    )
