"""What the oracle says of papers made now: of part of the sample, and of generated workspaces.

``python tests/oracle/remade.py`` prints each finding and how many figures of each thing were read.
On the same code it prints the same, so that a changed labelkit is told by another answer.
"""

import tempfile
from pathlib import Path

from hypothesis import given, settings
from oracle import judge
from workspaces import Drawn, workspaces, write

import labelkit

SAMPLE = Path(__file__).parents[2] / "samples" / "pharmacy"
SOME = labelkit.Wish(rx=("104321", "104329", "104331"), lots=("NP2611",))
"""One of each medicine, in two languages, with packs, lids of its own, and stock lids."""

QUICK = labelkit.Wish(everything=True, only=frozenset({"sleeve", "pad"}))
EXAMPLES = 4


def remade(records: Path, artwork: Path, wish: labelkit.Wish) -> None:
    """Make papers of a workspace and print what the oracle reads on them."""
    outcome = labelkit.make(records, wish, out=artwork, workers=1)
    verdict = judge(records, artwork)
    print(verdict.papers, len(outcome.made), len(outcome.refused), sorted(verdict.figures.items()))
    print(*verdict.wrong, sep="\n")


@settings(max_examples=EXAMPLES, derandomize=True, database=None, deadline=None)
@given(workspaces())
def generated(drawn: Drawn) -> None:
    """One workspace that nobody wrote."""
    with tempfile.TemporaryDirectory() as folder:
        write(drawn, Path(folder, "records"))
        remade(Path(folder, "records"), Path(folder, "artwork"), QUICK)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        remade(SAMPLE, Path(made), SOME)
    generated()
