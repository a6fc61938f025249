"""The packages that labelkit needs to run, by what is installed here, and the licence of each.

python tools/runtime_set.py      # one line a package: name, version, licence
"""

import re
import tomllib
from collections.abc import Iterable
from importlib.metadata import PackageMetadata, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = Path(__file__).parents[1] / "pyproject.toml"

ALLOWED = frozenset(
    {
        *("0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC", "MIT", "MIT-CMU"),
        *("OFL-1.1", "PSF-2.0", "Zlib"),
        *("LGPL-2.1-or-later", "LGPL-3.0-or-later", "LGPL-3.0-only", "MPL-1.1", "MPL-2.0"),
    }
)
"""SPDX names: permissive ones, and those that hold for their own, unmodified files alone."""

SPELLED = {
    "Apache License 2.0": "Apache-2.0",
    "Apache Software License": "Apache-2.0",
    "Apache 2.0": "Apache-2.0",
    "BSD": "BSD-3-Clause",
    "BSD License": "BSD-3-Clause",
    "ISC License": "ISC",
    "ISC License (ISCL)": "ISC",
    "MIT License": "MIT",
}
"""What metadata from before SPDX say. `BSD` may be of two clauses too, which ask for less."""

READ = {
    "locket": ("BSD-2-Clause; BSD License", "BSD-2-Clause"),
    "pyphen": (
        "GNU General Public License v2 or later (GPLv2+); GNU Lesser General Public License v2 or "
        "later (LGPLv2+); Mozilla Public License 1.1 (MPL 1.1)",
        "GPL-2.0-or-later OR LGPL-2.1-or-later OR MPL-1.1",
    ),
    "pypdfium2": (
        "BSD-3-Clause, Apache-2.0, dependency licenses",
        "BSD-3-Clause OR Apache-2.0",
    ),
    "python-bidi": ("GNU Library or Lesser General Public License (LGPL)", "LGPL-3.0-only"),
    "qrcode": ("BSD; BSD License; Other/Proprietary License", "BSD-3-Clause"),
    "reportlab": ("BSD license (see license.txt for details); BSD License", "BSD-3-Clause"),
}
"""Packages whose metadata can't be told by themselves: what they say, word for word, and what the
licence files that they install say. Other words than those make them unknown again."""


def runtime(extras: Iterable[str] = ()) -> tuple[str, ...]:
    """Names of all packages that labelkit with these extras needs here, its own needs' needs too.

    Raises PackageNotFoundError for one that isn't installed.
    """
    project = tomllib.loads(PROJECT.read_text())["project"]
    wanted = list(project["dependencies"])
    for extra in extras:
        wanted += project["optional-dependencies"][extra]
    found: set[str] = set()
    left = [(Requirement(line), "") for line in wanted]
    while left:
        need, extra = left.pop()
        if need.marker and not need.marker.evaluate({"extra": extra}):
            continue
        name = canonicalize_name(need.name)
        if name in found and not need.extras:
            continue
        found.add(name)
        for inner in distribution(name).requires or ():
            left += [(Requirement(inner), one) for one in ("", *need.extras)]
    return tuple(sorted(found))


def said(metadata: PackageMetadata) -> str:
    """What a package's metadata say of its licence: an SPDX expression, else its old words."""
    if expression := metadata.get("License-Expression"):
        return str(expression)
    line = (metadata.get("License") or "").split(", Copyright")[0].split("\n")[0].strip()
    kinds = metadata.get_all("Classifier") or []
    named = [kind.split("::")[-1].strip() for kind in kinds if kind.startswith("License ::")]
    return "; ".join(dict.fromkeys(one for one in (line, *named) if one))


def expression(name: str, words: str) -> str:
    """The SPDX expression of what a package says. Raises ValueError for what isn't known."""
    known_words, known = READ.get(name, ("", ""))
    if known and words == known_words:
        return known
    told = {SPELLED.get(one, one) for one in words.split("; ")}
    if len(told) != 1 or not words:
        raise ValueError(f"{name} says {words!r}: read its licence file, and add it to READ")
    return told.pop()


def allowed(spdx: str) -> bool:
    """Whether an SPDX expression leaves a choice that is allowed; unknown names aren't."""
    tokens = re.findall(r"[()]|[^\s()]+", spdx)

    def one() -> bool:
        token = tokens.pop(0)
        if token == "(":
            inner = either()
            tokens.pop(0)
            return inner
        return token in ALLOWED

    def both() -> bool:
        held = one()
        while tokens and tokens[0] == "AND":
            tokens.pop(0)
            held = one() and held
        return held

    def either() -> bool:
        held = both()
        while tokens and tokens[0] == "OR":
            tokens.pop(0)
            held = both() or held
        return held

    try:
        return either() and not tokens
    except IndexError:
        return False


def licence(name: str) -> str:
    """The SPDX expression of an installed package. Raises ValueError where it isn't allowed."""
    spdx = expression(name, said(distribution(name).metadata))
    if not allowed(spdx):
        raise ValueError(f"{name} is under {spdx}, which labelkit doesn't install")
    return spdx


if __name__ == "__main__":
    for package in runtime():
        print(package, distribution(package).version, licence(package))
