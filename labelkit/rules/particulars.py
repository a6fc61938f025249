"""Required particulars: what each separable part of each artwork must carry, and by which law.

The rows are data, one file for each country profile; the pharmacy adds its own in
``decisions.toml``, and does without one only by a recorded decision. A profile that needs a
province and its languages refuses without them. Nothing here knows where on a page it goes.
"""

import re
from collections.abc import Iterator, Mapping
from functools import cache

from pydantic import Field

from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.decisions import RemovedParticular
from labelkit.records.model import Preparation, Prescription, Workspace
from labelkit.rules.cautions import cautions_for, circumstances_of
from labelkit.rules.data import Datum, Source, load, names
from labelkit.rules.limits import interval_statement
from labelkit.rules.model import Requirement
from labelkit.rules.places import At

ARTWORKS = ("lidding", "sleeve", "leaflet", "pad")

DECIDED_SOURCE = "common practice, no source: a decision that changes nothing is a mistake"

_SATISFIER = re.compile(r"(fact|statement|code|picture|table|ticks):[a-z0-9][a-z0-9._-]*")


class Particular(Datum):
    """One row."""

    id: str
    artwork: str
    place: str
    satisfied_by: str
    """As in `Requirement`; ``{storage}``, ``{form}`` and ``{interval}`` are filled in."""
    when: str = "always"
    """Circumstances that must all hold, joined by ``and``."""
    least_pt: float = 0.0
    least_x_height_mm: float = 0.0
    source: Source


class Province(Datum):
    """A part of a country with languages of its own."""

    code: str
    name: str
    languages: tuple[str, ...]
    """Languages (primary subtags) that the label must be offered in."""
    source: Source


class Validity(Datum):
    """How long after its writing a prescription may be dispensed."""

    months: int = Field(ge=1)
    source: Source


class Profile(Datum):
    """All that one country profile asks for."""

    country: str
    title: str
    note: str = ""
    """What a reader of the report must know of the profile as a whole."""
    includes: tuple[str, ...] = ()
    """Profiles whose rows hold here too, the strictest size of each."""
    particulars: tuple[Particular, ...] = ()
    provinces: tuple[Province, ...] = ()
    validity: Validity | None = None
    """Of prescriptions; None where the profile only includes others."""
    cautions: Mapping[str, int] = Field(default_factory=dict)
    """Artwork → cautions of the medicine that it must carry: up to this severity."""


@cache
def profiles() -> dict[str, Profile]:
    """Every shipped profile by its country."""
    found = [Profile.model_validate(load(name)) for name in names("particulars")]
    return {p.country: p for p in found}


@cache
def rows_of(country: str) -> tuple[Particular, ...]:
    """The rows of a profile with those it includes, each place and satisfier once.

    Where two profiles size the same particular, the larger size holds, with
    both sources. Raises RuleRefused for a country without a profile.
    """
    profile = profile_of(country)
    strictest: dict[tuple[str, ...], Particular] = {}
    inherited = [row for other in profile.includes for row in rows_of(other)]
    for row in (*profile.particulars, *inherited):
        key = (row.artwork, row.place, row.satisfied_by, row.when)
        strictest[key] = _stricter(strictest[key], row) if key in strictest else row
    return tuple(strictest.values())


def profile_of(country: str) -> Profile:
    """The profile of a country. Raises RuleRefused where none is shipped."""
    if country in profiles():
        return profiles()[country]
    fault = At("pharmacy.toml", "", "").fault(
        "country",
        f"no particulars are known for {country!r}",
        f"choose one of {', '.join(sorted(profiles()))}; union asks for all of them",
        "particulars.profile",
        "common practice, no source: what must be printed depends on the country",
    )
    raise RuleRefused([fault])


def required(
    workspace: Workspace,
    artwork: str,
    preparation: Preparation,
    prescription: Prescription | None,
) -> tuple[Requirement, ...]:
    """What the artwork must carry for that preparation and, where there is one, that patient.

    The country's rows, then the cautions of the medicine, then the pharmacy's own, less
    country's rows that a recorded decision takes away (see `removals`): a caution of the
    medicine is never among them. Raises RuleRefused when the
    profile is unknown or an ingredient has no rule set.
    """
    case = circumstances_of(preparation, prescription)
    country = workspace.pharmacy.country
    removed = {r.id for r in removals(workspace, artwork)}
    rows = [
        _requirement(row, preparation, prescription)
        for row in rows_of(country)
        if row.artwork == artwork and set(row.when.split(" and ")) <= case and row.id not in removed
    ]
    cautions = _cautions(workspace, artwork, preparation, prescription)
    return tuple(dict.fromkeys((*rows, *cautions, *_added(workspace, artwork))))


def removals(workspace: Workspace, artwork: str) -> tuple[RemovedParticular, ...]:
    """The pharmacy's recorded decisions to do without a particular: every report prints them."""
    return tuple(r for r in workspace.decisions.removed_particulars if r.artwork == artwork)


def caution_level(country: str, artwork: str) -> int:
    """Cautions of the medicine that an artwork must carry: up to this severity; 0 is none."""
    profile = profile_of(country)
    own = profile.cautions.get(artwork, 0)
    return max([own, *(caution_level(other, artwork) for other in profile.includes)])


def judge_profile(workspace: Workspace) -> tuple[Fault, ...]:
    """Province and languages that the profile asks for, and decisions that change its rows.

    Raises RuleRefused for a country without a profile.
    """
    return (*_provinces(workspace), *_decided(workspace))


def _decided(workspace: Workspace) -> Iterator[Fault]:
    at = At("decisions.toml", "", "")
    for added in workspace.decisions.added_particulars:
        if not _SATISFIER.fullmatch(added.satisfied_by):
            yield at.fault(
                "added_particular",
                f"{added.satisfied_by!r} of {added.id} names nothing that can be printed",
                "write fact:NAME, statement:ID, code:NAME or picture:NAME",
                "particulars.added",
                DECIDED_SOURCE,
            )
    rows = rows_of(workspace.pharmacy.country)
    for removed in workspace.decisions.removed_particulars:
        if removed.id not in {row.id for row in rows if row.artwork == removed.artwork}:
            yield at.fault(
                "removed_particular",
                f"{removed.id} isn't a particular of the {removed.artwork} in this profile; "
                "a caution of the medicine can't be left out",
                "correct the id, or take the decision out",
                "particulars.removed",
                DECIDED_SOURCE,
            )


def _provinces(workspace: Workspace) -> Iterator[Fault]:
    pharmacy = workspace.pharmacy
    provinces = {p.code: p for p in profile_of(pharmacy.country).provinces}
    if not provinces:
        return
    at = At("pharmacy.toml", "", "")
    province = provinces.get(pharmacy.province)
    if province is None:
        yield at.fault(
            "province",
            f"{pharmacy.province!r} is no province of this profile"
            if pharmacy.province
            else "the province is missing, and with it the languages it asks for",
            f"write one of {', '.join(sorted(provinces))}",
            "particulars.province",
            "common practice, no source: languages of labels are the province's law",
        )
        return
    offered = {tag.split("-")[0] for tag in pharmacy.languages}
    for language in province.languages:
        if language not in offered:
            yield at.fault(
                "languages",
                f"{province.name} asks for labels in {language!r}, which is not offered",
                f"offer {language!r}, with wording that a pharmacist accepted",
                "particulars.province-language",
                province.source,
            )


def _requirement(row: Particular, preparation: Preparation, rx: Prescription | None) -> Requirement:
    satisfied_by = row.satisfied_by.format(
        storage=preparation.storage,
        form=preparation.dosage_form,
        interval=interval_statement(preparation, rx),
    )
    return Requirement(
        row.id,
        row.artwork,
        row.place,
        satisfied_by,
        row.least_pt,
        row.least_x_height_mm,
        row.source,
    )


def _cautions(
    workspace: Workspace, artwork: str, preparation: Preparation, rx: Prescription | None
) -> Iterator[Requirement]:
    level = caution_level(workspace.pharmacy.country, artwork)
    place = "document" if artwork in {"leaflet", "pad"} else "piece"
    for caution in cautions_for(preparation, workspace, rx):
        if caution.severity <= level:
            yield Requirement(
                caution.statement,
                artwork,
                place,
                f"statement:{caution.statement}",
                0.0,
                0.0,
                f"{caution.rule}: {caution.source}",
            )


def _added(workspace: Workspace, artwork: str) -> Iterator[Requirement]:
    for own in workspace.decisions.added_particulars:
        if own.artwork == artwork:
            yield Requirement(
                own.id, artwork, own.place, own.satisfied_by, own.least_pt, 0.0, own.source
            )


def _stricter(one: Particular, other: Particular) -> Particular:
    """Both rows in one. An x-height stays a way out only where both sizes offer one."""
    sized = [row for row in (one, other) if row.least_pt > 0]
    every = all(row.least_x_height_mm > 0 for row in sized)
    return one.model_copy(
        update={
            "least_pt": max(one.least_pt, other.least_pt),
            "least_x_height_mm": max(one.least_x_height_mm, other.least_x_height_mm) * every,
            "source": one.source if other.source in one.source else f"{one.source}; {other.source}",
        }
    )
