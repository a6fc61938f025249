"""The base of every record: what all of them refuse."""

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """Unknown fields refused, no silent conversion, no change after."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)
