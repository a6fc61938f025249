"""A FHIR resource, read so that nothing in it can be lost unseen.

Every element remembers what was taken from it. What is left at the end, extensions and
elements of an unexpected kind included, is listed with its path.
"""

from collections.abc import Iterator
from decimal import Decimal

SILENT = frozenset({"resourceType", "id", "meta", "text"})
"""Of a resource: its own administration, and the narrative, which repeats its elements
(FHIR R4, DomainResource.text)."""

MOST_DIGITS = 15
"""Numbers of more digits are left, and so named: our own bound, far over any real one."""


class Element:
    """One JSON object of a resource, with its path."""

    def __init__(self, values: dict[str, object], path: str = "") -> None:
        self.values = values
        self.path = path
        self._taken: set[str] = set()
        self._children: list[Element] = []

    def take(self, name: str) -> None:
        """Take an element of any kind."""
        self._taken.add(name)

    def text(self, name: str) -> str:
        """A string, or '' (and the element stays untaken) where there is none."""
        value = self.values.get(name)
        if not isinstance(value, str):
            return ""
        self._taken.add(name)
        return value.strip()

    def flag(self, name: str) -> bool | None:
        """True or false, or None."""
        value = self.values.get(name)
        if not isinstance(value, bool):
            return None
        self._taken.add(name)
        return value

    def number(self, name: str) -> Decimal | None:
        """A number, exact, or None."""
        value = self.values.get(name)
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            return None
        exact = Decimal(value)
        if abs(exact.adjusted()) > MOST_DIGITS or len(exact.as_tuple().digits) > MOST_DIGITS:
            return None
        self._taken.add(name)
        return exact

    def texts(self, name: str) -> list[str]:
        """A list of strings, or [] where there is anything else."""
        value = self.values.get(name)
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            return []
        self._taken.add(name)
        return [str(item).strip() for item in value]

    def child(self, name: str) -> "Element":
        """The element of that name; an empty one where there is none."""
        value = self.values.get(name)
        if not isinstance(value, dict):
            return Element({})
        return self._open(name, value, f"{self.path}.{name}".strip("."))

    def children(self, name: str) -> list["Element"]:
        """The elements of a list; [] where there is no list of objects."""
        value = self.values.get(name)
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            return []
        self._taken.add(name)
        path = f"{self.path}.{name}".strip(".")
        return [self._open("", item, f"{path}[{n}]") for n, item in enumerate(value, start=1)]

    def put_back(self) -> None:
        """Take nothing from this element after all: it will be listed as left."""
        self._taken.clear()
        self._children.clear()

    def words(self) -> list[str]:
        """Of a CodeableConcept: its text and what its codings display, those that say anything."""
        said = [self.text("text")] + [coding.text("display") for coding in self.children("coding")]
        return [word for word in said if word]

    def codes(self) -> list[tuple[str, str]]:
        """Of a CodeableConcept: system and code of each coding."""
        return [(c.text("system"), c.text("code")) for c in self.children("coding")]

    @property
    def untouched(self) -> bool:
        """Whether nothing was taken."""
        return not self._taken

    def left(self) -> Iterator[tuple[str, object]]:
        """Path and value of all that nobody took, whole where nothing in it was taken."""
        for name, value in self.values.items():
            if name not in self._taken and not (name in SILENT and not self.path):
                yield f"{self.path}.{name}".strip("."), value
        for child in self._children:
            if child.untouched:
                yield child.path, child.values
            else:
                yield from child.left()

    def __bool__(self) -> bool:
        return bool(self.values)

    def _open(self, name: str, value: dict[str, object], path: str) -> "Element":
        known = next((child for child in self._children if child.path == path), None)
        if known:
            return known
        child = Element(value, path)
        self._children.append(child)
        self._taken.add(name)
        return child


class Resource(Element):
    """A resource of a bundle, and the name by which faults call it."""

    def __init__(self, values: dict[str, object], url: str = "", place: int = 1) -> None:
        super().__init__(values)
        self.kind = str(values.get("resourceType", ""))
        id_ = values.get("id")
        self.key = f"{self.kind}/{id_}" if id_ else url or f"{self.kind} in entry[{place}]"
        """The resource's own id; without one its full URL, or else its place tells it apart."""
        self.url = url
