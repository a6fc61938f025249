"""Record values, parsed back out of the print and compared as values.

The required text may stand where it must and the sheet still be wrong: another strength or
another lot beside it makes two answers to one question.
"""

from collections.abc import Iterable, Iterator

from labelkit.checks import values
from labelkit.checks.answers import Sheet
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import edges
from labelkit.checks.streams import Stream, Way, normal
from labelkit.checks.texts import short
from labelkit.checks.view import PageView
from labelkit.manifest.model import ManifestPage, RequiredValue

_NAMES = {
    "lot": "lot",
    "date": "date",
    "strength": "strength",
    "drug": "drug",
    "rx": "prescription number",
    "tablets": "number of tablets",
}


def check_values(
    view: PageView,
    page: ManifestPage,
    languages: Iterable[str],
    before: Sheet | None = None,
) -> tuple[list[Finding], set[int]]:
    """Findings of all values of a page, and which are right, by their place in its list; texts
    must have been looked at before, and `before` knows which values are what they were."""
    spoken = tuple(languages)
    right = before.values() if before else set()
    findings: list[Finding] = []
    for number, value in enumerate(page.values):
        if number not in right:
            wrong = list(_check(view, value, spoken))
            findings += wrong
            if not wrong:
                right.add(number)
    return findings, right


def _check(view: PageView, value: RequiredValue, languages: tuple[str, ...]) -> Iterator[Finding]:
    box = edges(value.within)
    streams = [view.content(box)]
    found = _parsed(value, streams[0].text, languages)
    if not any(f.value == wanted for f in found for wanted in _wanted(value)):
        streams = [view.placed(box, Way.JOINED), view.placed(box, Way.APART)]
        found = tuple(f for s in streams for f in _parsed(value, s.text, languages))
    wanted = _wanted(value)
    missing = [w for w in wanted if all(f.value != w for f in found)]
    name = _NAMES.get(value.kind, value.kind)
    if missing:
        read = ", ".join(dict.fromkeys(f.value for f in found)) or "none"
        yield sentence(
            FindingKind.VALUE_MISSING,
            view.number,
            f"the {name} read there is {read}, not {', '.join(missing)}",
            expected=value.value,
            found=read,
            piece=value.piece,
            area=value.area,
            where=value.within,
        )
    if value.kind in ("lot", "strength"):
        yield from _others(view, value, name, view.content(box), languages)


def _others(
    view: PageView,
    value: RequiredValue,
    name: str,
    stream: Stream,
    languages: tuple[str, ...],
) -> Iterator[Finding]:
    """Values of the same kind that stand there too, and that no required text explains."""
    right = set(_wanted(value))
    spans: dict[tuple[int, int], set[str]] = {}
    for found in _parsed(value, stream.text, languages):
        spans.setdefault((found.begin, found.end), set()).add(found.value)
    for (begin, end), readings in spans.items():
        owners = [o for o in stream.owners[begin:end] if o >= 0]
        if readings & right or bool(view.explained[owners].all()):
            continue
        yield sentence(
            FindingKind.VALUE_WRONG,
            view.number,
            f"a second {name} stands beside {value.value}: {short(stream.text[begin:end])}",
            expected=value.value,
            found=stream.text[begin:end],
            piece=value.piece,
            area=value.area,
            where=value.within,
        )


def _wanted(value: RequiredValue) -> tuple[str, ...]:
    """The record's value in the form the parser gives; a strength may hold several amounts."""
    if value.kind == "strength":
        amounts = values.amounts_in(value.value.replace(",", " "), ())
        return tuple(dict.fromkeys(a.value for a in amounts)) or (value.value,)
    if value.kind == "drug":
        return (normal(value.value).casefold(),)
    return (normal(value.value),)


def _parsed(
    value: RequiredValue, text: str, languages: tuple[str, ...]
) -> tuple[values.Found, ...]:
    match value.kind:
        case "date":
            return values.dates_in(text, languages)
        case "strength":
            return values.amounts_in(text, languages)
        case "drug":
            return values.words_in(text, normal(value.value))
        case "tablets":
            return values.numbers_in(text)
        case _:
            return values.alike(text, normal(value.value))
