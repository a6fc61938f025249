"""What each code says: GS1 element strings or an ISO/IEC 15434 envelope, and plain codes.

A lot without a GTIN can't be said in GS1 (AI 10 and 17 are valid only with AI 01), so that
pharmacies without one get ISO/IEC 15434 format 06 with data identifiers. Everything is
validated here, before any encoder: encoders let bad data through. Nothing is trimmed,
upper-cased or corrected.
"""

import unicodedata
from collections.abc import Iterable
from datetime import date
from urllib.parse import unquote_plus, urlsplit

from labelkit.barcodes import gs1
from labelkit.barcodes.model import CodeData, Symbology
from labelkit.ground.errors import CodeRefused, Fault
from labelkit.records.identifiers import RX_MOST

ENVELOPE_HEAD = "[)>\x1e06\x1d"
"""Message header and format header 06 (data identifiers): ISO/IEC 15434:2019, 5.1 and 5.2
(from memory)."""

ENVELOPE_TAIL = "\x1e\x04"
"""Format trailer RS and message trailer EOT: ISO/IEC 15434:2019, 5.3 (from memory)."""

LOT_IDENTIFIER = "1T"
"""Traceability number assigned by the supplier to a unique group of entities, e.g. a lot:
ANS MH10.8.2-2016, category 20 (from memory)."""

DATE_IDENTIFIER = "14D"
"""Expiration date as YYYYMMDD: ANS MH10.8.2-2016, category 4 (from memory)."""

SERIAL_IDENTIFIER = "S"
"""Serial number assigned by the supplier to an entity for its lifetime: ANS MH10.8.2-2016,
category 19 (from memory)."""

ADDRESS_MOST = 150
"""Longest leaflet address: a QR code of it is at most 57 modules at error correction M
(version 10-M holds 213 bytes: ISO/IEC 18004:2015, table 7, from memory)."""

SHORT_SECRET = 8
"""Letters and digits under which a secret is looked for as words, not inside other words."""

_GS1_SOURCE = "GS1 General Specifications, sections 3.2 to 3.5 and 7.11, from memory"
_CHECK_DIGIT = "GS1 General Specifications, 7.9.1, from memory"
_TEXT_MEND = (
    f"use 1 to {gs1.SERIAL_MOST} unaccented letters, digits or signs of GS1's character set 82"
)


def cell_data(
    lot: str,
    beyond_use: date,
    serial: str,
    gtin: str | None = None,
    *,
    printed_in: int | None = None,
) -> CodeData:
    """The Data Matrix of one cell: lot, beyond-use date, and the serial where there is one.

    `serial` is empty where the layout gives none. `gtin` makes it GS1: (01)(17)(10)(21);
    without one it is the ISO/IEC 15434 envelope. `printed_in` is the year of printing: GS1
    writes two digits of the year, and a date outside the reader's window is refused.
    Raises CodeRefused with every fault found.
    """
    faults = _text_faults("lot", lot)
    if serial:
        faults += _text_faults("serial", serial)
    if gtin is not None:
        faults += _gtin_faults(gtin) + _century_faults(beyond_use, printed_in)
    if faults:
        raise CodeRefused(faults)
    if gtin is None:
        return _envelope(lot, beyond_use, serial)
    return _element_strings(gtin, lot, beyond_use, serial)


def pack_data(lot: str, beyond_use: date) -> CodeData:
    """The Data Matrix of a pack (a piece in its sleeve): lot and date, in the envelope.

    Never GS1: a GTIN names one packaging level (GS1 General Specifications, 2.1, from memory),
    and records hold only that of the single tablet. No patient and no prescription is in it.
    Raises CodeRefused.
    """
    return cell_data(lot, beyond_use, "")


def rx_data(number: str) -> CodeData:
    """The Code 128 of a prescription number: printable ASCII, no outer spaces.

    Raises CodeRefused.
    """
    printable = all(" " <= c <= "~" for c in number)
    if not number or not printable or number != number.strip() or len(number) > RX_MOST:
        raise CodeRefused(
            [
                Fault(
                    "code",
                    "",
                    "rx",
                    f"prescription number {number!r} can't stand in a Code 128",
                    f"use 1 to {RX_MOST} printable ASCII characters with no space at either end",
                    "code-128-characters",
                    "ISO/IEC 15417:2007, 4.1, from memory; the length is common practice",
                )
            ]
        )
    return CodeData(Symbology.CODE_128, number, False, number, (("rx", number),))


def leaflet_data(address: str, secrets: Iterable[str] = ()) -> CodeData:
    """The QR code of the leaflet's web address, which names no patient.

    `secrets` are the texts it must not hold in any spelling (name, birth date, prescription
    number, serial): compared without accents, case and separators, after undoing percent
    signs. Raises CodeRefused with every fault found.
    """
    faults = _address_faults(address)
    plain = unquote_plus(address)
    for secret in secrets:
        if _tells(plain, secret):
            faults.append(
                Fault(
                    "code",
                    "",
                    "address",
                    f"the leaflet's address holds {secret!r}, which belongs to one patient",
                    "give the address of a leaflet that is the same for everybody",
                    "code-without-patient",
                    "common practice: a code anyone can scan says nothing of a person",
                )
            )
    if faults:
        raise CodeRefused(faults)
    return CodeData(Symbology.QR, address, False, address, (("address", address),))


def _envelope(lot: str, beyond_use: date, serial: str) -> CodeData:
    parts = [(LOT_IDENTIFIER, lot), (DATE_IDENTIFIER, f"{beyond_use:%Y%m%d}")]
    fields = [("lot", lot), ("beyond_use", beyond_use.isoformat())]
    if serial:
        parts.append((SERIAL_IDENTIFIER, serial))
        fields.append(("serial", serial))
    body = gs1.GROUP_SEPARATOR.join(identifier + datum for identifier, datum in parts)
    return CodeData(
        Symbology.DATA_MATRIX,
        ENVELOPE_HEAD + body + ENVELOPE_TAIL,
        False,
        "".join(f"({identifier}){datum}" for identifier, datum in parts),
        tuple(fields),
    )


def _element_strings(gtin: str, lot: str, beyond_use: date, serial: str) -> CodeData:
    # 01 and 17 have predefined lengths and need no separator; 10 does unless it is the last
    # (GS1 General Specifications, 7.8.5, from memory): the fixed ones first saves codewords.
    day = f"{beyond_use:%y%m%d}"
    payload = f"01{gtin}17{day}10{lot}"
    human = f"(01){gtin}(17){day}(10){lot}"
    fields = [("gtin", gtin), ("beyond_use", beyond_use.isoformat()), ("lot", lot)]
    if serial:
        payload += f"{gs1.GROUP_SEPARATOR}21{serial}"
        human += f"(21){serial}"
        fields.append(("serial", serial))
    return CodeData(Symbology.DATA_MATRIX, payload, True, human, tuple(fields))


def _text_faults(field: str, text: str) -> list[Fault]:
    wrong = gs1.text_wrong(text)
    if not wrong:
        return []
    return [Fault("code", "", field, wrong, _TEXT_MEND, "code-characters", _GS1_SOURCE)]


def _gtin_faults(gtin: str) -> list[Fault]:
    wrong = gs1.gtin_wrong(gtin)
    if not wrong:
        return []
    mend = "copy the GTIN anew from GS1's licence, or leave it out"
    return [Fault("code", "", "gtin", wrong, mend, "gtin", _CHECK_DIGIT)]


def _century_faults(beyond_use: date, printed_in: int | None) -> list[Fault]:
    """A date that its two-digit year would make another, for a reader in the year of printing."""
    if printed_in is None or gs1.year_read(beyond_use.year % 100, printed_in) == beyond_use.year:
        return []
    return [
        Fault(
            "code",
            "",
            "beyond_use",
            f"a reader in {printed_in} takes the two-digit year of {beyond_use.isoformat()} for "
            f"{gs1.year_read(beyond_use.year % 100, printed_in)}",
            "give a beyond-use date from 49 years before to 50 years after printing",
            "century",
            "GS1 General Specifications, 7.12, from memory",
        )
    ]


def _address_faults(address: str) -> list[Fault]:
    wrong = ""
    if not all("!" <= c <= "~" for c in address) or any(c in '"<>\\^`{|}' for c in address):
        wrong = f"{address!r} holds characters that no web address may"
    elif len(address) > ADDRESS_MOST:
        wrong = f"the address has {len(address)} characters, at most {ADDRESS_MOST} are allowed"
    elif not _is_plain_https(address):
        wrong = f"{address!r} isn't an https address with a host and no sign-in name"
    if not wrong:
        return []
    mend = "give an address such as https://www.example.org/leaflet"
    return [Fault("code", "", "address", wrong, mend, "leaflet-address", "RFC 3986, RFC 9110 4.2")]


def _is_plain_https(address: str) -> bool:
    try:
        parts = urlsplit(address)
        port_ok = parts.port is None or parts.port > 0
    except ValueError:
        return False
    return parts.scheme == "https" and bool(parts.hostname) and not parts.username and port_ok


def _tells(text: str, secret: str) -> bool:
    """Whether a text holds a secret in any spelling: without accents, case and signs.

    A name as short as Bo Li counts only as words of its own, since any address may hold a few
    letters in a row.
    """
    words = _words(secret)
    bare = words.replace(" ", "")
    if len(bare) < SHORT_SECRET:
        return bool(words) and f" {words} " in f" {_words(text)} "
    return bare in _words(text).replace(" ", "")


def _words(text: str) -> str:
    decomposed = unicodedata.normalize("NFKD", text).casefold()
    kept = (c for c in decomposed if not unicodedata.combining(c))
    return " ".join("".join(c if c.isalnum() else " " for c in kept).split())
