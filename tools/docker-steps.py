#!/usr/bin/env python3
"""Takes the steps of the Dockerfile in a bare Debian, where there is no container runtime.

    tools/docker-steps.py [--show] [--into FOLDER] [WORD...]

As root, with debootstrap. The system that FROM names is made in a folder (FOLDER, which then
stays, or a temporary one), each RUN, COPY, ENV, USER and WORKDIR is done in it, and in the end the
ENTRYPOINT is run with the words, or with CMD's. The exit status is that of the first step that
fails. --show writes the steps down, and does nothing.

It knows the instructions of this Dockerfile, and ends with a sentence at any other. What it
doesn't do as a runtime would: layers and their cache, and a network of its own.
"""

import argparse
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
USUAL_PATH = "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
TAKEN_OVER = re.compile("(?i)(pip_|uv_|https?_proxy|no_proxy|ssl_cert|requests_ca)")
"""Names of this environment's variables that say how packages are reached from here."""


@dataclass(frozen=True)
class Step:
    """One instruction of the Dockerfile."""

    line: int
    word: str
    rest: str


@dataclass
class Built:
    """A system on its way: where it is, and what later steps are run with."""

    root: Path
    env: dict[str, str]
    user: str = "root"
    folder: str = "/"
    entry: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)


def steps(text: str) -> Iterator[Step]:
    """The instructions, continued lines joined (Dockerfile reference, "Format")."""
    begun, at = "", 0
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("#") or not (line.strip() or begun):
            continue
        at = at or number
        begun += line.rstrip().removesuffix("\\") + " "
        if not line.rstrip().endswith("\\"):
            word, _, rest = begun.strip().partition(" ")
            yield Step(at, word, " ".join(rest.split(" ")).strip())
            begun, at = "", 0


def suite(name: str) -> str:
    """The Debian suite of an image's name; ends where it is no image of Debian's own."""
    found = re.fullmatch(r"debian:([a-z]+)(-slim)?", name)
    return found[1] if found else sys.exit(f"FROM {name}: only debian:SUITE can be made here")


def sources() -> dict[Path, list[str]]:
    """The files in which this machine says where Debian's own packages are, with the addresses."""
    places = [Path("/etc/apt/sources.list"), *sorted(Path("/etc/apt/sources.list.d").glob("*"))]
    found = {}
    for path in filter(Path.is_file, places):
        said = re.sub(r"(?m)^#.*$", "", path.read_text("utf-8"))
        if mirrors := re.findall(r"https?://\S+/debian/?(?=\s)", said):
            found[path] = mirrors
    return found


def own_suite() -> str:
    """This machine's own suite."""
    told = re.search(r"^VERSION_CODENAME=(\w+)", Path("/etc/os-release").read_text("utf-8"), re.M)
    return told[1] if told else sys.exit("this machine isn't a Debian: it names no suite")


def bootstrap(name: str, root: Path) -> None:
    """A minimal Debian, which reaches its packages as this machine does."""
    known = sources()
    if shutil.which("debootstrap") is None or not known:
        sys.exit("debootstrap and a Debian with its sources of packages are needed for this")
    subprocess.run(
        ["debootstrap", "--variant=minbase", name, str(root), next(iter(known.values()))[0]],
        check=True, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    (root / "etc/apt/sources.list").unlink(missing_ok=True)
    for path in known:
        text = re.sub(rf"\b{own_suite()}\b", name, path.read_text("utf-8"))
        (root / path.relative_to("/")).write_text(text, "utf-8")
    for path in ("apt/apt.conf.d", "ssl/certs", "resolv.conf", "hosts", "xdg/pip", "pip.conf"):
        here, there = Path("/etc", path), root / "etc" / path
        if here.is_dir():
            shutil.copytree(here, there, symlinks=True, dirs_exist_ok=True)
        elif here.exists():
            shutil.copyfile(here, there)


@contextmanager
def mounted(root: Path) -> Iterator[None]:
    """The kernel's own file systems in the new one, and nothing of them left behind."""
    places = [root / "proc", root / "dev", root / "dev" / "shm"]
    try:
        for place in places[:2]:
            subprocess.run(["mount", "--bind", f"/{place.name}", str(place)], check=True)
        subprocess.run(["mount", "-t", "tmpfs", "tmpfs", str(places[2])], check=True)
        yield
    finally:
        for place in reversed(places):
            subprocess.run(["umount", "--lazy", str(place)], check=False, capture_output=True)


def run(built: Built, words: list[str]) -> int:
    """A command in the new system, as the user of the moment; its exit status."""
    taken = {name: value for name, value in os.environ.items() if TAKEN_OVER.match(name)}
    home = "/root" if built.user == "root" else f"/home/{built.user}"
    env = {"HOME": home, **taken, **built.env}
    into = 'cd "$0" && exec "$@"'
    inside = ["chroot", f"--userspec={built.user}", str(built.root)]
    told = [f"{name}={value}" for name, value in env.items()]
    whole = [*inside, "/usr/bin/env", "-i", *told, "/bin/sh", "-c", into, built.folder, *words]
    return subprocess.run(whole, check=False).returncode


def copy(built: Built, rest: str) -> None:
    """COPY: files go into a folder or under a name; of a folder, what is in it."""
    *names, to = shlex.split(rest)
    target = built.root / to.lstrip("/")
    ignored = shutil.ignore_patterns("__pycache__")
    for name in names:
        source = TOP / name
        if source.is_dir():
            shutil.copytree(source, target, dirs_exist_ok=True, ignore=ignored)
        else:
            place = target / source.name if to.endswith("/") else target
            place.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(source, place)


def take(built: Built, step: Step) -> int:
    """Do what one instruction asks; its exit status."""
    match step.word:
        case "FROM":
            bootstrap(suite(step.rest), built.root)
        case "RUN":
            return run(built, ["/bin/sh", "-c", step.rest])
        case "COPY":
            copy(built, step.rest)
        case "ENV":
            built.env |= dict(pair.split("=", 1) for pair in shlex.split(step.rest))
        case "USER":
            built.user = step.rest
        case "WORKDIR":
            built.folder = step.rest
            (built.root / step.rest.lstrip("/")).mkdir(parents=True, exist_ok=True)
        case "ENTRYPOINT":
            built.entry = json.loads(step.rest)
        case "CMD":
            built.words = json.loads(step.rest)
        case _:
            sys.exit(
                f"Dockerfile, line {step.line}: {step.word} isn't known to tools/docker-steps.py"
            )
    return 0


def build(root: Path, wanted: list[Step], words: list[str]) -> int:
    """All steps in a new system at `root`, then its entry point; the exit status."""
    built = Built(root, {"PATH": USUAL_PATH})
    first, *others = wanted
    print(f"{first.line}: {first.word} {first.rest}", flush=True)
    if first.word != "FROM" or take(built, first):
        sys.exit("a Dockerfile begins with FROM")
    with mounted(root):
        for step in others:
            print(f"{step.line}: {step.word} {step.rest}", flush=True)
            if status := take(built, step):
                return status
        return run(built, [*built.entry, *(words or built.words)])


def main() -> int:
    """The exit status of the first step that fails, or of the entry point."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--show", action="store_true", help="write the steps down only")
    asked.add_argument("--into", type=Path, help="a new folder for the system, which stays")
    asked.add_argument("words", nargs=argparse.REMAINDER, help="words for the entry point")
    given = asked.parse_args()
    wanted = list(steps((TOP / "Dockerfile").read_text("utf-8")))
    if given.show:
        print(json.dumps([[step.line, step.word, step.rest] for step in wanted], indent=1))
        return 0
    if given.into is not None:
        given.into.mkdir(mode=0o755)
        return build(given.into.resolve(), wanted, given.words)
    place = Path(tempfile.mkdtemp())
    try:
        place.chmod(0o755)
        return build(place, wanted, given.words)
    finally:
        # Whatever is still mounted there isn't this program's to remove.
        subprocess.run(["rm", "-rf", "--one-file-system", str(place)], check=False)


if __name__ == "__main__":
    sys.exit(main())
