"""Every field of every record, with every kind of hostile value: refused at its place, or kept.

The fields are those of the sample's own files and of the tables' columns, so that a field that is
added is tried too. What is accepted must come out of the reader as it went in (in NFC, without
white space at its ends); what isn't must name file, field and mending.
"""

import csv
import io
import json
import re
import shutil
import tomllib
import unicodedata
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from labelkit.ground.errors import RecordsRefused
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records import lot_rows, patient_rows, prescription_rows
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"

TEXTS = {
    "empty": "",
    "blank": "  \u00a0 ",
    "huge": "x" * 5_000,
    "right to left": "שלום ברכה 12",
    "Arabic": "سارة الخطيب",
    "both ways": "Rx שלום (503) 555-0114",
    "turned": "12\u202e34",
    "isolated": "a\u2066b",
    "markup": "<b onload=x>&amp;</b>",
    "braces": "{{ drug.__class__ }} {% raw %} {0} {drug!r}",
    "TOML": '"]\n[x]\ny = """',
    "formula": "=HYPERLINK(1)",
    "bell": "a\x07b",
    "nought": "a\x00b",
    "escape": "\x1b[31mred",
    "lines": "a\r\nb",
    "paragraph": "a\u2029b",
    "invisible": "a\u200bb",
    "lost": "a\ufffdb",
    "private": "a\ue000b",
    "composed": "e\u0301",
    "Arabic digits": "١٢",
    "path": "../../etc/passwd",
    "number": "1e5",
    "huge number": "9" * 400,
}
KINDS: dict[str, Any] = {
    "true": True, "whole": 7, "below nought": -7, "fraction": 0.5, "huge": 10**30, "list": [],
    "list of lists": [["a"]], "list of numbers": [1], "table": {"a": 1}, "day": date(2026, 11, 2),
    "moment": datetime(2026, 11, 2, 10),  # noqa: DTZ001
}  # fmt: skip


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the sample's records, for one process's tests one after the other."""
    return Path(shutil.copytree(SAMPLE, tmp_path_factory.mktemp("every") / "records"))


def strings(value: object) -> Iterator[str]:
    """All texts in a record, numbers and days as text too."""
    if isinstance(value, dict):
        for one in value.values():
            yield from strings(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from strings(one)
    else:
        yield str(value)


def read(records: Path, name: str, field: str, value: object) -> Workspace | None:
    """The workspace; None after a refusal, or where a row is left out, told with where it is and
    how to mend it."""
    try:
        found = read_workspace(records)
    except RecordsRefused as refused:
        faults = refused.faults
    else:
        faults = tuple(fault for row in found.left_out for fault in row.faults)
        if not faults:
            return found
    assert all(fault.file and fault.wrong and fault.mend for fault in faults)
    said = " ".join(f"{f.file} {f.field} {f.wrong} {f.mend}" for f in faults)
    # A name that others refer to may be sound by itself, and missed by them.
    named = field in ("number", "id", "patient")
    assert name in said or str(value) in said or named, f"{field} = {value!r}: {said}"
    assert not any(char in said for char in "\x07\x00\x1b\u202e\u2066\u2029\u200b")
    return None


def kept(found: Workspace, value: object) -> bool:
    """Whether a value stands in the records as it was given."""
    wanted = unicodedata.normalize("NFC", str(value)).strip()
    return wanted in set(strings(found.model_dump()))


def kept_in_parts(found: Workspace, column: str, value: object) -> bool:
    """The same for a cell, which may be a list."""
    cell = str(value)
    if column != "allergies":
        return kept(found, cell)
    return all(kept(found, part) for part in re.split("[;\n]", cell) if part.strip())


TABLES = [
    (name, column)
    for name, columns in (
        ("patients", patient_rows.COLUMNS),
        ("medicines", patient_rows.MEDICINE_COLUMNS),
        ("lots", lot_rows.COLUMNS),
        ("prescriptions", prescription_rows.COLUMNS),
    )
    for column in columns
]


@pytest.mark.parametrize(("stem", "column"), TABLES)
def test_every_cell(records: Path, stem: str, column: str) -> None:
    """Each column of each table with each text, as a table file writes it."""
    path = records / f"{stem}.csv"
    whole = path.read_text("utf-8")
    try:
        for text in TEXTS.values():
            rows = list(csv.DictReader(io.StringIO(whole)))
            before = rows[0].get(column)
            rows[0][column] = text
            file = io.StringIO(newline="")
            writer = csv.DictWriter(file, rows[0], lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
            path.write_text(file.getvalue(), "utf-8", newline="")
            found = read(records, path.name, column, text)
            if found is not None and text.strip() and text != before:
                assert kept_in_parts(found, column, text), (column, text)
    finally:
        path.write_text(whole, "utf-8")


@pytest.mark.parametrize(("stem", "column"), TABLES)
def test_every_value_of_an_entry(records: Path, stem: str, column: str) -> None:
    """The same entries in JSON, with each text and each other kind of value."""
    path = records / f"{stem}.csv"
    whole = path.read_text("utf-8")
    entries = [{k: v or None for k, v in row.items()} for row in csv.DictReader(io.StringIO(whole))]
    other = path.with_suffix(".json")
    path.unlink()
    try:
        for value in (*TEXTS.values(), *KINDS.values(), float("nan"), {"a": {"b": [None]}}):
            changed = [entries[0] | {column: value}, *entries[1:]]
            other.write_text(json.dumps(changed, default=str), "utf-8")
            found = read(records, other.name, column, value)
            if found is not None and str(value).strip() and not isinstance(value, date):
                assert kept_in_parts(found, column, value), (column, value)
    finally:
        other.unlink()
        path.write_text(whole, "utf-8")


def leaves(tree: object, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The place of each value of a TOML file."""
    if isinstance(tree, dict | list) and tree:
        for key, value in tree.items() if isinstance(tree, dict) else enumerate(tree):
            yield from leaves(value, (*path, key))
    else:
        yield path


def written(value: object) -> str:
    """A value in TOML, tables inline (TOML 1.0)."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {written(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(written, value)) + "]"
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, str):
        return json.dumps(value).replace("\x7f", "\\u007F")
    return str(value).lower()


def replaced(tree: Any, path: tuple[Any, ...], value: object) -> Any:
    """The tree with another value at a place."""
    if not path:
        return value
    key, *rest = path
    if isinstance(tree, dict):
        return {k: replaced(v, tuple(rest), value) if k == key else v for k, v in tree.items()}
    return [replaced(v, tuple(rest), value) if n == key else v for n, v in enumerate(tree)]


FILES = sorted(p.relative_to(SAMPLE).as_posix() for p in SAMPLE.rglob("*.toml"))
LEAVES = [
    (name, path)
    for name in FILES
    for path in leaves(tomllib.loads((SAMPLE / name).read_text("utf-8")))
    # One preparation stands for all: they have the same form.
    if not name.startswith("preparations/") or name.endswith("tadalafil.toml")
]


@pytest.mark.parametrize(
    ("name", "path"), LEAVES, ids=[f"{n}:{'.'.join(map(str, p))}" for n, p in LEAVES]
)
def test_every_key(records: Path, name: str, path: tuple[Any, ...]) -> None:
    """Each value of each TOML file, with each text and each other kind of value."""
    file = records / name
    whole = file.read_text("utf-8")
    tree = tomllib.loads(whole)
    field = str(next(part for part in reversed(path) if isinstance(part, str)))
    try:
        for value in (*TEXTS.values(), *KINDS.values()):
            changed = replaced(tree, path, value)
            text = "".join(f"{json.dumps(k)} = {written(v)}\n" for k, v in changed.items())
            assert tomllib.loads(text) == changed
            file.write_text(text, "utf-8")
            found = read(records, name, field, value)
            if found is not None and value not in ([], "") and str(value).strip():
                assert kept(found, value) or isinstance(value, date | float), (path, value)
    finally:
        file.write_text(whole, "utf-8")


HARMS = {
    "missing": None,
    "empty": lambda data: b"",
    "UTF-16": lambda data: data.decode("utf-8").encode("utf-16"),
    "UTF-16 without mark": lambda data: data.decode("utf-8").encode("utf-16-le"),
    "Latin-1": lambda data: (data.decode("utf-8") + "señor\n").encode("latin-1", "ignore"),
    "nought at the end": lambda data: data + b"\0",
    "nought in the middle": lambda data: data[: len(data) // 2] + b"\0" + data[len(data) // 2 :],
    "mark in the middle": lambda data: data[:20] + b"\xef\xbb\xbf" + data[20:],
    "old Macintosh": lambda data: data.replace(b"\n", b"\r"),
    "twice": lambda data: data * 2,
}
DEFAULTS = {"one-patient", "lidding-20", "letter", "0", ""}
"""What keys of pharmacy.toml that may be left out stand for: lines that are gone aren't missed."""
KEPT = {
    "byte-order mark": lambda data: b"\xef\xbb\xbf" + data,
    "CRLF": lambda data: data.replace(b"\n", b"\r\n"),
}
OPTIONAL = {"acceptances.toml"}
WITHOUT = ("missing", "empty", "twice")
"""What an optional file of entries may be: none of them, or each a second time."""
ALL = sorted(p.relative_to(SAMPLE).as_posix() for p in SAMPLE.rglob("*.*") if p.is_file())


@pytest.mark.parametrize("name", ALL)
def test_every_file_in_another_form(records: Path, name: str) -> None:
    """Missing, empty, in another encoding or with noughts: refused, told, or nothing is changed."""
    file, sound = records / name, read_workspace(records)
    whole = file.read_bytes()
    try:
        for harm, change in HARMS.items():
            if change is None:
                file.unlink()
            else:
                file.write_bytes(change(whole))
            try:
                found = read_workspace(records)
            except RecordsRefused as refused:
                named = [f for f in refused.faults if f.file in (name, name.split("/")[0])]
                # A preparation that isn't there is missed where it is named.
                assert named or harm == "missing", (harm, str(refused))
                assert all(fault.wrong and fault.mend for fault in refused.faults)
            else:
                # A row that is harmed, or names a preparation that isn't there, is left out.
                told = bool(found.left_out) and all(row.faults for row in found.left_out)
                assert found == sound or told or (name in OPTIONAL and harm in WITHOUT), harm
        for keep, change in KEPT.items():
            file.write_bytes(change(whole))
            assert read_workspace(records) == sound, keep
    finally:
        file.write_bytes(whole)


@pytest.mark.parametrize("name", ALL)
def test_every_file_cut_short(records: Path, name: str) -> None:
    """Cut after any line or within it: refused, or what is left is as it was, entry by entry."""
    file, sound = records / name, read_workspace(records)
    whole = file.read_bytes()
    everything = set(strings(sound.model_dump()))
    try:
        for end in {*range(0, len(whole), max(1, len(whole) // 60)), len(whole) - 2}:
            file.write_bytes(whole[:end])
            try:
                found = read_workspace(records)
            except RecordsRefused as refused:
                assert all(fault.wrong and fault.mend for fault in refused.faults)
            else:
                left = set(strings(found.model_dump(exclude={"left_out"}))) - DEFAULTS
                assert left <= everything, (end, whole[:end][-40:])
    finally:
        file.write_bytes(whole)


FREE = {"patients": ("name",), "prescriptions": ("prescriber_name", "prescriber_registration")}


@pytest.mark.parametrize(
    ("kind", "made"),
    [
        ("Arabic", True), ("markup", True), ("braces", True), ("composed", True),
        ("right to left", False), ("both ways", False),
    ],
)  # fmt: skip
def test_what_is_kept_is_set_or_refused(tmp_path: Path, kind: str, made: bool) -> None:
    """Free texts of a prescription go onto its artwork as they stand, proved on the file, or
    are refused with a sentence: markup stays text, braces are never filled, and a script without
    a font (Hebrew) is never set as boxes."""
    folder = Path(shutil.copytree(SAMPLE, tmp_path / "records"))
    for stem, columns in FREE.items():
        path = folder / f"{stem}.csv"
        rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
        rows[0] |= dict.fromkeys(columns, TEXTS[kind][:40])
        file = io.StringIO(newline="")
        writer = csv.DictWriter(file, rows[0], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        path.write_text(file.getvalue(), "utf-8")
    wish = Wish(rx=("104321",), only=frozenset({"sleeve"}))
    outcome = make(folder, wish, tmp_path / "out")
    assert (len(outcome.made), len(outcome.refused)) == ((1, 0) if made else (0, 1))
    for no in outcome.refused:
        assert all(fault.wrong and fault.mend for fault in no.faults)
        assert not any("labelkit itself failed" in fault.wrong for fault in no.faults)
