"""Work on what strangers give, done apart: in a process that may fail, hang or be ended.

The libraries that read PDFs and pictures are written in C, and a file can be built to hang
them, to fill the memory or to bring them down. Whatever happens there, the caller goes on. It
refuses nothing by itself and knows nothing of the work.
"""

import faulthandler
import os
import pickle
import resource
import select
import signal
import traceback
from collections.abc import Callable
from contextlib import suppress
from math import ceil
from pathlib import Path
from typing import TypeVar, cast

from labelkit.ground import door
from labelkit.ground.errors import Refused

T = TypeVar("T")

PATIENCE = 6
"""How much longer than its processor time the work may last by the clock: on a busy machine."""

_ADDRESSES = Path("/proc/self/statm")
"""Linux, proc(5): the first number is the size of the addresses, in pages."""

_LENGTH = 8


class GaveUp(Exception):
    """The work came to no end within its bounds."""


class TookTooLong(GaveUp):
    """It needed more time than it had."""


class TookTooMuch(GaveUp):
    """It needed more memory than it had."""


class Died(GaveUp):
    """A library brought its process down."""


def apart(work: Callable[[], T], seconds: float, more_bytes: int) -> T:
    """What `work` gives, done in a copy of this process.

    It has so many seconds of processor time, and so many bytes of addresses beyond those this
    process has (where the system tells: Linux). Its result must be picklable. Raises what it
    refuses (Refused), and TookTooLong, TookTooMuch or Died.
    """
    mine, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        _work(work, theirs, ceil(seconds), more_bytes)
    os.close(theirs)
    try:
        said = _all_of(mine, seconds * PATIENCE)
    finally:
        os.close(mine)
        with suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        status = os.waitpid(child, 0)[1]
    return cast(T, _answer(said, status))


def _all_of(pipe: int, patience_s: float) -> bytes:
    """All that is written into a pipe until its other end is closed. Raises TookTooLong where
    nothing comes for so long: all of it comes at the end of the work."""
    said = bytearray()
    while True:
        if not select.select([pipe], [], [], patience_s)[0]:
            raise TookTooLong
        part = os.read(pipe, 1 << 20)
        if not part:
            return bytes(said)
        said += part


def _work(work: Callable[[], object], pipe: int, seconds: int, more_bytes: int) -> None:
    """Do the work in the copy, say what came of it, and end the copy."""
    try:
        faulthandler.disable()  # a library that falls is told in a sentence
        for one in (signal.SIGINT, signal.SIGTERM):
            signal.signal(one, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
        with suppress(OSError):
            pages = int(door.read_bytes(_ADDRESSES).split()[0])
            most = pages * resource.getpagesize() + more_bytes
            resource.setrlimit(resource.RLIMIT_AS, (most, most))
        said = _said(work)
        with os.fdopen(pipe, "wb") as file:
            file.write(len(said).to_bytes(_LENGTH) + said)
    finally:
        # Without the exit of an interpreter: what waits in this copy's buffers isn't its own.
        os._exit(0)


def _said(work: Callable[[], object]) -> bytes:
    try:
        return pickle.dumps(("gave", work()))
    except Refused as refused:
        return pickle.dumps(("refused", (type(refused), refused.faults)))
    except MemoryError:
        return pickle.dumps(("filled", None))
    except BaseException:
        return pickle.dumps(("failed", traceback.format_exc()))


def _answer(said: bytes, status: int) -> object:
    whole = len(said) >= _LENGTH and len(said) - _LENGTH == int.from_bytes(said[:_LENGTH])
    if not whole:
        by = os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0
        if by == signal.SIGXCPU:
            raise TookTooLong
        raise Died(f"signal {by}" if by else "without a word")
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
