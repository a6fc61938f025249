"""TOML 1.0 text to plain tables, with one kind of refusal.

The library that reads TOML raises several kinds of exception for a damaged text, and takes time
by the square of a dotted key's length. Here whatever can't be read is a ValueError, soon.
"""

import re
import tomllib
from collections.abc import Callable
from decimal import DecimalException

MOST_PARTS = 100
"""Parts of one dotted key. Our own bound: the deepest key that labelkit knows has four."""

_PART = r"""\.[ \t]*(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*"""
_LONG_KEY = re.compile(f"(?:{_PART}){{{MOST_PARTS}}}")


def toml_tables(text: str, parse_float: Callable[[str], object] = float) -> dict[str, object]:
    """The tables of a TOML text. Raises ValueError, with the place where it is known."""
    if _LONG_KEY.search(text):
        raise ValueError(f"a dotted key has more than {MOST_PARTS} parts")
    try:
        return tomllib.loads(text, parse_float=parse_float)
    except RecursionError:
        raise ValueError("its lists or tables stand too deep in one another") from None
    except DecimalException:
        raise ValueError("a number is out of every range") from None
