"""How far a rule goes: it stops, a licensed person may decide, or it is only told.

Which rule is of which tier is data (``tiers.toml``), as is what a decision on it depends on. A
rule that no entry names stops.
"""

from collections.abc import Mapping
from enum import StrEnum
from functools import cache, lru_cache
from typing import Self

from pydantic import Field, model_validator

from labelkit.rules.data import Datum, Source, load


class Tier(StrEnum):
    """How far a rule goes."""

    STOP = "stop"
    DECIDE = "decide"
    TELL = "tell"


class TierDatum(Datum):
    """One rule, or all whose ids begin with its parts."""

    tier: Tier
    inputs: tuple[str, ...] = ()
    """Names of what a decision depends on (see `labelkit.rules.findings`)."""
    second: bool = False
    """Whether a second person signs the decision."""
    version: int = Field(default=0, ge=0)
    """Of what the rule means; 0 where nothing is decided on it."""
    says: str = ""
    """Statement id of what the checklist of a hand-over tells; empty where nothing is told."""
    source: Source = ""
    profiles: Mapping[str, Tier] = Field(default_factory=dict)
    """Country profiles with another tier."""

    @model_validator(mode="after")
    def _decided_on_something(self) -> Self:
        decided = Tier.DECIDE in (self.tier, *self.profiles.values())
        if decided != bool(self.inputs and self.version):
            raise ValueError("a rule has inputs and a version where a decision may pass it")
        return self


class _Tiers(Datum):
    source: Source
    tiers: Mapping[str, TierDatum]


STOPS = TierDatum(tier=Tier.STOP)
"""What holds for a rule that no entry names."""


@cache
def tiers() -> Mapping[str, TierDatum]:
    """Every entry by the beginning of a rule's id that it stands for."""
    return _Tiers.model_validate(load("tiers.toml")).tiers


@lru_cache(maxsize=4096)
def of_rule(rule: str) -> TierDatum:
    """The entry with the most parts among those that begin the rule's id."""
    parts = rule.split(".")
    beginnings = (".".join(parts[:size]) for size in range(len(parts), 0, -1))
    return next((tiers()[name] for name in beginnings if name in tiers()), STOPS)


def tier_of(rule: str, country: str) -> Tier:
    """The rule's tier in a country profile."""
    datum = of_rule(rule)
    return datum.profiles.get(country, datum.tier)
