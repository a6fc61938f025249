"""A FHIR R4 bundle: its resources, found by the references R4 allows, and what is told of them.

Takes a bundle, or one request by itself. A resource with a modifier that labelkit can't
understand is refused, as the standard asks (FHIR R4, 2.1.0.4.2).
"""

import json
from decimal import Decimal, DecimalException

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records.fhir_elements import Element, Resource
from labelkit.records.fhir_told import Told, Weight, first_things_first, weight_of
from labelkit.records.json_rows import each_name_once
from labelkit.records.text import shown

REQUEST = "MedicationRequest"
_LOOK = "see whether it matters, and write what does into the row by hand"
_OF_BUNDLE = frozenset(
    {"resourceType", "id", "meta", "type", "entry", "timestamp", "total", "link"}
)
"""Elements of a bundle that say nothing of a patient, and `link`, which is looked at by itself."""
_OF_ENTRY = frozenset({"fullUrl", "resource", "search", "request", "response", "link"})
"""Elements of an entry: how it was asked for or stored, beside the resource itself."""


class Bundle:
    """The resources of one bundle, and what was told of them."""

    def __init__(self, name: str, resources: list[Resource]) -> None:
        self.name = name
        self.resources = resources
        self.closed: list[Resource] = []
        """Resources of which all was told already."""
        self._told: list[Told] = []

    def tell(
        self, resource: Resource, field: str, wrong: str, mend: str, weight: Weight = Weight.SAFETY
    ) -> None:
        """Name one thing that isn't carried over, or not for certain."""
        fault = Fault(self.name, resource.key, field, wrong, mend)
        self._told.append(Told(weight, fault))

    def tell_of_bundle(self, field: str, wrong: str, mend: str) -> None:
        """Name one thing about the bundle as a whole."""
        self._told.append(Told(Weight.SAFETY, Fault(self.name, "", field, wrong, mend)))

    @property
    def told(self) -> tuple[Told, ...]:
        """All that was told, what may harm first."""
        return first_things_first(self._told)

    def find(self, owner: Resource, reference: str, *kinds: str) -> Element | None:
        """The resource of one of these kinds: contained, by full URL, or by ``Type/id``."""
        if reference.startswith("#"):
            for inner in owner.children("contained"):
                same = inner.values.get("id") == reference[1:]
                if same and inner.values.get("resourceType") in kinds:
                    inner.text("resourceType")
                    inner.text("id")
                    return inner
            return None
        unversioned = reference.partition("/_history/")[0]
        for resource in self.resources:
            if resource.kind in kinds and unversioned and unversioned in _names_of(resource):
                return resource
        return None

    def follow(self, owner: Resource, reference: Element, *kinds: str) -> Element | None:
        """The resource that a Reference leads to, its other elements taken; None where none is."""
        found = self.find(owner, reference.text("reference"), *kinds)
        if found is None:
            reference.put_back()
            return None
        reference.text("type")
        reference.text("display")
        return found

    def tell_what_is_left(self) -> None:
        """Tell every element that nobody took."""
        for resource in self.resources:
            if resource in self.closed:
                continue
            if resource.untouched:
                wrong = f"isn't carried over: {shown(brief(_of_interest(resource)), 300)}"
                self.tell(resource, "", wrong, _LOOK, weight_of(resource.kind, ""))
                continue
            for path, value in resource.left():
                wrong = f"isn't carried over: {shown(brief(value), 300)}"
                self.tell(resource, path, wrong, _LOOK, weight_of(resource.kind, path))


def read_resources(data: bytes, name: str) -> Bundle:
    """The bundle in these bytes. Raises RecordsRefused."""
    tree = _tree(data, name)
    if tree.get("resourceType") == REQUEST:
        tree = {"resourceType": "Bundle", "entry": [{"resource": tree}]}
    if tree.get("resourceType") != "Bundle":
        raise RecordsRefused([_refusal(name, "", "isn't a FHIR bundle")])
    entries = tree.get("entry", [])
    entries = [e for e in entries if isinstance(e, dict)] if isinstance(entries, list) else []
    found = [
        Resource(entry["resource"], str(entry.get("fullUrl", "")), place)
        for place, entry in enumerate(entries, start=1)
        if isinstance(entry.get("resource"), dict)
    ]
    faults = [
        _refusal(name, r.key, f"holds {word}, which changes its meaning in a way unknown here")
        for r in found
        for word in ("modifierExtension", "implicitRules")
        if _holds(r.values, word)
    ]
    if _holds({k: v for k, v in tree.items() if k != "entry"}, "implicitRules"):
        faults.append(_refusal(name, "", "holds implicitRules, which change its meaning"))
    if faults:
        raise RecordsRefused(faults)
    if not any(r.kind == REQUEST for r in found):
        raise RecordsRefused([_refusal(name, "", f"holds no {REQUEST}")])
    bundle = Bundle(name, found)
    _tell_of_frame(bundle, tree, entries)
    return bundle


def brief(value: object) -> str:
    """A value on one line."""
    if isinstance(value, str):
        return value
    return json.dumps(value, ensure_ascii=False, default=str, sort_keys=True)


def _tree(data: bytes, name: str) -> dict[str, object]:
    try:
        tree = json.loads(data, parse_float=Decimal, object_pairs_hook=each_name_once)
    except (ValueError, RecursionError, DecimalException):
        raise RecordsRefused([_refusal(name, "", "isn't JSON that can be read")]) from None
    if not isinstance(tree, dict):
        raise RecordsRefused([_refusal(name, "", "isn't a FHIR bundle")])
    return tree


def _tell_of_frame(
    bundle: Bundle, tree: dict[str, object], entries: list[dict[str, object]]
) -> None:
    links = tree.get("link", [])
    for link in links if isinstance(links, list) else []:
        relation = link.get("relation") if isinstance(link, dict) else None
        if relation == "next":
            bundle.tell_of_bundle(
                "link",
                "a further page follows this one, and what stands there isn't known: allergies and "
                f"medicines may be among it ({shown(brief(link.get('url', '')), 200)})",
                "fetch every page, and import them as one bundle",
            )
        elif relation not in ("self", "first", "last", "previous", "prev"):
            bundle.tell_of_bundle("link", f"isn't followed: {shown(brief(link), 200)}", _LOOK)
    for name, value in tree.items():
        if name not in _OF_BUNDLE:
            bundle.tell_of_bundle(name, f"isn't carried over: {shown(brief(value), 300)}", _LOOK)
    for place, entry in enumerate(entries, start=1):
        for name, value in entry.items():
            if name not in _OF_ENTRY or (name == "resource" and not isinstance(value, dict)):
                bundle.tell_of_bundle(
                    f"entry[{place}].{name}",
                    f"isn't carried over: {shown(brief(value), 300)}",
                    _LOOK,
                )


def _names_of(resource: Resource) -> tuple[str, ...]:
    """What a reference may call the resource."""
    id_ = resource.values.get("id")
    return (resource.url, f"{resource.kind}/{id_}" if id_ else "")


def _of_interest(resource: Resource) -> dict[str, object]:
    """The resource without its own administration and narrative."""
    return {k: v for k, v in resource.values.items() if k not in ("meta", "text", "id")}


def _refusal(name: str, where: str, wrong: str) -> Fault:
    return Fault(name, where, "", wrong, "export a Bundle of FHIR R4 in JSON, without modifiers")


def _holds(value: object, word: str) -> bool:
    if isinstance(value, dict):
        return word in value or any(_holds(item, word) for item in value.values())
    return isinstance(value, list) and any(_holds(item, word) for item in value)
