"""Try the tests: make small wrong changes of labelkit, one at a time, and see whether they tell.

    python tools/mutants.py [--count 200] [--seed 1] [--workers 2] [--only labelkit/rules/limits.py]

Each change is made in a scratch copy. First the tests run that enter the changed function, the
quickest first; then papers are made, and the oracle must read on them what it reads otherwise.
What neither tells is a survivor: it is ended by a test, or explained in tools/survivors.toml.
Writes docs/proof.md; exit status 1 while a survivor has no explanation. `make proof` is this and
the oracle's own long run.
"""

import argparse
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from mutations import Mutation, chosen, mutations_of

ROOT = Path(__file__).parents[1]
FLOORS = ("rules", "wording", "manifest", "jobs")
PAGE = ROOT / "docs" / "proof.md"
EXPLAINED = ROOT / "tools" / "survivors.toml"
MAP = ROOT / "build" / "touched.json"
WATCHED = ("rules", "decisions", "wording", "manifest", "records", "samples", "jobs", "output")
"""Folders of tests whose runs are watched once to know which functions each test enters."""

ORACLE = ("tests/oracle/remade.py",)
"""Makes papers and prints what the oracle reads on them: another answer tells a change."""

ORACLE_S = 600.0
"""Seconds after which papers are no longer waited for."""

MOST_TESTS_S = 60.0
"""Seconds, on a quiet machine, of the tests that are chosen for one change."""

TIMES_SLOWER = 6
"""A run that takes so many times longer than it should hangs, by the change: it is told."""


@dataclass(frozen=True)
class Test:
    """One test, as it ran on sound code."""

    name: str
    seconds: float
    functions: frozenset[str]


@dataclass(frozen=True)
class Outcome:
    """What became of a change."""

    mutation: Mutation
    told_by: str
    """``tests``, ``oracle``, ``time``; empty for a survivor."""
    by: str
    """The test that told first."""
    seconds: float


class Scratch:
    """A copy of the repository in which files are changed and put back."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        for name in ("labelkit", "tests", "layouts", "locales", "samples", "tools", "docs"):
            ignored = shutil.ignore_patterns("__pycache__")
            shutil.copytree(ROOT / name, folder / name, ignore=ignored)
        for path in ROOT.iterdir():
            if path.is_file():
                shutil.copy(path, folder)
        self.clock = 2_000_000_000
        """Of files that are written, in seconds: later than any other file of the copy."""

    def write(self, file: str, source: bytes) -> None:
        """Write a file with a time of its own, so that no compiled one passes for it."""
        self.clock += 2
        (self.folder / file).write_bytes(source)
        os.utime(self.folder / file, (self.clock, self.clock))

    def run(self, tests: Sequence[str], seconds: float) -> tuple[str, str]:
        """``""``, ``tests`` or ``time``; and the first test that failed."""
        quiet = ("-x", "-q", "-n", "0", "--tb=no", "-p", "no:cacheprovider")
        done = self._python(("-m", "pytest", *quiet, *tests), seconds)
        if done is None:
            return "time", f"{seconds:.0f} s passed"
        if done.returncode == 0:
            return "", ""
        if done.returncode not in {1, 2, 4}:  # 2, 4: a test file can't be imported any more
            raise RuntimeError(f"pytest: {done.returncode}\n{done.stdout}\n{done.stderr}")
        lines = [x for x in done.stdout.splitlines() if x.startswith(("FAILED", "ERROR"))]
        if not lines:  # the change keeps the tests from being collected at all
            lines = ["ERROR " + (done.stderr.strip() or done.stdout.strip()).splitlines()[-1]]
        return "tests", lines[0].split(" - ")[0].split(" ", 1)[1]

    def reckoned(self) -> str:
        """What the oracle says of papers made by this copy."""
        done = self._python(ORACLE, ORACLE_S)
        return "hangs" if done is None else f"{done.returncode}\n{done.stdout}"

    def _python(
        self, arguments: Sequence[str], seconds: float
    ) -> subprocess.CompletedProcess[str] | None:
        """What Python did here; none where it took longer. All it started ends with it."""
        environment = {**os.environ, "PYTHONPATH": str(self.folder), "CI": ""}
        started = subprocess.Popen(
            [sys.executable, *arguments], cwd=self.folder, env=environment, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
        )  # fmt: skip
        try:
            out, err = started.communicate(timeout=seconds)
        except subprocess.TimeoutExpired:
            os.killpg(started.pid, signal.SIGKILL)
            started.communicate()
            return None
        return subprocess.CompletedProcess(arguments, started.returncode, out, err)


def watched(again: bool = False) -> tuple[Test, ...]:
    """What each test enters, from a run on sound code that is kept until `make clean`."""
    if again or not MAP.exists():
        MAP.parent.mkdir(exist_ok=True)
        folders = [f"tests/{name}" for name in WATCHED]
        path = f"{ROOT}:{ROOT / 'tools'}"
        command = [sys.executable, "-m", "pytest", "-q", "-n", "0", "--tb=line", "-p", "touched"]
        subprocess.run(
            [*command, *folders], cwd=ROOT, check=False,
            env={**os.environ, "PYTHONPATH": path, "TOUCHED": str(MAP)},
        )  # fmt: skip
    stated = json.loads(MAP.read_text("utf-8"))
    return tuple(
        Test(name, seen["seconds"], frozenset(seen["functions"]))
        for name, seen in stated.items()
        if seen["passed"]
    )


def tests_for(mutation: Mutation, tests: Sequence[Test]) -> tuple[list[str], float]:
    """The quickest tests that enter the function, and the seconds they take together."""
    place = f"{mutation.file}:{mutation.function}"
    module = f"{mutation.file}:"
    entered = [t for t in tests if place in t.functions] if mutation.function else []
    # A module's own lines have run before any test: whoever enters the module reads them.
    entered = entered or [t for t in tests if any(f.startswith(module) for f in t.functions)]
    names, seconds = [], 0.0
    for test in sorted(entered, key=lambda t: (t.seconds, t.name)):
        if names and seconds + test.seconds > MOST_TESTS_S:
            break
        names.append(test.name)
        seconds += test.seconds
    return names, seconds


def importing(mutation: Mutation) -> list[str]:
    """Without a watched run: the files of the floor's own tests that import the module."""
    module = mutation.file.removesuffix(".py").replace("/", ".")
    folder = ROOT / "tests" / mutation.file.split("/")[1]
    files = sorted(folder.glob("test_*.py"))
    found = [f for f in files if f"{module} import" in f.read_text("utf-8")]
    return [str(f.relative_to(ROOT)) for f in found or files]


def tried(
    scratch: Scratch, mutation: Mutation, tests: Sequence[str], seconds: float, sound: str
) -> Outcome:
    """Make one change, run the tests, and put the file back.

    `sound` is what the oracle says of the unchanged code; without it the oracle isn't asked.
    """
    source = (ROOT / mutation.file).read_bytes()
    started = time.monotonic()
    scratch.write(mutation.file, mutation.applied(source))
    try:
        told, by = scratch.run(tests, 60 + TIMES_SLOWER * seconds) if tests else ("", "")
        if not told and sound and scratch.reckoned() != sound:
            told, by = "oracle", "the oracle"
    finally:
        scratch.write(mutation.file, source)
    return Outcome(mutation, told, by, time.monotonic() - started)


def campaign(
    mutations: Sequence[Mutation], tests: Sequence[Test], workers: int, sound: str = ""
) -> list[Outcome]:
    """What becomes of each change, in their order; each worker has a copy of its own."""
    local = threading.local()
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(workers) as pool:

        def one(mutation: Mutation) -> Outcome:
            if not hasattr(local, "scratch"):
                local.scratch = Scratch(Path(tempfile.mkdtemp(dir=folder)))
            names, seconds = tests_for(mutation, tests) if tests else (importing(mutation), 20.0)
            outcome = tried(local.scratch, mutation, names, seconds, sound)
            print(_line(outcome), flush=True)
            return outcome

        return list(pool.map(one, mutations))


def _line(outcome: Outcome) -> str:
    m = outcome.mutation
    what = f"told by {outcome.by}" if outcome.told_by else "SURVIVED"
    return (
        f"{outcome.seconds:5.1f} s {m.file}:{m.line} {_short(m.before)} → {_short(m.after)}: {what}"
    )


def _short(text: str) -> str:
    joined = " ".join(text.split()) or "nothing"
    return joined if len(joined) < 60 else joined[:57] + "…"


def explained() -> Mapping[str, str]:
    """Why a survivor may live, by its key."""
    if not EXPLAINED.exists():
        return {}
    rows = tomllib.loads(EXPLAINED.read_text("utf-8")).get("survivor", [])
    return {f"{r['file']} {r['function']} {r['before']} → {r['after']}": r["why"] for r in rows}


def page(outcomes: Sequence[Outcome], seed: int, possible: int) -> str:
    """docs/proof.md."""
    commit = subprocess.run(
        ["git", "describe", "--always", "--dirty"], cwd=ROOT, capture_output=True, text=True,
        check=True,
    ).stdout.strip()  # fmt: skip
    reasons = explained()
    living = [o for o in outcomes if not o.told_by]
    rows = ["| floor | changes | told by tests | by the oracle | by hanging | survived |"]
    rows.append("| --- | ---: | ---: | ---: | ---: | ---: |")
    for floor in FLOORS:
        own = [o for o in outcomes if floor_of(o.mutation) == floor]
        told = Counter(o.told_by for o in own)
        counts = (len(own), told["tests"], told["oracle"], told["time"], told[""])
        rows.append(f"| {floor} | " + " | ".join(map(str, counts)) + " |")
    kinds = Counter(o.mutation.kind for o in outcomes)
    lost = Counter(o.mutation.kind for o in living)
    kind_rows = ["| kind of change | changes | survived |", "| --- | ---: | ---: |"]
    kind_rows += [f"| {kind} | {n} | {lost[kind]} |" for kind, n in sorted(kinds.items())]
    survivors = [
        f"- `{m.file}:{m.line}` in `{m.function or 'the module'}`: `{_short(m.before)}` → "
        f"`{_short(m.after)}`. {reasons.get(m.key, '**Not explained.**')}"
        for m in (o.mutation for o in living)
    ]
    told = len(outcomes) - len(living)
    return "\n".join(
        [
            HEAD,
            f"Commit {commit}, seed {seed}: {len(outcomes)} of {possible} possible changes, "
            f"{told} told, {len(living)} survived.\n",
            *rows,
            "",
            *kind_rows,
            "\n## Survivors\n",
            *(survivors or ["None."]),
            "",
        ]
    )


HEAD = """# What the tests and the oracle tell

Small wrong changes are made in the code that judges, words, promises and makes, one at a time:
a boundary moved, a sign turned, a condition or a fault dropped, arguments exchanged, a constant
one off. Each time the tests run that enter the changed function; if none tells, the oracle
(`tests/oracle`) reckons finished papers anew. `make proof` writes this page.
"""


def floor_of(mutation: Mutation) -> str:
    """The folder that a change is in."""
    return mutation.file.split("/")[1]


def offered(files: Sequence[str]) -> list[Mutation]:
    """All changes of those files, or of all floors."""
    names = files or [
        str(path.relative_to(ROOT))
        for floor in FLOORS
        for path in sorted((ROOT / "labelkit" / floor).glob("*.py"))
    ]
    return [mutation for name in names for mutation in mutations_of(ROOT, name)]


def main(arguments: Sequence[str]) -> int:
    """Exit status 1 while a survivor isn't explained."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", nargs="*", default=[], help="files from the root")
    parser.add_argument("--watch-again", action="store_true", help="which tests enter what")
    parser.add_argument("--page", type=Path, default=PAGE)
    asked = parser.parse_args(arguments)
    tests = watched(asked.watch_again)
    found = offered(asked.only)
    with tempfile.TemporaryDirectory() as folder:
        sound = Scratch(Path(folder, "sound")).reckoned()
    mutations = chosen(found, asked.count, asked.seed, floor_of)
    outcomes = campaign(mutations, tests, asked.workers, sound)
    asked.page.write_text(page(outcomes, asked.seed, len(found)), "utf-8")
    living = [o.mutation for o in outcomes if not o.told_by]
    print(f"{len(outcomes)} changes, {len(living)} survived")
    return int(any(m.key not in explained() for m in living))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
