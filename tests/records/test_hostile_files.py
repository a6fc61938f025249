"""Whatever a file holds, reading gives a workspace or a refusal, never another exception."""

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from record_cases import SAMPLE, copy_of_sample, faults_of

from labelkit.ground.errors import RecordsRefused
from labelkit.records.reading import read_workspace

FILES = (
    "pharmacy.toml",
    "preparations/tadalafil.toml",
    "patients.csv",
    "patients.json",
    "medicines.csv",
    "medicines.json",
    "medicines.toml",
    "lots.csv",
    "lots.json",
    "prescriptions.csv",
    "prescriptions.json",
    "acceptances.toml",
    "decisions.toml",
)
QUICK = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def put(folder: Path, name: str, data: bytes) -> None:
    """Make that the file's content, and drop the other form of the same table."""
    if name.endswith(".json"):
        (folder / name.replace(".json", ".csv")).unlink(missing_ok=True)
    (folder / name).write_bytes(data)


@QUICK
@given(name=st.sampled_from(FILES), data=st.binary(max_size=400))
def test_random_bytes_are_read_or_refused(tmp_path: Path, name: str, data: bytes) -> None:
    """Random bytes in any file raise RecordsRefused or nothing."""
    folder = copy_of_sample(tmp_path)
    put(folder, name, data)
    faults_of(folder)


@QUICK
@given(
    name=st.sampled_from([n for n in FILES if (SAMPLE / n).exists()]),
    start=st.floats(0, 1),
    length=st.integers(0, 60),
    patch=st.one_of(st.binary(max_size=12), st.sampled_from([b'"', b"[", b"=", b",", b"\n"])),
)
def test_damaged_files_are_read_or_refused(
    tmp_path: Path, name: str, start: float, length: int, patch: bytes
) -> None:
    """A slice taken out of a good file, and something put there: a refusal or nothing."""
    folder = copy_of_sample(tmp_path)
    data = (folder / name).read_bytes()
    at = int(start * len(data))
    put(folder, name, data[:at] + patch + data[at + length :])
    faults_of(folder)


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize(
    "data",
    [
        b"[" * 100_000,
        b'{"a":' * 50_000,
        b"a = " + b"[" * 50_000,
        b"a = " + b"9" * 10_000,
        b"[" + b"9" * 10_000 + b"]",
        b"number\n" + b'"' * 9_999,
        b"\xef\xbb\xbf",
        b"\xff\xfe\x00",
        b"\x00" * 1000,
        b"[{}]",
        b'[1, null, "x", {"number": {}}]',
        b"null",
    ],
    ids=lambda data: repr(data[:12]),
)
def test_files_made_to_break_readers_are_faults(tmp_path: Path, name: str, data: bytes) -> None:
    """Deep nesting, endless numbers, bare marks: a fault that names the file."""
    folder = copy_of_sample(tmp_path)
    put(folder, name, data)
    faults = faults_of(folder)
    empty = data == b"\xef\xbb\xbf" and name in (
        "acceptances.toml",
        "decisions.toml",
        "medicines.toml",
    )
    assert empty or name in {fault.file for fault in faults}


@pytest.mark.parametrize("name", FILES)
def test_a_folder_in_a_files_place_is_a_fault(tmp_path: Path, name: str) -> None:
    """A file that can't be read is named, with the system's reason."""
    folder = copy_of_sample(tmp_path)
    put(folder, name, b"")
    (folder / name).unlink()
    (folder / name).mkdir()
    assert [f.wrong for f in faults_of(folder) if f.file == name] == [
        "can't be read: Is a directory"
    ]


def test_a_file_over_the_bound_is_refused(tmp_path: Path) -> None:
    """Files of more than 20 million bytes aren't taken in."""
    folder = copy_of_sample(tmp_path)
    put(folder, "lots.csv", b"x" * 20_000_001)
    assert [f.wrong for f in faults_of(folder)] == ["is larger than 20000000 bytes"]


def test_no_folder_is_a_fault(tmp_path: Path) -> None:
    """A workspace that isn't there is refused like any other."""
    with pytest.raises(RecordsRefused) as refusal:
        read_workspace(tmp_path / "nowhere")
    assert refusal.value.exit_status == 2
    assert "isn't a folder" in str(refusal.value)


MAY_BE_BLANK = {
    "gtin",
    "mark",
    "leaflet_address",
    "paper",
    "made_on_is_day",
    "cards",
    "cards_hold",
    "note",
    "least_pt",
    "short_name",
}
NASTY = {
    "blank": '""',
    "huge": '"' + "x" * 100_000 + '"',
    "override": '"a\\u202Eb"',
    "control": '"a\\u0007b"',
    "line break": '"a\\nb"',
    "truth": "true",
    "table": "{ a = 1 }",
    "moment": "1979-05-27T07:32:00Z",
    "clock": "07:32:00",
    "nested list": "[[1]]",
    "negative": "-1",
    "no number": "nan",
    "endless": "inf",
}


@pytest.mark.parametrize("kind", NASTY)
@pytest.mark.parametrize(
    "name",
    ["pharmacy.toml", "preparations/tadalafil.toml", "acceptances.toml", "decisions.toml"],
)
def test_every_key_refuses_what_it_cannot_hold(tmp_path: Path, name: str, kind: str) -> None:
    """Each key of each TOML file names its own line and itself when its value is wrong."""
    folder = copy_of_sample(tmp_path)
    path = folder / name
    if name == "decisions.toml":
        path.write_text(DECISIONS, encoding="utf-8")
    good = path.read_text(encoding="utf-8").splitlines()
    assert faults_of(folder) == ()
    tried = 0
    for place, line in enumerate(good):
        found = re.match(r"([a-z_0-9]+) = ", line)
        if not found or (kind == "blank" and found[1] in MAY_BE_BLANK):
            continue
        if kind == "moment" and found[1] == "at":
            continue
        bad = [*good]
        bad[place] = f"{found[1]} = {NASTY[kind]}"
        path.write_text("\n".join(bad) + "\n", encoding="utf-8")
        named = {(f.where, f.field.rpartition(".")[2]) for f in faults_of(folder)}
        assert (f"line {place + 1}", found[1]) in named, line
        tried += 1
    assert tried >= 8


DECISIONS = """
[[decision]]
rule = "interaction.alpha-blockers"
record = "104321"
finding = "3f2a09c1d4e5a7b8"
by = "Ines Calloway-Reyes, PharmD"
licence = "DEMO-RPH-00182"
second_by = "Tomas Okonkwo-Lind, PharmD"
second_licence = "DEMO-RPH-00183"
looked_again_at = "2026-11-20 15:30"
entered_again = "tadalafil 5 mg"
reason = "invented as a sentence for this test"
from = 2026-11-20
until = 2026-12-20

[[ingredient]]
inn = "examplol"
of_class = "opioid-antagonists"
cautions = ["caution.drowsy-driving"]
source = "invented for this test"
by = "Ines Calloway-Reyes, PharmD"
licence = "DEMO-RPH-00182"
on = 2026-11-20

[[added_particular]]
id = "made-by"
artwork = "sleeve"
place = "piece"
satisfied_by = "fact:pharmacy"
least_pt = 7.5
source = "invented for this test"

[[removed_particular]]
id = "out-of-hours"
artwork = "leaflet"
reason = "invented as a sentence for this test"
by = "Ines Calloway-Reyes, PharmD"
licence = "DEMO-RPH-00182"
on = 2026-11-20
"""


def test_decisions_are_read_whole(tmp_path: Path) -> None:
    """Every kind of decision comes through with its person, reason and moment."""
    folder = copy_of_sample(tmp_path)
    (folder / "decisions.toml").write_text(DECISIONS, encoding="utf-8")
    decisions = read_workspace(folder).decisions
    (decision,) = decisions.decided
    assert (decision.first.isoformat(), decision.place) == ("2026-11-20", "line 2")
    assert decision.looked_again is not None and decision.looked_again.entered == "tadalafil 5 mg"
    assert decisions.ingredients[0].cautions == ("caution.drowsy-driving",)
    assert decisions.added_particulars[0].least_pt == 7.5
    assert decisions.removed_particulars[0].artwork == "leaflet"
