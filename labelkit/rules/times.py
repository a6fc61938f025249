"""What each way of saying when comes to: doses a day, hours between them, or neither.

The ways and what they mean are data (``times.toml``). One that isn't listed, such as a
pharmacy's own, has no doses of its own and no last day, and goes with any reason.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from typing import Self

from pydantic import Field, model_validator

from labelkit.ground.errors import Fault
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.places import At


class Times(Datum):
    """One way of saying when."""

    doses: int | None = Field(default=None, ge=1)
    """Doses in `days` days; None where it says none."""
    days: int = Field(default=1, ge=1)
    spacing_h: Decimal | None = Field(default=None, gt=0)
    """Hours between two doses that it means; a longer least interval contradicts it."""
    needed: bool = False
    """Taken when it is needed: `doses` are the most, and nobody knows when a supply ends."""
    hour: Decimal | None = Field(default=None, ge=0, lt=24)
    """The hour of the day that it means, where it means one."""
    only_for: tuple[str, ...] = ()
    """The reasons it goes with; empty: any that doesn't ask for other times."""

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if (self.doses is None) != (self.spacing_h is None):
            raise ValueError("doses and the hours between them go together")
        if self.doses and self.spacing_h and self.doses * self.spacing_h > 24 * self.days:
            raise ValueError(f"{self.doses} doses {self.spacing_h} h apart are more than its days")
        return self

    @property
    def doses_in_24_h(self) -> int | None:
        """The most doses in 24 hours; None where it says none."""
        return None if self.doses is None else -(-self.doses // self.days)


class _Listed(Datum):
    source: Source
    times: Mapping[str, Times]
    reasons: Mapping[str, tuple[str, ...]]

    @model_validator(mode="after")
    def _known(self) -> Self:
        strange = {when for whens in self.reasons.values() for when in whens} - set(self.times)
        if strange:
            raise ValueError(f"reasons name times that aren't listed: {sorted(strange)}")
        return self


@cache
def listed() -> _Listed:
    """The shipped list."""
    return _Listed.model_validate(load("times.toml"))


def times_of(when: str) -> Times:
    """What a way of saying when (ending of ``when.…``) comes to; nothing for one not listed."""
    return listed().times.get(when, Times())


def judge_times(when: str, reason: str, at: At) -> Iterator[Fault]:
    """A fault where the times and the reason can't both be meant: before sex, for nausea."""
    only_for = times_of(when).only_for
    only_at = listed().reasons.get(reason, ())
    if (only_for and reason not in only_for) or (only_at and when not in only_at):
        fitting = (
            f"{reason} goes with {', '.join(only_at)}" if only_at else "correct one of the two"
        )
        yield at.fault(
            "when",
            f"the directions say {when}, and that it is for {reason}: the two don't go together",
            f"ask the prescriber; {fitting}",
            "directions.times",
            listed().source,
        )
