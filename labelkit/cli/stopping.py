"""Stopping a long command: by the keyboard, by ``kill``, or by the terminal that closes.

The first of these signals ends the work at once and cleanly; more of them change nothing.
The exit status is 128 and the signal's number, as shells have it (130, 143, 129).
"""

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

import typer

from labelkit.cli.showing import err, print_json
from labelkit.jobs.running import Progress, Stopped

HEARD = tuple(one for one in signal.Signals if one.name in ("SIGINT", "SIGTERM", "SIGHUP"))
"""Windows has no SIGHUP."""

SHELL = 128
"""What shells add to a signal's number (POSIX.1-2017, XCU 2.8.2: greater than 128)."""


@contextmanager
def stoppable(as_json: bool) -> Iterator[Callable[[Progress], Progress]]:
    """Within it, the signals end the command with a last sentence (or JSON) and exit status.

    Gives what makes a progress bar listen too, between files: Python drops an interrupt that
    comes amid a clean-up of its own.
    """
    asked: list[int] = []
    before = {heard: signal.getsignal(heard) for heard in HEARD}
    # What is ignored was asked to be so: nohup, or a shell's background.
    heard_now = [heard for heard in HEARD if before[heard] is not signal.SIG_IGN]

    def stop(number: int, frame: FrameType | None) -> None:
        del frame
        for heard in heard_now:
            signal.signal(heard, signal.SIG_IGN)
        asked.append(number)
        raise KeyboardInterrupt

    def listening(progress: Progress) -> Progress:
        def told(done: int, total: int) -> None:
            progress(done, total)
            if asked:
                raise KeyboardInterrupt

        return told

    try:
        for heard in heard_now:
            signal.signal(heard, stop)
        yield listening
    except KeyboardInterrupt as stopped:
        number = asked[0] if asked else signal.SIGINT
        _say(stopped, number, as_json)
        raise typer.Exit(SHELL + number) from None
    finally:
        for heard in heard_now:
            signal.signal(heard, before[heard])


def _say(stopped: KeyboardInterrupt, number: int, as_json: bool) -> None:
    made, what = 0, "nothing was made"
    if isinstance(stopped, Stopped):
        made, what = stopped.made, f"{stopped.made} of {stopped.wanted} files made"
    if as_json:
        print_json({"stopped": signal.Signals(number).name, "made": made})
    err.print(f"Stopped: {what}; the same call again goes on.", soft_wrap=True)
