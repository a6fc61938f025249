"""What a named, licensed person decided against or beyond the rules: ``decisions.toml``.

A decision never silences a printed caution; it is carried into the report with its name,
licence, reason and time. Nothing here says which decisions a rule accepts: that is the
rules' own business.
"""

from datetime import date, datetime

from pydantic import Field

from labelkit.records.base import Record


class Override(Record):
    """A pharmacist lets one prescription, lot or preparation pass one rule."""

    rule: str
    """Id of the rule, as the refusal named it."""
    record: str
    """Prescription number, lot number or preparation id."""
    by: str
    licence: str
    reason: str = Field(min_length=10)
    at: datetime
    """With its offset from UTC."""


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

    overrides: tuple[Override, ...] = ()
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
