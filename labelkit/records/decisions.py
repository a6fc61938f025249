"""What a named, licensed person decided against or beyond the rules: ``decisions.toml``.

A decision never silences a printed caution; wherever it was used, its name, licence, reason and
days are said. Nothing here says which decisions a rule accepts: that is the rules' own business.
"""

from datetime import date, datetime

from pydantic import Field

from labelkit.records.base import Record


class SecondLookAt(Record):
    """What one who works alone records in a second person's stead: a look after a pause, and what
    was prescribed entered anew with the record out of sight."""

    at: datetime
    """By the pharmacy's own clock, without an offset."""
    entered: str
    """Medicine and strength as the original has them: ``tadalafil 5 mg``."""


class Decision(Record):
    """A licensed person lets one prescription or preparation pass one finding of one rule."""

    rule: str
    """Id of the rule, as the refusal named it."""
    record: str
    """Prescription number or preparation id."""
    finding: str
    """Digest of all that was decided on, as the refusal named it."""
    by: str
    licence: str
    second_by: str = ""
    """The second person, where the rule asks for one."""
    second_licence: str = ""
    looked_again: SecondLookAt | None = None
    reason: str = Field(min_length=10)
    first: date
    """The day of the decision; it passes nothing that is dispensed before."""
    until: date
    """The last day of dispensing for which it holds."""
    place: str = ""
    """Where it stands in ``decisions.toml``."""


class EarlierDecision(Record):
    """An ``[[override]]``: the earlier shape of a decision, which named no finding."""

    rule: str
    record: str
    place: str


class IngredientDecision(Record):
    """Class and cautions of an active ingredient the shipped rules don't know."""

    inn: str
    of_class: str
    """Class in words, or the id of a shipped class whose cautions and conflicts then apply."""
    cautions: tuple[str, ...] = Field(min_length=1)
    """Statement ids that must be said."""
    conflicts: tuple[str, ...] = ()
    """Substances or groups that must not be taken with it."""
    source: str
    by: str
    licence: str
    on: date


class AddedParticular(Record):
    """A particular that the pharmacy wants beyond what its country asks."""

    id: str
    artwork: str
    place: str
    satisfied_by: str
    least_pt: float = 0.0
    source: str


class RemovedParticular(Record):
    """A particular that the pharmacy does without, and why. Printed in every report."""

    id: str
    artwork: str
    reason: str = Field(min_length=10)
    by: str
    licence: str
    on: date


class SamePerson(Record):
    """Two or more of the patients' entries: one person, or not, as somebody found out."""

    ids: tuple[str, ...] = Field(min_length=2)
    same: bool
    by: str
    licence: str
    on: date


class Decisions(Record):
    """All of one workspace's decisions; empty where there is no ``decisions.toml``."""

    decided: tuple[Decision, ...] = ()
    earlier: tuple[EarlierDecision, ...] = ()
    ingredients: tuple[IngredientDecision, ...] = ()
    added_particulars: tuple[AddedParticular, ...] = ()
    removed_particulars: tuple[RemovedParticular, ...] = ()
    same_persons: tuple[SamePerson, ...] = ()

    def joined(self, id_: str) -> frozenset[str]:
        """The patient ids that were decided to be one person with that id, itself among them."""
        found, fresh = {id_}, True
        while fresh:
            met = {
                other
                for one in self.same_persons
                if one.same and not found.isdisjoint(one.ids)
                for other in one.ids
            }
            fresh = not met <= found
            found |= met
        return frozenset(found)

    def told_apart(self, one: str, other: str) -> bool:
        """Whether somebody decided that these two entries are two people."""
        return any(not said.same and {one, other} <= set(said.ids) for said in self.same_persons)
