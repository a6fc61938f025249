"""``labelkit languages``: coverage and review side by side; catalogs started, none overwritten."""

import json
import shutil
from pathlib import Path

import pytest
from babel.messages.pofile import read_po
from typer.testing import CliRunner

from labelkit.cli.app import app

SAMPLE = Path(__file__).parents[2] / "samples" / "languages"
STATED = {"statement_class", "statements", "have_words", "signed", "accepted"}


def call(*words: str | Path) -> tuple[int, str, str]:
    """Exit status, standard output, standard error. A crash is raised, not swallowed."""
    result = CliRunner().invoke(
        app, ["languages", *map(str, words)], catch_exceptions=False, env={"COLUMNS": "100"}
    )
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample with a patient for each language."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def test_what_ships_has_words_and_no_review() -> None:
    """Without a workspace nobody answers for anything, however complete the catalogs are."""
    status, said, _ = call("--json")
    found = json.loads(said)
    assert status == 0
    assert len(found) == 14
    assert [one["language"] for one in found if one["right_to_left"]] == ["ar"]
    for one in found:
        assert all(set(c) == STATED for c in one["classes"])
        assert all(c["have_words"] == c["statements"] > 0 for c in one["classes"])
        assert not any(c["signed"] or c["accepted"] for c in one["classes"])
        assert one["accepted_by"] == []


def test_an_acceptance_is_not_a_signature(records: Path) -> None:
    """What the pharmacy accepted is accepted, by whom and when; no entry is signed by that."""
    found = {one["language"]: one for one in json.loads(call(records, "--json")[1])}
    assert {tag for tag, one in found.items() if not one["offered"]} == {"en-GB"}
    for language, one in found.items():
        accepted = all(c["accepted"] == c["statements"] for c in one["classes"])
        assert accepted == (language in ("en", "es"))
        assert not any(c["signed"] for c in one["classes"])
    assert ["DEMO-RPH-00182, 2026-11-20" in one for one in found["es"]["accepted_by"]] == [True]
    status, said, _ = call(records)
    assert status == 0
    assert "es: accepted by Ines Calloway-Reyes, PharmD, licence DEMO-RPH-00182" in said
    assert "Having words isn't being reviewed" in said


def test_a_changed_word_takes_the_acceptance_away(records: Path) -> None:
    """An acceptance is of words: the pharmacy's own entry ends its own and no other."""
    assert call(records, "--new", "es")[0] == 0
    path = records / "locales" / "es" / "LC_MESSAGES" / "labelkit.po"
    head, mark, rest = path.read_text(encoding="utf-8").partition('msgid "Peel. Do not push."\n')
    path.write_text(
        head + mark + rest.replace('msgstr ""', 'msgstr "Abra. No apriete."', 1), encoding="utf-8"
    )
    found = {one["language"]: one for one in json.loads(call(records, "--json")[1])}
    lost = {
        c["statement_class"]: c["statements"] - c["accepted"]
        for c in found["es"]["classes"]
        if c["accepted"] < c["statements"]
    }
    assert lost == {"peel": 1}
    assert all(c["have_words"] == c["statements"] for c in found["es"]["classes"])


def test_a_catalog_is_started_and_never_overwritten(records: Path) -> None:
    """Every statement's English is there, no word in the new language, and a second call stops."""
    status, said, _ = call(records, "--new", "it")
    assert status == 0
    path = records / "locales" / "it" / "LC_MESSAGES" / "labelkit.po"
    assert str(path) in said.replace("\n", "")
    with path.open("rb") as file:
        started = list(read_po(file))[1:]
    assert len(started) > 300
    assert not any("".join(m.string) for m in started)
    path.write_bytes(path.read_bytes() + b"# mine\n")
    status, _, told = call(records, "--new", "it")
    assert status == 1
    assert "there is a catalog already" in told
    assert path.read_bytes().endswith(b"# mine\n")
    (italian,) = (one for one in json.loads(call(records, "--json")[1]) if one["language"] == "it")
    assert (italian["name"], italian["offered"]) == ("Italian", False)
    assert not any(c["have_words"] for c in italian["classes"])
    shown = call(records)[1]
    assert all(f"it ({c['statements']})" in shown for c in italian["classes"])


@pytest.mark.parametrize(
    ("code", "told"),
    [
        ("Italian", "no language tag"),
        ("../../it", "no language tag"),
        ("qx", "CLDR knows no language"),
        ("en", "nothing to translate"),
    ],
)
def test_no_catalog_for_what_is_no_language(records: Path, code: str, told: str) -> None:
    """A tag that isn't one is refused, and nothing is written."""
    status, _, said = call(records, "--new", code)
    assert status == 1
    assert told in " ".join(said.split())
    assert not (records / "locales").exists()


def test_a_new_catalog_needs_a_folder() -> None:
    """The shipped catalogs aren't where a pharmacy writes."""
    status, _, told = call("--new", "it")
    assert status == 1
    assert "name the pharmacy's folder" in " ".join(told.split())
