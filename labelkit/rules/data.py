"""Reads the rules' own data files, and refuses to start with one that is wrong.

Rules live in TOML beside this module: what they say is data, each number with its source.
A file with an unknown field, a number without a source or a name used twice raises
`pydantic.ValidationError` or `ValueError`: a defect of labelkit, not of a workspace.
"""

import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from labelkit.ground import door

_HERE = Path(__file__).resolve().parent


class Datum(BaseModel):
    """Base of every entry of a data file: frozen, nothing unknown."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


Source = Annotated[str, Field(min_length=8)]
"""Law, standard or label with its section; or 'common practice', or '…, from memory'."""


def load(name: str) -> dict[str, Any]:
    """The data file of that name relative to this folder. Its numbers stay `Decimal`."""
    text = door.read_bytes(_HERE / name).decode("utf-8")
    return tomllib.loads(text, parse_float=Decimal)


@cache
def names(folder: str) -> tuple[str, ...]:
    """The data files of a folder, in the order of their names."""
    return tuple(sorted(f"{folder}/{path.name}" for path in (_HERE / folder).glob("*.toml")))
