"""Packages that only some pharmacies need, and the extra of labelkit that installs each.

A language whose face isn't installed is refused with the extra's name, never set in another face.
"""

from functools import cache
from importlib.util import find_spec

CJK = "justmytype_intl_cjk"
"""Faces of Chinese and Korean: a sixth of what labelkit would install."""

_EXTRAS = {CJK: ("cjk", "the faces of Chinese and Korean")}


@cache
def installed(package: str) -> bool:
    """Whether a package is there; it isn't imported for that."""
    return find_spec(package) is not None


def mend(package: str) -> str:
    """What to do where a package of `_EXTRAS` is missing."""
    extra, brings = _EXTRAS[package]
    return f"install labelkit[{extra}], which brings {brings}"
