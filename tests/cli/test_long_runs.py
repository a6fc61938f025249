"""What the screen tells of long runs: the time that is left, counts in place of 10,000 rows."""

import json
import signal
from datetime import UTC, datetime, timedelta

import pytest
import typer

from labelkit.cli import making, showing
from labelkit.cli.showing import MOST_LISTED, show_outcome
from labelkit.cli.stopping import stoppable
from labelkit.jobs.results import Made, NotMade, Outcome, SaidFault
from labelkit.jobs.running import Stopped

BEGAN = datetime(2026, 11, 25, 22, 0, tzinfo=UTC)


def test_a_log_gets_a_line_a_minute_with_the_time_that_is_left(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """At the pace since the line before: 5,000 kept in a minute, then five files a second."""
    clock = BEGAN
    monkeypatch.setattr(making.door, "now", lambda: clock)
    with making.bar("making") as progress:
        for done in range(10_001):
            progress(done, 10_000)
            clock += timedelta(seconds=0.012 if done < 5_000 else 0.2)
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "making: 5,000 of 10,000, about 1 min left"
    assert lines[1] == "making: 5,300 of 10,000, about 16 min left"
    assert lines[2] == "making: 5,600 of 10,000, about 15 min left"
    assert len(lines) == 17


def test_hours_are_told_as_hours(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A night's run, not 300 minutes; and nothing at all in the first minute."""
    clock = BEGAN
    monkeypatch.setattr(making.door, "now", lambda: clock)
    with making.bar("making") as progress:
        progress(0, 10_000)
        clock += timedelta(seconds=59)
        progress(30, 10_000)
        assert not capsys.readouterr().err
        clock += timedelta(seconds=61)
        progress(100, 10_000)
    assert capsys.readouterr().err == "making: 100 of 10,000, about 3.3 h left\n"


def made(number: int, kept: bool = False) -> Made:
    """One sleeve."""
    return Made(
        file=f"sleeve-rx{number}.pdf",
        artwork="sleeve",
        layout="sleeve-10-letter",
        subject=f"prescription {number}",
        language="en",
        state="made",
        pages=1,
        texts=30,
        codes=3,
        sha256="0" * 64,
        kept=kept,
    )


def refused(number: int) -> NotMade:
    """One that wasn't made."""
    fault = SaidFault(
        file="x", where="", field="", wrong=f"bad {number}", mend="mend", rule="", source=""
    )
    return NotMade(artwork="sleeve", subject=f"prescription {number}", faults=(fault,))


def test_very_many_files_are_counted(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """By kind, with how many were kept; reasons up to a screenful, and where the others are."""
    monkeypatch.setattr(showing.out, "width", 120)
    outcome = Outcome(
        workspace="records",
        out="artwork",
        made=tuple(made(n, kept=n < 6_000) for n in range(10_000)),
        refused=tuple(refused(n) for n in range(MOST_LISTED + 20)),
    )
    show_outcome(outcome)
    said = capsys.readouterr()
    assert [line.split() for line in said.out.splitlines()[:2]] == [
        ["files", "of", "state", "files", "kept", "pages", "texts", "codes"],
        ["sleeve", "made", "10,000", "6,000", "10,000", "300,000", "30,000"],
    ]
    assert "sleeve-rx" not in said.out
    assert said.err.count("Not made:") == MOST_LISTED
    assert "80 not made: see the reasons above and in the report." in said.out


def test_stopped_before_there_was_anything_to_count(capsys: pytest.CaptureFixture[str]) -> None:
    """While records are read: said as it is, with the status of SIGTERM."""
    with pytest.raises(typer.Exit) as left, stoppable(as_json=False):
        signal.raise_signal(signal.SIGTERM)
    assert left.value.exit_code == 143
    assert capsys.readouterr().err == "Stopped: nothing was made; the same call again goes on.\n"


def test_a_stop_is_told_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """The signal and the count, for programs."""
    with pytest.raises(typer.Exit) as left, stoppable(as_json=True):
        raise Stopped(12, 40)
    assert left.value.exit_code == 130
    assert json.loads(capsys.readouterr().out) == {"stopped": "SIGINT", "made": 12}


def test_an_interrupt_that_a_clean_up_swallowed_is_heard_after_the_file() -> None:
    """Python drops what is raised in a finaliser: the next word of progress raises it again."""
    with pytest.raises(typer.Exit), stoppable(as_json=False) as listening:
        progress = listening(lambda done, total: None)
        progress(1, 2)
        try:
            signal.raise_signal(signal.SIGINT)
        except KeyboardInterrupt:
            swallowed = True
        assert swallowed
        progress(2, 2)
        raise AssertionError("it wasn't heard")


def test_signals_that_were_ignored_stay_so_and_all_are_given_back() -> None:
    """``nohup`` asks that a closing terminal changes nothing."""
    before = {heard: signal.getsignal(heard) for heard in (signal.SIGINT, signal.SIGTERM)}
    old = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with stoppable(as_json=False):
            signal.raise_signal(signal.SIGHUP)
            assert signal.getsignal(signal.SIGTERM) is not before[signal.SIGTERM]
        assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, old)
    assert {heard: signal.getsignal(heard) for heard in before} == before
