"""Parses what a code's reader sends: GS1 element strings and ISO/IEC 15434 envelopes.

Written for the checker alone, from the standards, so that an error in making a payload meets
other code than its own. It corrects nothing and skips nothing it doesn't know.
"""

import re
from calendar import monthrange
from datetime import date

GROUP_SEPARATOR = "\x1d"
"""GS, ASCII 29: what a reader sends for FNC1 after a variable element string."""

_FIXED = {
    "00": 18,
    "01": 14,
    "02": 14,
    "11": 6,
    "12": 6,
    "13": 6,
    "15": 6,
    "16": 6,
    "17": 6,
    "20": 2,
}
"""AIs of predefined length, digits after the AI: GS1 General Specifications, table
7.8.5-2 (from memory)."""

_VARIABLE = {"10": 20, "21": 20, "22": 20, "30": 8, "37": 8, "240": 30, "241": 30, "250": 30}
"""AIs of variable length with their longest data: GS1 General Specifications, section 3
(10, 21 and 30: GS1 Syntax Dictionary; the others from memory)."""

_COMPANY = re.compile(r"9[0-9]")
"""AIs 90 to 99: internal information, up to 30 (90) or 90 characters."""

_CHARACTERS = re.compile(r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+")
"""GS1 AI encodable character set 82: GS1 General Specifications, figure 7.11-1
(the number from memory)."""

_ENVELOPE = re.compile(r"\[\)>\x1e06\x1d(.*)\x1e\x04", re.DOTALL)
"""Message header, format 06, one format only, trailers: ISO/IEC 15434:2019, section 5
(from memory)."""

_IDENTIFIER = re.compile(r"(\d{0,3}[A-Z])(.+)", re.DOTALL)
"""A data identifier: up to three digits and a letter (ANS MH10.8.2)."""

LOT, DAY, DAY_SHORT, SERIAL = "1T", "14D", "D", "S"
"""Data identifiers of lot (traceability number), expiry as YYYYMMDD, as YYMMDD, and serial:
ANS MH10.8.2 (from memory)."""

_AI_FIELDS = {"01": "gtin", "10": "lot", "21": "serial"}
_DI_FIELDS = {LOT: "lot", SERIAL: "serial"}


class PayloadError(ValueError):
    """A payload that doesn't follow its standard; the message says how."""


def element_strings(payload: str) -> tuple[tuple[str, str], ...]:
    """AI and data of each GS1 element string. Raises PayloadError."""
    found: list[tuple[str, str]] = []
    at = 0
    while at < len(payload):
        identifier = _application_identifier(payload, at)
        at += len(identifier)
        if identifier in _FIXED:
            end = at + _FIXED[identifier]
            data = payload[at:end]
            if not re.fullmatch(rf"[0-9]{{{_FIXED[identifier]}}}", data):
                raise PayloadError(f"AI {identifier} wants {_FIXED[identifier]} digits")
            # A separator after a predefined length is allowed, though never needed (7.8.6).
            at = end + 1 if payload[end : end + 1] == GROUP_SEPARATOR else end
        else:
            data, separator, _ = payload[at:].partition(GROUP_SEPARATOR)
            _refuse_data(identifier, data)
            at += len(data) + len(separator)
            if separator and at == len(payload):
                raise PayloadError("ends with a separator")
        found.append((identifier, data))
    if not found:
        raise PayloadError("is empty")
    return tuple(found)


def _application_identifier(payload: str, at: int) -> str:
    for length in (2, 3):
        identifier = payload[at : at + length]
        if identifier in _FIXED or identifier in _VARIABLE or _COMPANY.fullmatch(identifier):
            return identifier
    raise PayloadError(f"has no known application identifier at {payload[at : at + 4]!r}")


def _refuse_data(identifier: str, data: str) -> None:
    most = _VARIABLE.get(identifier, 30 if identifier == "90" else 90)
    if not 1 <= len(data) <= most:
        raise PayloadError(f"AI {identifier} has {len(data)} characters, not 1 to {most}")
    if not _CHARACTERS.fullmatch(data):
        raise PayloadError(f"AI {identifier} has characters outside GS1's set 82")
    if identifier in ("30", "37") and not re.fullmatch(r"[0-9]+", data):
        raise PayloadError(f"AI {identifier} wants digits")


def check_digit(digits: str) -> int:
    """The check digit of a GTIN's other digits: GS1 General Specifications, 7.9.1 (from memory)."""
    total = sum(int(d) * (3 if place % 2 == 0 else 1) for place, d in enumerate(digits[::-1]))
    return -total % 10


def gs1_fields(payload: str, read_in: int) -> dict[str, str]:
    """The record values of GS1 element strings; `read_in` is the reader's year, for the century.

    Raises PayloadError, also for an AI given twice and for lot or date without a GTIN.
    """
    fields: dict[str, str] = {}
    seen: set[str] = set()
    for identifier, data in element_strings(payload):
        if identifier in seen:
            raise PayloadError(f"AI {identifier} stands twice")
        seen.add(identifier)
        if identifier == "17":
            fields["beyond_use"] = _short_day(data, read_in)
        else:
            fields[_AI_FIELDS.get(identifier, f"AI {identifier}")] = data
    if "01" not in seen:
        raise PayloadError("has no GTIN: AI 10 and 17 mean nothing without AI 01")
    if check_digit(fields["gtin"][:-1]) != int(fields["gtin"][-1]):
        raise PayloadError(f"GTIN {fields['gtin']} has a wrong check digit")
    return fields


def envelope_fields(payload: str, read_in: int) -> dict[str, str]:
    """The record values of an ISO/IEC 15434 format 06 envelope. Raises PayloadError."""
    whole = _ENVELOPE.fullmatch(payload)
    if whole is None:
        raise PayloadError("isn't an ISO/IEC 15434 envelope of format 06")
    fields: dict[str, str] = {}
    for part in whole.group(1).split(GROUP_SEPARATOR):
        found = _IDENTIFIER.fullmatch(part)
        if found is None or any(ord(c) < 32 for c in part):
            raise PayloadError(f"has no data identifier in {part!r}")
        identifier, data = found.groups()
        name = _DI_FIELDS.get(identifier, f"DI {identifier}")
        if identifier == DAY:
            name, data = "beyond_use", _long_day(data)
        elif identifier == DAY_SHORT:
            name, data = "beyond_use", _short_day(data, read_in)
        if name in fields:
            raise PayloadError(f"data identifier {identifier} stands twice")
        fields[name] = data
    return fields


def _short_day(data: str, read_in: int) -> str:
    """YYMMDD as ISO; the century from 49 years back to 50 ahead (GS1 General
    Specifications, 7.12, from memory)."""
    year = read_in - read_in % 100 + int(data[:2]) if re.fullmatch("[0-9]{6}", data) else 0
    year += 100 if year - read_in < -49 else -100 if year - read_in > 50 else 0
    return _day(year, data[2:], data)


def _long_day(data: str) -> str:
    if not re.fullmatch("[0-9]{8}", data):
        raise PayloadError(f"date {data!r} isn't YYYYMMDD")
    return _day(int(data[:4]), data[4:], data)


def _day(year: int, rest: str, data: str) -> str:
    if not re.fullmatch("[0-9]{4}", rest):
        raise PayloadError(f"date {data!r} isn't digits of year, month and day")
    month, day = int(rest[:2]), int(rest[2:])
    if not 1 <= month <= 12 or not 1 <= day <= monthrange(year, month)[1]:
        raise PayloadError(f"date {data!r} names no day")
    return date(year, month, day).isoformat()
