"""Workers that outlive a call: what was changed between two calls is never said as it was."""

import json
import shutil
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import pytest
from command_line import SAMPLE

from labelkit.ground.errors import WordingRefused
from labelkit.jobs import desk
from labelkit.jobs.orders import orders
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.manifest.model import Manifest
from labelkit.records.reading import read_workspace
from labelkit.wording.entries import catalog_path

SPANISH = "104321"
"""A prescription of the sample whose patient reads Spanish."""

SLEEVE = Wish(rx=(SPANISH,), only=frozenset({"sleeve"}))

SHIPPED = "Despegue. No empuje."
OWN = "Abra. No apriete."

CATALOG = f"""\
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgctxt "peel.do-not-push"
msgid "Peel. Do not push."
msgstr "{OWN}"
"""


@pytest.fixture(scope="module")
def living() -> Iterator[ProcessPoolExecutor]:
    """One worker, alive for all tests of this file, so that it keeps what it read."""
    with ProcessPoolExecutor(1, get_context("forkserver")) as pool:
        yield pool


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample's records, free to be changed."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def said_in(manifest: Path) -> set[str]:
    """Every text that a file had to hold."""
    stated = Manifest.model_validate_json(manifest.read_bytes())
    texts = {text.text for page in stated.pages for text in page.texts}
    return texts | {text.text for flow in stated.flows for text in flow.texts}


def test_a_changed_catalog(records: Path, tmp_path: Path, living: ProcessPoolExecutor) -> None:
    """The pharmacy's own entry is said by a worker that spoke from the shipped one before; as
    nobody accepted the new revision, the file is a draft."""
    out = tmp_path / "out"
    (before,) = make(records, SLEEVE, out, executor=living).made
    assert SHIPPED in said_in(out / f"sleeve-rx{SPANISH}.manifest.json")
    own = catalog_path(records / "locales", "es")
    own.parent.mkdir(parents=True)
    own.write_text(CATALOG, encoding="utf-8")
    (after,) = make(records, SLEEVE, out, executor=living).made
    said = said_in(out / "drafts" / f"sleeve-rx{SPANISH}.manifest.json")
    assert OWN in said
    assert SHIPPED not in said
    assert (before.state, after.state) == ("made", "draft")
    assert not after.kept


def test_a_changed_layout(records: Path, tmp_path: Path, living: ProcessPoolExecutor) -> None:
    """A layout of the same name with another title is drawn as it now is."""
    own = tmp_path / "own.toml"
    wish = replace(SLEEVE, layouts={"sleeve": str(own)})
    titles = []
    for title in ("Sleeve, first drawing", "Sleeve, second drawing"):
        own.write_text(f'extends = "sleeve-10-letter"\ntitle = "{title}"\n')
        (made,) = make(records, wish, tmp_path / "out", executor=living).made
        checked = tmp_path / "out" / made.file.replace(".pdf", ".check.json")
        titles.append(json.loads(checked.read_text())["title"])
    assert titles == ["Sleeve, first drawing", "Sleeve, second drawing"]


def test_another_catalog_than_the_call_began_with(records: Path) -> None:
    """A worker whose files differ from those of the call refuses, and says nothing stale."""
    (order,) = orders(read_workspace(records), SLEEVE).orders
    own = catalog_path(records / "locales", "es")
    own.parent.mkdir(parents=True)
    own.write_text(CATALOG, encoding="utf-8")
    with pytest.raises(WordingRefused, match="differ from those the call began with"):
        desk.voice(order.workspace, "es")
    (again,) = orders(read_workspace(records), SLEEVE).orders
    assert desk.voice(again.workspace, "es").say("peel.do-not-push").text == OWN
