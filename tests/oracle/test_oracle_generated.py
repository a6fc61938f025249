"""Papers of workspaces that nobody wrote say what their records come to."""

import os
import shutil
import tempfile
from pathlib import Path

from hypothesis import assume, given, settings
from needed import need
from oracle import judge
from workspaces import Drawn, workspaces, write

import labelkit

EXAMPLES = int(os.environ.get("LABELKIT_PROOF_EXAMPLES", "6"))
"""`make proof` asks for more."""

KINDS = frozenset({"sleeve", "pad"} | ({"lidding", "leaflet"} if EXAMPLES > 20 else set()))
"""Lids of nine lots take ten times as long as the sleeves."""


@settings(max_examples=EXAMPLES)
@given(workspaces())
def test_every_figure_is_right(drawn: Drawn) -> None:
    """Papers of any strengths, limits, regimens and languages."""
    need([] if shutil.which("pdftotext") else ["pdftotext"])
    with tempfile.TemporaryDirectory() as folder:
        records, artwork = Path(folder, "records"), Path(folder, "artwork")
        write(drawn, records)
        wish = labelkit.Wish(everything=True, only=KINDS)
        outcome = labelkit.make(records, wish, out=artwork, workers=1)
        verdict = judge(records, artwork)
    assert verdict.wrong == ()
    assert verdict.papers == len(outcome.made)
    # Where everything was refused nothing was tried; hypothesis complains if that is often so.
    assume(any(made.file.startswith(("sleeve", "drafts/sleeve")) for made in outcome.made))
