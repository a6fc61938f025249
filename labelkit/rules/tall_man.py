"""Mixed-case spellings of look-alike names, from the published lists; invents none."""

from functools import cache

from labelkit.rules.data import Datum, Source, load


class TallManList(Datum):
    """One published list."""

    source: Source
    names: tuple[str, ...]


@cache
def _spellings() -> dict[str, str]:
    lists = [TallManList.model_validate(entry) for entry in load("tall-man.toml")["lists"]]
    found: dict[str, str] = {}
    for name in (name for listed in lists for name in listed.names):
        if found.setdefault(name.casefold(), name) != name:
            raise ValueError(f"two mixed-case spellings of {name.casefold()}")
    return found


def spelt(inn: str) -> str:
    """The name as a label prints it: ``hydralazine`` is ``hydrALAZINE``; others unchanged."""
    return _spellings().get(inn.casefold(), inn)
