"""Every number of the rules carries its source; every name in their data leads somewhere."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from labelkit.ground.errors import Fault
from labelkit.rules.cautions import _circumstances
from labelkit.rules.classes import rule_sets
from labelkit.rules.directions import shorthand
from labelkit.rules.excipients import excipients
from labelkit.rules.particulars import profiles
from labelkit.rules.substances import canonical, groups, means_something

FOLDER = Path(__file__).resolve().parents[2] / "labelkit" / "rules"
FILES = sorted(FOLDER.rglob("*.toml"))
STATEMENTS = FOLDER.parent / "wording" / "statements"

ORDINALS = {"severity", "sleeve", "leaflet", "pad", "lidding"}
"""Keys whose numbers are a rank among our own cautions, not a figure from outside."""

SOURCE = re.compile(
    r"USP|CFR|USC|label|SmPC|Directive|guideline|guidance|WHO|ISMP|FDA|Regulations|NAPRA|"
    r"MHRA|Charter|Health Canada|INN|published list|common practice|list of look-alike|"
    r"public database of medicines|ATC list|lists of medicines|Convention|S\.C\."
)


def _unsourced(data: Any, path: str, inherited: bool) -> Iterator[str]:
    """Paths of numbers, and of texts that start with one, that no source stands beside."""
    if isinstance(data, list):
        for number, item in enumerate(data):
            if isinstance(item, dict):
                yield from _unsourced(item, f"{path}[{number}]", False)
    elif isinstance(data, dict):
        for key, value in data.items():
            own = data.get(f"{key}_source") or data.get(f"{key.split('_')[0]}_source")
            sourced = bool(own or data.get("source") or inherited)
            if isinstance(value, dict | list):
                yield from _unsourced(value, f"{path}.{key}", bool(data.get("source") or inherited))
            elif key not in ORDINALS and not sourced and _is_number(value):
                yield f"{path}.{key} = {value}"


def _is_number(value: Any) -> bool:
    if isinstance(value, bool):
        return False
    return isinstance(value, int | float) or bool(re.match(r"\d", str(value)))


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.relative_to(FOLDER).as_posix())
def test_every_number_in_the_data_has_a_source(file: Path) -> None:
    """A number's table, or the one it is a part of, has a `source`, or the key its own.

    An entry of a list inherits nothing: each ceiling, limit and row has its own source.
    """
    data = tomllib.loads(file.read_text(encoding="utf-8"))
    assert list(_unsourced(data, file.stem, inherited=False)) == []


def test_a_number_without_a_source_would_be_found() -> None:
    """The check can fail: a bare number, and a bare amount, are named."""
    data = {
        "source": "a source of the class is none of its ceilings'",
        "ceilings": [{"single_dose": "100 mg"}, {"least_interval_h": 24, "source": "label"}],
    }
    assert list(_unsourced(data, "x", inherited=False)) == ["x.ceilings[0].single_dose = 100 mg"]
    assert list(_unsourced({"days": 5}, "x", inherited=False)) == ["x.days = 5"]


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.relative_to(FOLDER).as_posix())
def test_every_source_names_something(file: Path) -> None:
    """A source names a law, standard, label or list, or says 'common practice'."""

    def sources(data: Any) -> Iterator[str]:
        if isinstance(data, dict):
            for key, value in data.items():
                if key.endswith("source"):
                    yield value
                else:
                    yield from sources(value)
        elif isinstance(data, list):
            for item in data:
                yield from sources(item)

    data = tomllib.loads(file.read_text(encoding="utf-8"))
    found = list(sources(data))
    assert found or "includes" in data
    for source in found:
        assert SOURCE.search(source), source
        if "common practice" in source:
            assert "no source" in source or ":" in source or "after" in source, source


def test_every_number_in_the_code_says_where_it_comes_from() -> None:
    """A module's named number is followed by words on it, or by a name that ends in SOURCE."""
    bare = []
    for file in sorted(FOLDER.glob("*.py")):
        body = ast.parse(file.read_text(encoding="utf-8")).body
        for here, after in zip(body, [*body[1:], None], strict=True):
            if not (isinstance(here, ast.Assign) and isinstance(here.value, ast.Constant)):
                continue
            if not isinstance(here.value.value, int | float):
                continue
            text = ast.unparse(after) if after else ""
            if not (isinstance(after, ast.Expr) or "SOURCE" in text.split("=")[0]):
                bare.append(f"{file.name}: {ast.unparse(here)}")
    assert bare == []


def _statements() -> set[str]:
    found: set[str] = set()
    for file in STATEMENTS.glob("*.toml"):
        found |= {key for key in tomllib.loads(file.read_text(encoding="utf-8")) if key != "class"}
    return found


def _named() -> Iterator[str]:
    for rules in rule_sets():
        yield from (caution.statement for caution in rules.cautions)
    yield from (circumstance.statement for circumstance in _circumstances())
    yield from (excipient.statement for excipient in excipients())
    yield from (f"when.{when}" for when in shorthand().whens.values())
    for phrase in shorthand().phrases:
        kind, _, value = phrase.gives.partition(":")
        if kind == "reason":
            yield f"reason.{value}"
    for profile in profiles().values():
        for row in profile.particulars:
            kind, _, value = row.satisfied_by.partition(":")
            if kind == "statement" and "{" not in value:
                yield value


def test_every_statement_that_rules_name_exists() -> None:
    """No rule asks for a sentence that wording doesn't have."""
    assert sorted(set(_named()) - _statements()) == []


def test_every_group_that_rules_name_exists() -> None:
    """Conflicts and interactions name a group or a known INN, never a word that nothing matches."""
    for rules in rule_sets():
        for part in (*rules.conflicts, *rules.interactions):
            assert means_something(part.group), f"{rules.id}: {part.group}"


def test_members_and_aliases_are_canonical() -> None:
    """Each member of a class or group is the name that its aliases lead to, and known."""
    for rules in rule_sets():
        for member in rules.members:
            assert canonical(member) == member, f"{rules.id}: {member}"
    for group in groups().values():
        for member in group.members:
            assert canonical(member) == member, f"{group.id}: {member}"


def test_a_member_belongs_to_one_class() -> None:
    """No ingredient is described by two shipped classes that may contradict one another."""
    members = [member for rules in rule_sets() for member in rules.members]
    assert len(members) == len(set(members))


def test_memory_is_owned_up_to() -> None:
    """A figure that nobody could read again says so in the very words of a refusal."""
    source = next(age.source for r in rule_sets() if r.id == "pde5-inhibitors" for age in r.ages)
    assert "from memory" in source
    assert "from memory" in str(Fault("f", "", "", "w", "m", "age.x", source))
