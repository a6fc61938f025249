"""Documents as data: which statements stand in which order, and when.

Read from ``documents/*.toml`` beside this module. Refuses an unknown condition, list or
block kind when it is read, so that a slip of the pen can't drop a warning in silence.
"""

import tomllib
from functools import cache
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, StringConstraints, model_validator

from labelkit.ground import door

_FOLDER = Path(__file__).resolve().parent / "documents"

Condition = Annotated[
    str,
    StringConstraints(
        pattern=r"^(rx|no-rx|comparison|excipients|controlled|effects|urgent"
        r"|interval:(hours|minutes)|closure:(child-resistant|as-asked)|route:[a-z-]+|handling:[a-z-]+)$"
    ),
]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class BlockDefinition(_Part):
    """What one block, or one run of like blocks, is made from."""

    kind: Literal["paragraph", "warning", "item", "steps", "table"]
    when: tuple[Condition, ...] = ()
    """All must hold."""
    say: tuple[str, ...] = ()
    """Statement ids: a block each, or for steps one block of all."""
    fact: str = ""
    """Name of a fact instead."""
    each: Literal["", "cautions", "uses", "effects", "urgent", "statements"] = ""
    """A list instead: a block for each entry."""
    severities: tuple[int, ...] = (1, 2, 3)
    """Cautions: only of these."""
    only: tuple[str, ...] = ("*",)
    """Cautions: only ids that match one of these patterns."""
    except_: tuple[str, ...] = ()
    """Cautions: no id that matches one of these; they are said elsewhere in the document."""
    pictures: tuple[str, ...] = ()
    """Steps: a drawing's name beside each statement."""
    table: Literal["", "comparison"] = ""

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        sources = [bool(self.say), bool(self.fact), bool(self.each), bool(self.table)]
        if sum(sources) != 1:
            raise ValueError("a block is made from one of 'say', 'fact', 'each' and 'table'")
        if (self.kind == "steps") != bool(self.pictures):
            raise ValueError("steps and pictures go together")
        if self.pictures and len(self.pictures) != len(self.say):
            raise ValueError("a step needs one picture")
        return self


class SectionDefinition(_Part):
    """A run of blocks under one heading; left out whole when nothing stands in it."""

    heading: str = ""
    when: tuple[Condition, ...] = ()
    blocks: tuple[BlockDefinition, ...]


class DocumentDefinition(_Part):
    """A leaflet, a sleeve's back or a pad's back."""

    title: str
    """Statement id."""
    show_title: bool = True
    then: str = ""
    """Id of the document that follows it in the pharmacy's language where the patient reads
    another one: for those who help in an emergency."""
    sections: tuple[SectionDefinition, ...]

    @property
    def statement_ids(self) -> frozenset[str]:
        """Ids it names itself; those of lists come from records and rules."""
        named = {self.title} | {section.heading for section in self.sections if section.heading}
        for section in self.sections:
            for block in section.blocks:
                named.update(block.say)
                named.update(f"picture.{name}" for name in block.pictures)
        return frozenset(named)


@cache
def definition(id_: str) -> DocumentDefinition:
    """The document's definition. Raises KeyError for an id that isn't there."""
    if id_ not in defined():
        raise KeyError(id_)
    data = tomllib.loads(door.read_bytes(_FOLDER / f"{id_}.toml").decode("utf-8"))
    for section in data["sections"]:
        for block in section["blocks"]:
            if "except" in block:  # a word of Python, so the field has another name
                block["except_"] = block.pop("except")
    return DocumentDefinition.model_validate(data)


@cache
def defined() -> tuple[str, ...]:
    """Ids of all documents."""
    return tuple(path.stem for path in door.listed(_FOLDER, "*.toml"))
