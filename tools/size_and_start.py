"""Weighs what the demonstration installs, times cold starts, and writes docs/size-and-start.md.

    python tools/size_and_start.py [--turns 5]

It installs the runtime set of this environment, version for version, into a folder of its own,
without byte code, as the demonstration does, and weighs that; then it times commands of this
environment. Both are removed again.
"""

import argparse
import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import venv
from importlib.metadata import distribution
from pathlib import Path

from runtime_set import licence, runtime

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "size-and-start.md"
SAMPLE = ROOT / "samples" / "pharmacy"
MB = 1_000_000
LIGHT = 1 * MB
"""Packages under this are counted together."""

SERVES = {
    "babel": "plurals, numbers and dates of each language",
    "fonttools": "subsets of faces for the PDF, and reading them back",
    "filelock": "one labelkit a folder",
    "highspy": "the packing plan, exact: fewest cavities, cuts, cards",
    "icu4py": "where a line may end (UAX #14), Chinese and Korean too",
    "jellyfish": "names of medicines that are near in spelling",
    "lxml": "pikepdf needs it",
    "numpy": "pixels of the file that is read back; barcodes",
    "pikepdf": "the finished file's structure, read back",
    "pillow": "proofs; pictures to compare glyphs with",
    "pydantic": "records",
    "pydantic-core": "pydantic needs it",
    "pygments": "rich needs it",
    "pyphen": "hyphenation, where a text fits only with it",
    "pypdfium2": "text and pixels of the finished file",
    "qrcode": "QR codes",
    "reportlab": "the PDF's objects",
    "rich": "tables and progress on the screen",
    "typer": "the command line",
    "uharfbuzz": "shaping",
    "zint-bindings": "Data Matrix, Code 128",
    "zxing-cpp": "codes decoded, by other code than drew them",
}
"""What the heavier ones are for."""

COMMANDS = {
    "`labelkit --help`": ["--help"],
    "`labelkit make` of a patient's sleeve and leaflet": ["make", str(SAMPLE), "--rx", "104321"],
    "`labelkit make` of a patient's lidding, sleeve and leaflet": [
        *("make", str(SAMPLE), "--rx", "104323"),
    ],
}
LIBRARIES = ["-c", "import numpy, pydantic"]


def bytes_under(path: Path) -> int:
    """Bytes that the files of a folder, or a file, take on the disk."""
    files = [one for one in (path, *path.rglob("*")) if one.is_file() and not one.is_symlink()]
    return sum(one.stat().st_blocks * 512 for one in files)


def weighed(names: tuple[str, ...], folder: Path) -> tuple[dict[str, int], int, int]:
    """Bytes of each package, of the whole without pip, and of pip and what comes with it."""
    venv.create(folder, with_pip=True)
    python = folder / "bin" / "python"
    wanted = [f"{name}=={distribution(name).version}" for name in names]
    install = [str(python), "-m", "pip", "install", "-q", "--no-compile", "--no-deps", *wanted]
    subprocess.run(install, check=True)
    tell = (
        "import sys, json; from importlib.metadata import distribution\n"
        "print(json.dumps({n: sorted({str(f.locate()) for f in distribution(n).files})"
        " for n in sys.argv[1:]}))"
    )
    told = subprocess.run(
        [str(python), "-c", tell, *names, "pip"], check=True, capture_output=True, text=True
    )
    each = {}
    for name, files in json.loads(told.stdout).items():
        paths = [Path(one) for one in files]
        each[name] = sum(p.stat().st_blocks * 512 for p in paths if p.is_file())
    whole = bytes_under(folder)
    subprocess.run([str(python), "-m", "pip", "uninstall", "-q", "-y", "setuptools"], check=True)
    subprocess.run([str(python), "-m", "pip", "uninstall", "-q", "-y", "pip"], check=True)
    without = bytes_under(folder)
    del each["pip"]
    return each, without, whole - without


def cost(words: list[str]) -> float:
    """Processor seconds of Python with these words: user and system, start and exit included."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], check=True, capture_output=True, env=environment())
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (after.ru_utime - before.ru_utime) + (after.ru_stime - before.ru_stime)


def environment() -> dict[str, str]:
    """This environment, in which what is imported once stays compiled."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPATH": str(ROOT)}


def timed(turns: int, folder: Path) -> dict[str, tuple[float, float]]:
    """Least seconds of each command, and by those of importing two libraries, turn by turn."""
    found: dict[str, tuple[float, float]] = {}
    for turn in range(turns + 1):
        libraries = min(cost(LIBRARIES) for _ in range(3))
        for name, words in COMMANDS.items():
            out = ["--out", str(folder / f"{turn}-{len(name)}")] if "make" in words else []
            took = cost(["-m", "labelkit", *words, *out])
            if turn:  # the first one compiles
                seconds, ratio = found.get(name, (took, took / libraries))
                found[name] = min(seconds, took), min(ratio, took / libraries)
    return found


def page(turns: int) -> str:
    """The whole page."""
    names = runtime()
    with tempfile.TemporaryDirectory() as folder:
        each, without, pip = weighed(names, Path(folder) / "venv")
        starts = timed(turns, Path(folder))
    lines = [
        "# Size and start",
        "",
        f"Python {platform.python_version()}, {platform.machine()}; "
        "`python tools/size_and_start.py`. A megabyte is 1,000,000 bytes, blocks on the disk.",
        "",
        "## What is installed",
        "",
        f"{without / MB:.0f} MB without pip, {(without + pip) / MB:.0f} MB with pip and what a new "
        "environment brings, before any byte code; Python compiles what it imports.",
        "",
        "| package | version | MB | licence | what it is for |",
        "|---|---|---:|---|---|",
    ]
    heavy = sorted((n for n in each if each[n] >= LIGHT), key=lambda n: -each[n])
    light = [n for n in each if each[n] < LIGHT]
    for name in (*heavy, *light):
        version = distribution(name).version
        size = f"{each[name] / MB:.1f}"
        lines.append(f"| {name} | {version} | {size} | {licence(name)} | {SERVES.get(name, '')} |")
    lines += [
        f"| **all packages** | | **{sum(each.values()) / MB:.1f}** | | |",
        "",
        STANDS,
        "## Cold starts",
        "",
        "Processor seconds, user and system, from the start of Python to its exit, on two shared "
        f"cores: the least of {turns}, what is imported compiled before. Beside them, what "
        "importing numpy and pydantic alone takes in the same turn.",
        "",
        "| command | seconds | of the two libraries' import |",
        "|---|---:|---:|",
        *(f"| {n} | {s:.2f} | {ratio:.1f} |" for n, (s, ratio) in starts.items()),
        "",
    ]
    return "\n".join(lines)


STANDS = """\
An extra brings what only some need: `labelkit[cjk]` the faces of Chinese and Korean (49 MB),
`labelkit[distributed]` a scheduler for several machines. A text or a print that needs a face
which isn't there is refused, and the refusal names the extra.

A licence is what the package's own metadata say, or, where they are no SPDX name, what its
licence files say (`tools/runtime_set.py`). A test reads them all: permissive ones, the MPL, and
the LGPL for unmodified packages; the GPL and AGPL are refused, and so is what nobody read.
pyphen is taken under the MPL or LGPL. Its dictionaries have licences of their own; those that
labelkit opens are named in `labelkit/typeset/breaking.py`, none of them the GPL's alone.

What was weighed and stays: icu4py, since the other library of UAX #14 takes forty times as long
(5,089 texts of the catalogs; the same breaks but in 24 Korean templates, at a placeholder's brace);
highspy, since the plan is exact. What went: a dictionary of pronunciations (GPL) for a grade of
reading, and a library of 12 MB for one distance of two names, which one of 0.4 MB gives as well.
"""


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--turns", type=int, default=5)
    PAGE.write_text(page(parser.parse_args().turns))
