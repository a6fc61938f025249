"""The manifest as a file: what pages share is written once, however many the pages are.

A lot's lids say the same in every cell but for the codes; stated anew for each of 20,000 cells
it would fill a hundred megabytes. Each shared part and each page has a line of its own.
`Manifest.model_validate_json` reads it.
"""

from collections.abc import Iterable

from labelkit.manifest.model import SHARED, Manifest, Part


def written(manifest: Manifest) -> bytes:
    """The manifest's file, in UTF-8."""
    tables = {name: _Table() for name in SHARED}
    pages = []
    for page in manifest.pages:
        own = page.model_dump_json(exclude=set(SHARED))
        numbers = "".join(
            f',"{name}":[{",".join(map(str, table.numbers(getattr(page, name))))}]'
            for name, table in tables.items()
        )
        pages.append(f"{own[:-1]}{numbers}}}")
    shared = (
        f'"{name}":[\n{_lines(table.parts)}]' for name, table in tables.items() if table.parts
    )
    own = manifest.model_dump_json(exclude={"pages"})
    said = f'{own[:-1]},\n"shared":{{{",".join(shared)}}},\n"pages":[\n{_lines(pages)}]}}\n'
    return said.encode()


class _Table:
    """Parts in the order in which they were first met, each once."""

    def __init__(self) -> None:
        self.parts: dict[str, int] = {}
        self._known: dict[int, int] = {}

    def numbers(self, parts: Iterable[Part]) -> list[int]:
        """The number of each part; objects met before aren't written out again."""
        found = []
        for part in parts:
            if id(part) not in self._known:
                said = part.model_dump_json()
                self._known[id(part)] = self.parts.setdefault(said, len(self.parts))
            found.append(self._known[id(part)])
        return found


def _lines(parts: Iterable[str]) -> str:
    return ",\n".join(parts)
