"""Work on what strangers give, done apart: in a process that may fail, hang or be ended.

The libraries that read PDFs and pictures are written in C, and a file can be built to hang
them, to fill the memory or to bring them down. Whatever happens there, the caller goes on. It
refuses nothing by itself and knows nothing of the work.

The process is a fresh one of the same interpreter, on every system: a copy of this one (fork)
would be quicker by the time of its imports, but there is none on Windows, and a copy of a
process with threads may hang. What bounds it:

================  ===================  ==========================  ==========================
..                time by the clock    time of the processor       memory
================  ===================  ==========================  ==========================
Linux             yes                  yes (RLIMIT_CPU)            yes (RLIMIT_AS)
macOS             yes                  yes (RLIMIT_CPU)            no: its size isn't told here
Windows           yes                  no, the clock alone         no
================  ===================  ==========================  ==========================
"""

import faulthandler
import os
import pickle
import signal
import sys
import traceback
from collections.abc import Callable
from contextlib import suppress
from importlib import import_module
from math import ceil
from pathlib import Path
from types import ModuleType
from typing import TypeVar, cast

from labelkit.ground import door
from labelkit.ground.errors import Refused

T = TypeVar("T")

PATIENCE = 6
"""How much longer than its processor time the work may last by the clock: on a busy machine."""

START_S = 10
"""Seconds by the clock that the process has for its start beside them: imports take one."""

try:
    _limits: ModuleType | None = import_module("resource")
except ImportError:  # Windows
    _limits = None

_ADDRESSES = Path("/proc/self/statm")
"""Linux, proc(5): the first number is the size of the addresses, in pages."""

_LENGTH = 8

_CHILD = (
    "import signal; signal.signal(signal.SIGINT, signal.SIG_DFL); "
    "from labelkit.ground.apart import answer; answer()"
)


class GaveUp(Exception):
    """The work came to no end within its bounds."""


class TookTooLong(GaveUp):
    """It needed more time than it had."""


class TookTooMuch(GaveUp):
    """It needed more memory than it had."""


class Died(GaveUp):
    """A library brought its process down."""


def apart(work: Callable[[], T], seconds: float, more_bytes: int) -> T:
    """What `work` gives, done in a process of its own.

    It has so many seconds of processor time, and so many bytes of addresses beyond those that
    its imports take, as far as the system bounds them (see above). The work and its result must
    be picklable: a function of a module, or a `partial` of one. Raises what it refuses (Refused),
    and TookTooLong, TookTooMuch or Died.
    """
    given = pickle.dumps((seconds, more_bytes, pickle.dumps(work)))
    try:
        status, said = door.ask_python(_CHILD, given, seconds * PATIENCE + START_S)
    except TimeoutError as error:
        raise TookTooLong from error
    return cast(T, _answer(said, status))


def answer() -> None:
    """In the process apart: do the work that stands on standard input, and say what came of it."""
    faulthandler.disable()  # a library that falls is told in a sentence
    # What a library prints goes with the errors, not amid the answer.
    mouth = os.dup(sys.stdout.fileno())
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    seconds, more_bytes, pickled = pickle.load(sys.stdin.buffer)
    said = _said(pickled, seconds, more_bytes)
    with os.fdopen(mouth, "wb") as file:
        file.write(len(said).to_bytes(_LENGTH) + said)
    # Without the exit of an interpreter, which takes its time and may fall over what fell.
    os._exit(0)


def _said(pickled: bytes, seconds: float, more_bytes: int) -> bytes:
    try:
        work = pickle.loads(pickled)  # which imports what it needs
        _bound(seconds, more_bytes)
        return pickle.dumps(("gave", work()))
    except Refused as refused:
        return pickle.dumps(("refused", (type(refused), refused.faults)))
    except MemoryError:
        return pickle.dumps(("filled", None))
    except BaseException:
        return pickle.dumps(("failed", traceback.format_exc()))


def _bound(seconds: float, more_bytes: int) -> None:
    """Limit what this process may take from here on, where the system offers it."""
    if _limits is None:
        return
    so_far = os.times()
    most_s = ceil(so_far.user + so_far.system + seconds)
    _limits.setrlimit(_limits.RLIMIT_CORE, (0, 0))
    _limits.setrlimit(_limits.RLIMIT_CPU, (most_s, most_s + 1))
    with suppress(OSError):
        pages = int(door.read_bytes(_ADDRESSES).split()[0])
        most = pages * _limits.getpagesize() + more_bytes
        _limits.setrlimit(_limits.RLIMIT_AS, (most, most))


def _answer(said: bytes, status: int) -> object:
    whole = len(said) >= _LENGTH and len(said) - _LENGTH == int.from_bytes(said[:_LENGTH])
    if not whole:
        if hasattr(signal, "SIGXCPU") and status == -signal.SIGXCPU:
            raise TookTooLong
        raise Died(f"exit status {status}")
    kind, held = pickle.loads(said[_LENGTH:])
    match kind:
        case "gave":
            return held
        case "refused":
            raise held[0](held[1])
        case "filled":
            raise TookTooMuch
        case _:
            raise RuntimeError(f"the work apart failed:\n{held}")
