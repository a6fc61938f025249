"""A manifest that came from anywhere ends in a sentence, soon, whatever it holds."""

import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labelkit.ground.errors import CheckRefused
from labelkit.jobs.manifests import MOST_PARTS, manifest_of

Tree = dict[str, Any]
BOX = {"x_mm": 0, "y_mm": 0, "w_mm": 1, "h_mm": 1}
CODE = {
    "name": "a", "symbology": "data-matrix", "fields": {}, "gs1": True, "within": BOX, "piece": "A",
    "area": "cell", "dpi": 300, "least_x_mm": 0.2, "most_x_mm": 0.9, "quiet_modules": 1,
}  # fmt: skip


def sound() -> Tree:
    """A manifest of one page with a code, which is read."""
    page = {
        "width_mm": 215.9, "height_mm": 279.4, "safe": BOX, "texts": [], "values": [],
        "codes": [dict(CODE)], "empty": [], "cuts": [], "draft_marks": [],
    }  # fmt: skip
    return {
        "artwork": "sleeve", "layout": "sleeve-10-letter", "state": "made", "title": "a",
        "languages": ["en"], "records": [], "serials": [], "secrets": [], "pages": [page],
    }  # fmt: skip


def read(tmp_path: Path, text: str) -> None:
    """Read it; no more than five seconds of processor time."""
    path = tmp_path / "a.manifest.json"
    path.write_text(text, "utf-8")
    start = time.process_time()
    try:
        manifest_of(path)
    finally:
        assert time.process_time() - start < 5


def test_the_sound_one_is_read(tmp_path: Path) -> None:
    """What the others are harmed from."""
    read(tmp_path, json.dumps(sound()))


def _page(name: str, value: object) -> Callable[[Tree], None]:
    def put(tree: Tree) -> None:
        tree["pages"][0][name] = value

    return put


def _code(name: str, value: object) -> Callable[[Tree], None]:
    def put(tree: Tree) -> None:
        tree["pages"][0]["codes"][0][name] = value

    return put


def _whole(name: str, value: object) -> Callable[[Tree], None]:
    def put(tree: Tree) -> None:
        tree[name] = value

    return put


LINK = {"page": 7, "within": BOX}
FLOW = {"document": "leaflet", "language": "en", "texts": [], "chain": [LINK]}


@pytest.mark.parametrize(
    ("harm", "says"),
    [
        (_page("width_mm", 1e9), "no length"),
        (_page("width_mm", 10**400), "so large a whole number"),
        (_page("width_mm", float("nan")), "no length"),
        (_page("width_mm", float("inf")), "no length"),
        (_page("width_mm", -5), "the page is -5 by"),
        (_page("height_mm", 50_000), "the page is"),
        (_page("width_mm", "wide"), "isn't a manifest"),
        (_page("width_mm", None), "isn't a manifest"),
        (_page("texts", {"a": 1}), "isn't a manifest"),
        (_page("texts", [0] * 1_000_000), "isn't a manifest"),
        (_page("texts", [{}] * 1_000_000), "isn't a manifest"),
        (_page("codes", [CODE] * 20_000), "more than 10,000"),
        (_page("draft_marks", [0] * (MOST_PARTS + 1)), "more than 2,000,000 parts"),
        (_code("dpi", 100_000), "100000 dpi"),
        (_code("dpi", 2_400), "2400 dpi"),
        (_code("dpi", 0), "0 dpi"),
        (_code("dpi", -300), "-300 dpi"),
        (_code("quiet_modules", 10**30), "so large"),
        (_code("fields", {"lot": 5}), "isn't a manifest"),
        (_whole("pages", []), "0 pages"),
        (_whole("pages", [None] * 500_000), "isn't a manifest"),
        (_whole("flows", [FLOW]), "a page that there isn't"),
        (_whole("unknown", 1), "isn't a manifest"),
        (_whole("shared", 1), "isn't a manifest"),
        (_whole("shared", {"texts": [1]}), "isn't a manifest"),
    ],
)
def test_wild_manifests_are_refused(
    tmp_path: Path, harm: Callable[[Tree], None], says: str
) -> None:
    """Huge numbers, wrong types, and parts by the million."""
    tree = sound()
    harm(tree)
    with pytest.raises(CheckRefused, match=says):
        read(tmp_path, json.dumps(tree))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[" * 100_000,
        '{"a":' * 100_000,
        "null",
        "[]",
        "5",
        '"a"',
        "\x00",
        '{"a":1,}',
        '{"version": ' + "9" * 5_000 + "}",
    ],
)
def test_what_is_no_manifest_is_refused(tmp_path: Path, text: str) -> None:
    """Deep nesting, endless numbers, other JSON and none."""
    with pytest.raises(CheckRefused, match="manifest") as refused:
        read(tmp_path, text)
    (fault,) = refused.value.faults
    assert fault.file.endswith("a.manifest.json")
    assert fault.mend


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1"])
def test_another_encoding_is_refused_or_read_right(tmp_path: Path, encoding: str) -> None:
    """JSON is UTF-8, -16 or -32 by its first bytes; anything else is refused, never misread."""
    tree = sound() | {"title": "Señor"}
    path = tmp_path / "a.manifest.json"
    path.write_bytes(json.dumps(tree, ensure_ascii=False).encode(encoding))
    if encoding == "latin-1":
        with pytest.raises(CheckRefused, match="no JSON"):
            manifest_of(path)
    else:
        assert manifest_of(path).title == "Señor"
