"""Reads ``pharmacy.toml``: who makes and answers for the medicine, and how its exports are encoded.

Checks form only. Whether a country profile can be served is the rules' business.
"""

import re
from dataclasses import dataclass

from labelkit.records.dates import FORMS
from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.fields import Fields
from labelkit.records.files import ENCODINGS
from labelkit.records.model import Pharmacy
from labelkit.records.text import SHORT, clean, shown
from labelkit.records.toml_tables import TomlFile

FILE = "pharmacy.toml"
COUNTRIES = ("us", "ca", "uk", "eu", "union")
PAPERS = ("letter", "a4")
KEYS = (
    "name",
    "short_name",
    "address",
    "telephone",
    "licence",
    "out_of_hours",
    "country",
    "province",
    "language",
    "languages",
    "made_on_is_day",
    "leaflet_address",
    "cards",
    "cards_hold",
    "paper",
    "works_alone",
    "files",
)

_TAG = re.compile(r"[a-z]{2,3}(?:-[A-Z][a-z]{3})?(?:-(?:[A-Z]{2}|[0-9]{3}))?")
_TELEPHONE = re.compile(r"\+?[0-9(][0-9()\-./ \u00a0]*(?:(?:x|ext\.?) ?[0-9]{1,6})?")
_CARD = re.compile(r"[a-z0-9][a-z0-9-]*|[A-Za-z0-9][A-Za-z0-9 _./-]*\.toml")
_ADDRESS = re.compile(r"https?://[A-Za-z0-9.\-]+(?::[0-9]+)?(?:/[A-Za-z0-9._~\-/]*)?")


@dataclass(frozen=True, slots=True)
class PharmacyFile:
    """What was read: the pharmacy (None when it has faults) and what reading goes on with."""

    pharmacy: Pharmacy | None
    encoding: str
    languages: tuple[str, ...]
    """Languages that a patient's may be compared with; none when that can't be told."""
    day_form: str = ""
    """The form of dates in its tables, one of `dates.FORMS`; empty where it isn't declared."""


def language_tag(text: str) -> str:
    """A language as ``es`` or ``es-US`` (BCP 47, RFC 5646: language, script, region).

    Raises Unreadable.
    """
    if not _TAG.fullmatch(text):
        raise Unreadable(f"{shown(text)} is no language tag", "write it as 'en' or 'es-US'")
    return text


def telephone(text: str) -> str:
    """A telephone number as it may be printed. Raises Unreadable."""
    kept = clean(text, SHORT)
    if not _TELEPHONE.fullmatch(kept) or sum(char.isdigit() for char in kept) < 3:
        raise Unreadable(
            f"{shown(kept)} is no telephone number", "write it as (503) 555-0114, or with 'ext. 12'"
        )
    return kept


def leaflet_address(text: str) -> str:
    """A web address that can hold nothing of a patient: no query, no fragment, no login.

    Raises Unreadable.
    """
    kept = clean(text)
    if not _ADDRESS.fullmatch(kept):
        raise Unreadable(
            f"{shown(kept)} is no plain web address",
            "write it as https://pharmacy.example/leaflets, without '?', '#', '@' or spaces",
        )
    return kept


def card(text: str) -> str:
    """A lidding layout's name without its paper, or a layout file inside the workspace.

    Raises Unreadable.
    """
    if not _CARD.fullmatch(text) or ".." in text:
        raise Unreadable(
            f"{shown(text)} names no kind of card",
            "write it as 'lidding-20', or as a file of this folder, 'layouts/ours.toml'",
        )
    return text


def read_pharmacy(book: FaultBook, file: TomlFile) -> PharmacyFile:
    """The pharmacy and the declared encoding of its table files."""
    fields = file.root()
    fields.only(KEYS)
    encoding, day_form, files_are_sound = _files(file)
    languages = fields.texts("languages", language_tag, '"en", "es"')
    address = fields.texts("address", example='"12 Quay Street", "Port Quill"')
    language = fields.parsed("language", "", language_tag)
    _check_languages(fields, languages, language)
    pharmacy = Pharmacy(
        name=fields.text("name"),
        short_name=fields.maybe_text("short_name", SHORT),
        address=address or ("",),
        telephone=fields.parsed("telephone", "", telephone),
        licence=fields.text("licence", SHORT),
        out_of_hours=fields.text("out_of_hours"),
        country=fields.choice("country", COUNTRIES),
        province=fields.maybe_text("province", SHORT),
        language=language,
        languages=languages or ("",),
        made_on_is_day=(
            0 if fields.blank("made_on_is_day") else fields.whole("made_on_is_day", 0, 1)
        ),
        leaflet_address=(
            ""
            if fields.blank("leaflet_address")
            else fields.parsed("leaflet_address", "", leaflet_address)
        ),
        cards=fields.texts("cards", card) or ("lidding-20",),
        cards_hold=(
            "one-patient"
            if fields.blank("cards_hold")
            else fields.choice("cards_hold", ("one-patient", "several-patients"))
        ),
        paper="letter" if fields.blank("paper") else fields.choice("paper", PAPERS),
        works_alone=fields.maybe_true("works_alone"),
    )
    sound = fields.sound and files_are_sound
    offered = tuple(dict.fromkeys((*languages, language))) if languages and language else ()
    return PharmacyFile(pharmacy if sound else None, encoding, offered, day_form)


def _check_languages(fields: Fields, languages: tuple[str, ...], language: str) -> None:
    if len(set(languages)) != len(languages):
        fields.fault("languages", "names a language twice", "remove one of the two")
    if language and languages and language not in languages:
        fields.fault(
            "languages",
            f"doesn't hold the pharmacy's own language '{language}'",
            f"add '{language}' to the list",
        )


def _files(file: TomlFile) -> tuple[str, str, bool]:
    """Encoding and form of dates of the table files, and whether what is said of them is sound."""
    table = file.table("files", required=False)
    if table is None:
        return "utf-8", "", "files" not in file.tree
    table.only(("encoding", "dates"))
    encoding = "utf-8" if table.blank("encoding") else table.choice("encoding", ENCODINGS)
    day_form = "" if table.blank("dates") else table.choice("dates", FORMS)
    return encoding, day_form, table.sound
