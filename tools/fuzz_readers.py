"""The readers that `tools/fuzz.py` tries, each as a function of a chance.

Each takes a sound file of the sample, harms it (`fuzz_harms`) and gives it to the function that
a command would give it to. A refusal is right, and so is a result; all else is a crash.
"""

import json
import random  # noqa: TID251  (seeded: the same seed gives the same inputs)
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from fuzz_harms import (
    damaged,
    damaged_content,
    damaged_json,
    damaged_objects,
    damaged_png,
    damaged_table,
)

from labelkit.checks.reading_back import check
from labelkit.checks.scanning import check_scan
from labelkit.geometry.alignment import marks
from labelkit.geometry.judging import judge
from labelkit.geometry.measuring import layout_text, readings
from labelkit.geometry.reading import load
from labelkit.jobs.aligning import align, alignments
from labelkit.jobs.checking import report_in
from labelkit.jobs.manifests import manifest_of
from labelkit.jobs.orders import orders
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records import csv_rows, lot_rows, patient_rows, prescription_rows
from labelkit.records.faultbook import FaultBook
from labelkit.records.fhir_import import read_bundle
from labelkit.records.reading import read_workspace
from labelkit.rules.directions import read_directions
from labelkit.rules.places import At
from labelkit.wording.catalogs import catalog

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = ROOT / "samples" / "pharmacy"

DECISIONS = b"""[[override]]
rule = "dose.single"
record = "104321"
by = "Ines Calloway-Reyes, PharmD"
licence = "DEMO-RPH-00182"
reason = "spoken with the prescriber"
at = 2026-11-20T09:30:00-08:00

[[ingredient]]
inn = "melatonin"
of_class = "sleep aid"
cautions = ["caution.drowsy"]
conflicts = ["alcohol"]
source = "a handbook"
by = "Ines Calloway-Reyes, PharmD"
licence = "DEMO-RPH-00182"
on = 2026-11-20

[[added_particular]]
id = "made-on"
artwork = "sleeve"
place = "piece"
satisfied_by = "fact:made_on"
least_pt = 6
source = "the pharmacy's own rule"
"""

DIRECTIONS = b"1 tab SL PRN 30 min before activity, max 1/24 h"

Reader = Callable[[random.Random], object]
Harm = Callable[[bytes, random.Random], bytes]


def readers(folder: Path) -> Mapping[str, Reader]:
    """Each reader by its name; `folder` is empty and its own."""
    return {**_records(folder), **_designs(folder), **_words(folder), **_finished(folder)}


def _in_workspace(folder: Path, name: str, data: bytes, harm: Harm, instead: str = "") -> Reader:
    """A whole workspace with one file harmed, judged by the rules where it can be read."""
    records = folder / f"with {name.replace('/', ' ')}, {harm.__name__}"
    shutil.copytree(SAMPLE, records)
    if instead:
        (records / instead).unlink()

    def read(chance: random.Random) -> object:
        (records / name).write_bytes(harm(data, chance))
        return orders(read_workspace(records), Wish(everything=True))

    return read


def _records(folder: Path) -> dict[str, Reader]:
    sound = read_workspace(SAMPLE)
    bundle = (ROOT / "samples" / "fhir" / "bundle.json").read_bytes()

    def put(name: str, harm: Harm) -> Reader:
        return _in_workspace(folder, name, (SAMPLE / name).read_bytes(), harm)

    def as_json(stem: str) -> Reader:
        return _in_workspace(
            folder, f"{stem}.json", _as_json(SAMPLE / f"{stem}.csv"), damaged_json, f"{stem}.csv"
        )

    def fhir(harm: Harm) -> Reader:
        def read(chance: random.Random) -> object:
            data = harm(bundle, chance)
            return read_bundle(data, "b.json", sound.preparations, sound.pharmacy.languages)

        return read

    def directions(chance: random.Random) -> object:
        text = damaged(DIRECTIONS, chance).decode("utf-8", "replace")
        return read_directions(text, sound.preparation("tadalafil"), At("directions", "", ""))

    return {
        "pharmacy.toml": put("pharmacy.toml", damaged),
        "preparations/tadalafil.toml": put("preparations/tadalafil.toml", damaged),
        "preparations/melatonin.toml": put("preparations/melatonin.toml", damaged),
        "acceptances.toml": put("acceptances.toml", damaged),
        "decisions.toml": _in_workspace(folder, "decisions.toml", DECISIONS, damaged),
        "patients.csv": put("patients.csv", damaged),
        "patients.csv, cells": put("patients.csv", damaged_table),
        "patients.json": as_json("patients"),
        "medicines.csv": put("medicines.csv", damaged),
        "medicines.csv, cells": put("medicines.csv", damaged_table),
        "medicines.json": as_json("medicines"),
        "lots.csv": put("lots.csv", damaged),
        "lots.csv, cells": put("lots.csv", damaged_table),
        "lots.json": as_json("lots"),
        "prescriptions.csv": put("prescriptions.csv", damaged),
        "prescriptions.csv, cells": put("prescriptions.csv", damaged_table),
        "prescriptions.json": as_json("prescriptions"),
        "FHIR bundle": fhir(damaged),
        "FHIR bundle, values": fhir(damaged_json),
        "short directions": directions,
    }


def _as_json(table: Path) -> bytes:
    """The rows of a table file as entries of a JSON file, blanks as null."""
    known = {
        "patients": patient_rows.COLUMNS,
        "medicines": patient_rows.MEDICINE_COLUMNS,
        "lots": lot_rows.COLUMNS,
        "prescriptions": prescription_rows.COLUMNS,
    }[table.stem]
    rows = csv_rows.rows(FaultBook(), table.read_text("utf-8"), table.name, known, known)
    return json.dumps([{k: v or None for k, v in row.values.items()} for row in rows]).encode()


def _designs(folder: Path) -> dict[str, Reader]:
    layouts = sorted((ROOT / "layouts").glob("*.toml"))
    tray = (ROOT / "samples" / "tray" / "tray.toml").read_bytes()
    own = folder / "own.toml"
    place = folder / "aligned"
    place.mkdir()

    def layout(chance: random.Random) -> object:
        own.write_bytes(damaged(chance.choice(layouts).read_bytes(), chance))
        return judge(load(own))

    def caliper(chance: random.Random) -> object:
        text = damaged(tray, chance).decode("utf-8", "replace")
        return layout_text(readings(text, "tray.toml"))

    def printers(chance: random.Random) -> object:
        entry = (
            '[[printer]]\nname = "P"\nstock = "letter"\nread_on = 2026-11-20\nsheets = 3\n'
            "offset_x_mm = 0.1\noffset_y_mm = -0.2\nscale_x = 1.001\nscale_y = 0.999\n"
            "skew_x = 0.0\nskew_y = 0.0\nresidual_mm = 0.2\n"
        )
        (place / "printers.toml").write_bytes(damaged(entry.encode() * 2, chance))
        return alignments(place, "P")

    def marks_read(chance: random.Random) -> object:
        (place / "printers.toml").unlink(missing_ok=True)
        said = [f"{n}={x + 0.2:.1f},{y - 0.1:.1f}" for n, (x, y) in marks(215.9, 279.4).items()]
        at = chance.randrange(len(said))
        said[at] = damaged(said[at].encode(), chance).decode("utf-8", "replace")
        return align(place, "P", "letter", said)

    return {
        "layout": layout,
        "caliper readings": caliper,
        "printers.toml": printers,
        "marks read on an alignment sheet": marks_read,
    }


def _words(folder: Path) -> dict[str, Reader]:
    catalogs = sorted((ROOT / "locales").glob("*/LC_MESSAGES/labelkit.po"))
    statements = sorted((ROOT / "labelkit" / "wording" / "statements").glob("*.toml"))

    def po(chance: random.Random) -> object:
        source = chance.choice(catalogs)
        place = folder / "w" / "locales" / source.parent.parent.name / "LC_MESSAGES" / source.name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(damaged(source.read_bytes(), chance))
        try:
            voice = catalog(source.parent.parent.name.replace("_", "-"), folder / "w", ())
            return [voice.say(i) for i, s in voice.statements.items() if not s.placeholders]
        finally:
            place.unlink()

    def statement(chance: random.Random) -> object:
        place = folder / "s" / "statements" / "own.toml"
        place.parent.mkdir(parents=True, exist_ok=True)
        text = chance.choice(statements).read_bytes().replace(b'\n["', b'\n["own.')
        place.write_bytes(damaged(text, chance))
        return catalog("en", folder / "s", ())

    return {"catalog": po, "statements": statement}


def _finished(folder: Path) -> dict[str, Reader]:
    """Files given to `labelkit check`: of a sleeve, a sheet of lids and a leaflet."""
    out = folder / "out"
    made = make(SAMPLE, Wish.of(("104321",), (), False, "sleeve,leaflet,lidding", (), 1), out)
    lids = make(SAMPLE, Wish.of((), (), True, "lidding", (), 1), out)
    pdfs = [out / one.file for one in (*made.made, *lids.made)]
    states = {pdf: pdf.with_name(pdf.stem + ".manifest.json") for pdf in pdfs}
    proofs = {pdf: manifest_of(states[pdf]) for pdf in pdfs}
    pictures = [(p, p.with_name(p.stem + ".proof-1.png").read_bytes()) for p in pdfs]
    against = folder / "harmed.manifest.json"
    checked = folder / "harmed.check.json"

    def pdf(harm: Harm) -> Reader:
        def read(chance: random.Random) -> object:
            sound = chance.choice(pdfs)
            return check(harm(sound.read_bytes(), chance), proofs[sound])

        return read

    def manifest(harm: Harm) -> Reader:
        def read(chance: random.Random) -> object:
            sound = chance.choice(pdfs)
            against.write_bytes(harm(states[sound].read_bytes(), chance))
            return check(sound.read_bytes(), manifest_of(against))

        return read

    def scan(harm: Harm) -> Reader:
        def read(chance: random.Random) -> object:
            sound, picture = chance.choice(pictures)
            return check_scan(harm(picture, chance), proofs[sound])

        return read

    def scan_pdf(chance: random.Random) -> object:
        sound = chance.choice(pdfs)
        return check_scan(damaged_objects(sound.read_bytes(), chance), proofs[sound])

    def report(chance: random.Random) -> object:
        sound, picture = chance.choice(pictures)
        harm = chance.choice((damaged, damaged_json))
        checked.write_bytes(harm(sound.with_name(sound.stem + ".check.json").read_bytes(), chance))
        return check_scan(picture, proofs[sound], report_in(checked))

    return {
        "PDF": pdf(damaged),
        "PDF, objects": pdf(damaged_objects),
        "PDF, contents": pdf(damaged_content),
        "manifest": manifest(damaged),
        "manifest, values": manifest(damaged_json),
        "scan (PNG)": scan(damaged),
        "scan (PNG), chunks": scan(damaged_png),
        "scan (PDF), objects": scan_pdf,
        "check beside a scan": report,
    }
