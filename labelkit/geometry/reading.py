"""Reads layout files: the shipped ones by name, a pharmacy's own by path.

A file may start from another with ``extends`` and say only what differs: tables are laid over
tables, everything else is replaced. Whatever is wrong with a file ends in `LayoutRefused` with
all its faults; nothing is guessed, and no geometry is judged here.
"""

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from labelkit.geometry.expanding import expand
from labelkit.geometry.format import LayoutFile
from labelkit.geometry.model import Layout
from labelkit.ground import door
from labelkit.ground.errors import Fault, LayoutRefused
from labelkit.ground.toml_text import toml_tables

MOST_STEPS = 8
"""How many layouts may start from one another in a chain."""

_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,79}")

Tables = dict[str, Any]


def shipped() -> tuple[str, ...]:
    """The names of the layouts that come with labelkit, in order."""
    return tuple(sorted(path.stem for path in door.resource_dir("layouts").glob("*.toml")))


def load(name_or_path: str | Path) -> Layout:
    """A shipped layout by its name, or a file by its path (anything with ``/`` or ``.toml``).

    Raises LayoutRefused with every fault of the file, which is named as it was given.
    """
    said = str(name_or_path)
    if isinstance(name_or_path, str) and not said.endswith(".toml") and "/" not in said:
        if said not in shipped():
            known = ", ".join(shipped())
            raise _refused(said, "", "no layout of that name is shipped", f"name one of {known}")
        path = door.resource_dir("layouts") / f"{said}.toml"
    else:
        path = Path(name_or_path)
    try:
        return loads(_text(path), path.name, path.parent)
    except LayoutRefused as refused:
        if said == path.name or path.parent == door.resource_dir("layouts"):
            raise
        raise LayoutRefused(named(refused.faults, path.name, said)) from None


def named(faults: Iterable[Fault], file: str, said: str) -> Iterator[Fault]:
    """The faults of a file under the whole path by which a person named it."""
    return (replace(fault, file=said) if fault.file == file else fault for fault in faults)


def loads(text: str, file: str, folder: Path | None = None) -> Layout:
    """The layout a text describes; `file` names it, `folder` is searched for what it extends.

    Raises LayoutRefused with every fault of the text.
    """
    return expand(described(text, file, folder), Path(file).stem, file)


def described_as(name: str) -> LayoutFile:
    """A shipped layout as it is written, with all that it extends. Raises LayoutRefused."""
    return described(f'extends = "{name}"\n', "", None)


def described(text: str, file: str, folder: Path | None) -> LayoutFile:
    """The whole file a text stands for, with what it extends. Raises LayoutRefused."""
    tables = _whole(parsed(text, file), file, folder, (Path(file).stem,))
    try:
        return LayoutFile.model_validate_json(json.dumps(tables, default=str))
    except ValidationError as error:
        raise LayoutRefused(faults_in(file, error)) from None
    except (RecursionError, ValueError) as error:
        raise _refused(file, "", f"it can't be read ({error})", "write it simpler") from None


def _text(path: Path) -> str:
    try:
        return door.read_bytes(path).decode("utf-8-sig")
    except OSError as error:
        reason = error.strerror or "an error"
        raise _refused(
            str(path), "", f"it can't be opened: {reason}", "name a file that can be read"
        ) from None
    except UnicodeDecodeError as error:
        raise _refused(
            str(path),
            f"byte {error.start + 1}",
            "it isn't UTF-8",
            "save it as UTF-8, as TOML 1.0 asks",
        ) from None


def parsed(text: str, file: str) -> Tables:
    """The tables of a TOML text. Raises LayoutRefused where it isn't one."""
    try:
        return toml_tables(text)
    except ValueError as error:
        raise _refused(
            file, "", f"it isn't TOML: {error}", "mend the place that is named"
        ) from None


def _whole(tables: Tables, file: str, folder: Path | None, chain: tuple[str, ...]) -> Tables:
    """The tables laid over those of the layout they extend, and so on down the chain."""
    base = tables.get("extends", "")
    if base == "":
        return tables
    if not isinstance(base, str) or not _NAME.fullmatch(base):
        raise _refused(
            file,
            "extends",
            "it isn't a layout's name",
            "write a name of small letters, digits and hyphens, without .toml",
        )
    if base in chain or len(chain) >= MOST_STEPS:
        steps = " → ".join((*chain, base))
        raise _refused(file, "extends", f"it goes round or too far: {steps}", "break the chain")
    found = _find(base, folder)
    if found is None:
        raise _refused(
            file,
            "extends",
            f"there is no layout {base!r} in its folder or among the shipped ones",
            f"name one of {', '.join(shipped())}",
        )
    below = _whole(parsed(_text(found), found.name), found.name, found.parent, (*chain, base))
    return _laid_over(below, tables)


def _find(name: str, folder: Path | None) -> Path | None:
    places = [folder] if folder else []
    for place in (*places, door.resource_dir("layouts")):
        if (place / f"{name}.toml").is_file():
            return place / f"{name}.toml"
    return None


def _laid_over(below: Tables, above: Tables) -> Tables:
    """`above` over `below`: tables key by key, anything else as a whole."""
    merged = dict(below)
    for key, value in above.items():
        under = merged.get(key)
        if isinstance(value, dict) and isinstance(under, dict):
            merged[key] = _laid_over(under, value)
        else:
            merged[key] = value
    return merged


def faults_in(file: str, error: ValidationError) -> Iterator[Fault]:
    """All that pydantic found wrong, as faults of a file."""
    return (_fault(file, detail) for detail in error.errors())


def _fault(file: str, detail: Any) -> Fault:
    field = ".".join(str(part) for part in detail["loc"])
    if detail["type"] == "extra_forbidden":
        return Fault(file, "", field, "the format has no such key", "correct or remove it")
    if detail["type"] == "missing":
        return Fault(file, "", field, "it is missing", "add it")
    wrong = detail["msg"].removeprefix("Value error, ")
    return Fault(file, "", field, wrong[:1].lower() + wrong[1:], "correct the value")


def _refused(file: str, field: str, wrong: str, mend: str) -> LayoutRefused:
    return LayoutRefused([Fault(file, "", field, wrong, mend)])
