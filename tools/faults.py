"""Damage released files in every known way, and count what the check catches.

Prints the table and writes docs/faults.md. Exit status 1 when a harm passed the check, a
kind had no place, or a file without harm was refused.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests" / "faults"))

import campaign  # noqa: E402  (the suite's folder must be on the path first)
import released  # noqa: E402
from injecting import KINDS  # noqa: E402

PLACES = 10
"""Places for each kind."""

TABLE = ROOT / "docs" / "faults.md"

HEAD = """# What the check catches

Released files of the sample are damaged on purpose, one harm at a time, and each damaged file is
given to the check with its manifest. The harms are written from the manifest and the PDF's
structure alone, without knowledge of the check's code (`tests/faults/`). Places are spread evenly
over the files. `make faults` writes this page.

"""


def alarms_of(number: int) -> list[str]:
    """False alarms of one file."""
    return campaign.alarms([released.everything()[number]])


def result_of(job: tuple[str, int, tuple[int, ...]]) -> campaign.Result:
    """One kind at so many places of those files."""
    name, many, numbers = job
    files = tuple(released.everything()[number] for number in numbers)
    which = KINDS[name]
    return campaign.tried(which, files, campaign.chosen(which, files, many))


def table(results: list[campaign.Result], alarms: list[str], files: int) -> str:
    """The page as Markdown."""
    caught = sum(result.caught for result in results)
    injected = sum(result.injected for result in results)
    said = [
        HEAD,
        f"{len(results)} kinds, {injected} harms, {caught} caught. "
        f"{files} files, each undamaged and rewritten in {len(campaign.BENIGN) - 1} harmless ways: "
        f"{len(alarms)} false alarms.\n\n",
        "| kind | what is wrong | caught / injected | found as |\n| --- | --- | --- | --- |\n",
    ]
    for result in results:
        found = ", ".join(str(kind) for kind, _ in result.found_as.most_common(2))
        said.append(
            f"| {result.kind} | {result.says} | {result.caught} / {result.injected} | {found} |\n"
        )
    missed = [f"- {r.kind}: {where}\n" for r in results for where in r.missed]
    if missed or alarms:
        said += ["\n## Not as it should be\n\n", *missed, *(f"- alarm: {a}\n" for a in alarms)]
    return "".join(said)


def main() -> int:
    """Run the campaign."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--places", type=int, default=PLACES, help="places for each kind")
    parser.add_argument("--kind", action="append", help="only this kind; repeatable")
    parser.add_argument("--module", action="append", help="only the kinds of this module")
    parser.add_argument("--harms-only", action="store_true", help="take every file as sound")
    parser.add_argument("--workers", type=int, default=2)
    chosen = parser.parse_args()
    names = [
        kind.name
        for kind in campaign.ordered()
        if not (chosen.kind or chosen.module)
        or kind.name in (chosen.kind or ())
        or kind.module in (chosen.module or ())
    ]
    files = released.everything()
    with ProcessPoolExecutor(chosen.workers) as pool:
        tried = () if chosen.harms_only else range(len(files))
        raised = list(pool.map(alarms_of, tried)) or [[] for _ in files]
        # A file that is refused as it is proves nothing when it is refused with a harm.
        sound = tuple(number for number, alarms in enumerate(raised) if not alarms)
        jobs = [(name, chosen.places, sound) for name in names]
        results = list(pool.map(result_of, jobs))
    alarms = [alarm for some in raised for alarm in some]
    page = table(results, alarms, len(files))
    print(page[len(HEAD) :])
    if len(names) == len(KINDS) and not chosen.harms_only and chosen.places >= PLACES:
        TABLE.parent.mkdir(exist_ok=True)
        TABLE.write_text(page, encoding="utf-8")
    return 1 if alarms or any(r.missed or not r.injected for r in results) else 0


if __name__ == "__main__":
    sys.exit(main())
