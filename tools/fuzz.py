"""Fuzz the readers: damaged files in, refusals out.

    python tools/fuzz.py --seconds 60 --seed 1 [--reader NAME]

Each reader gets a share of the seconds (of processor time). Inputs are damaged copies of the
sample's own files, with bytes, lines and values exchanged; the same seed and count of inputs
give the same inputs. Anything but a refusal or a result is a crash: it is printed with the
input's number, and the exit status is 1. More than 10 s for one input counts as a hang. The
process may take 3 GB of addresses, so that an input that fills the memory is a crash as well.
"""

import argparse
import random  # noqa: TID251  (seeded: the same seed gives the same inputs)
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Mapping
from pathlib import Path

from labelkit.checks.scanning import check_scan
from labelkit.geometry.judging import judge
from labelkit.geometry.reading import load
from labelkit.ground.errors import Refused
from labelkit.jobs.checking import check_file, manifest_of
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records.fhir_import import read_bundle
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import catalog

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = ROOT / "samples" / "pharmacy"
LONGEST_S = 10
MEMORY = 3 * 1024**3

VALUES = (
    b"", b"0", b"-1", b"1e999", b"1e99999999999999999999", b"nan", b"-inf", b"9" * 5000,
    b"0x" + b"f" * 5000, b"9999-99-99", b"2026-11-02T10:00:00Z", b"true", b"null", b"[]", b"{}",
    b'"', b"'", b'"""', b"[" * 3000, b'{"a":' * 3000, b"a" + b".a" * 3000, b"\0", b"\x1b[31m",
    b"\xff\xfe", b"\xef\xbb\xbf", "\u202e".encode(), "\u0661\u0662".encode(), "שלום".encode(),
    b"{{ drug.__class__ }}", b"{drug.__class__}", b"{0}", b"{}", b"{drug!r:>99999999}",
    b"<b>&amp;</b>", b"=1+1", b"../../x", b"/dev/zero", b"x" * 30_000, b"\r", b"\n" * 50, b",;|",
)  # fmt: skip
"""What is put in, whole, in the place of something."""

Reader = Callable[[random.Random], object]


class Hang(BaseException):
    """One input took longer than is allowed."""


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The bytes after one to four harms."""
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(data) + 1)
        to = min(len(data), at + int(chance.expovariate(0.1)))
        match chance.randrange(7):
            case 0:
                data = data[:at] + chance.choice(VALUES) + data[to:]
            case 1:
                data = data[:at] + chance.randbytes(chance.randint(1, 8)) + data[to:]
            case 2:
                data = data[:at] + data[to:]
            case 3:
                data = data[:at]
            case 4:
                data = data[:to] + data[at:]
            case 5:
                lines = data.split(b"\n")
                lines.insert(chance.randrange(len(lines) + 1), chance.choice(lines))
                data = b"\n".join(lines)
            case _:
                marks = [n for n, byte in enumerate(data) if byte in b'"=,:{}[]/ ']
                if marks:
                    here = chance.choice(marks) + 1
                    until = next((m for m in marks if m >= here), len(data))
                    data = data[:here] + chance.choice(VALUES) + data[until:]
    return data


def readers(folder: Path) -> Mapping[str, Reader]:
    """Each reader by its name; `folder` is empty and its own."""
    records, out = folder / "records", folder / "out"
    shutil.copytree(SAMPLE, records)
    made = make(records, Wish.of(("104321",), (), False, "sleeve", (), 1), out)
    pdf = out / made.made[0].file
    manifest = pdf.with_name(pdf.name.removesuffix(".pdf") + ".manifest.json")
    whole, stated, proof = pdf.read_bytes(), manifest.read_bytes(), manifest_of(manifest)
    picture = next(out.glob("*.png")).read_bytes()
    layouts = sorted((ROOT / "layouts").glob("*.toml"))
    catalogs = sorted((ROOT / "locales").glob("*/LC_MESSAGES/labelkit.po"))
    statements = sorted((ROOT / "labelkit" / "wording" / "statements").glob("*.toml"))
    bundle = (ROOT / "samples" / "fhir" / "bundle.json").read_bytes()
    sound = read_workspace(SAMPLE)

    def workspace(name: str) -> Reader:
        path = records / name
        data = path.read_bytes()

        def read(chance: random.Random) -> object:
            path.write_bytes(damaged(data, chance))
            try:
                return read_workspace(records)
            finally:
                path.write_bytes(data)

        return read

    def layout(chance: random.Random) -> object:
        path = folder / "own.toml"
        path.write_bytes(damaged(chance.choice(layouts).read_bytes(), chance))
        return judge(load(path))

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

    def fhir(chance: random.Random) -> object:
        data = damaged(bundle, chance)
        return read_bundle(data, "b.json", sound.preparations, sound.pharmacy.languages)

    def checked(chance: random.Random) -> object:
        harmed = folder / "harmed.pdf"
        harmed.write_bytes(damaged(whole, chance))
        return check_file(harmed, manifest)

    def against(chance: random.Random) -> object:
        harmed = folder / "harmed.manifest.json"
        harmed.write_bytes(damaged(stated, chance))
        return check_file(pdf, harmed)

    def scan(chance: random.Random) -> object:
        return check_scan(damaged(picture, chance), proof)

    files = ("pharmacy.toml", "preparations/tadalafil.toml", "acceptances.toml")
    tables = ("lots.csv", "prescriptions.csv")
    named = {name: workspace(name) for name in (*files, *tables)}
    return named | {
        "layout": layout, "catalog": po, "statements": statement, "fhir": fhir,
        "pdf": checked, "manifest": against, "scan": scan,
    }  # fmt: skip


def _ring(_signal: int, _frame: object) -> None:
    raise Hang


def tried(name: str, read: Reader, seconds: float, seed: int) -> tuple[int, int, int, int]:
    """How many inputs were tried, refused, accepted, and crashed in so much processor time."""
    number = refused = accepted = crashed = 0
    end = time.process_time() + seconds
    while time.process_time() < end:
        number += 1
        signal.alarm(LONGEST_S)
        try:
            read(random.Random(f"{seed} {name} {number}"))
            accepted += 1
        except Refused:
            refused += 1
        except (Exception, Hang):
            crashed += 1
            print(f"{name}, input {number} of seed {seed}:\n{traceback.format_exc(limit=-6)}")
        finally:
            signal.alarm(0)
    return number, refused, accepted, crashed


def main() -> int:
    """Run the readers, print the table; 1 when anything crashed."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    words.add_argument("--seconds", type=float, default=60, help="of processor time, in all")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--reader", default="", help="one reader alone")
    said = words.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    signal.signal(signal.SIGALRM, _ring)
    crashes = 0
    with tempfile.TemporaryDirectory() as folder:
        chosen = {
            name: read for name, read in readers(Path(folder)).items() if said.reader in ("", name)
        }
        print(f"{'reader':30}{'tried':>8}{'refused':>9}{'accepted':>10}{'crashed':>9}")
        for name, read in chosen.items():
            counts = tried(name, read, said.seconds / len(chosen), said.seed)
            crashes += counts[3]
            print(f"{name:30}{counts[0]:8}{counts[1]:9}{counts[2]:10}{counts[3]:9}", flush=True)
    return 1 if crashes else 0


if __name__ == "__main__":
    sys.exit(main())
