"""The executor at an address: a scheduler of the package ``distributed``, whose workers make the
files.

The package is optional, and loaded only for an address. Whatever is wrong with the address, the
scheduler or its workers is said before any work is given out, within a bounded time.
"""

import socket
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager, suppress
from importlib import import_module
from threading import Thread
from typing import Any
from urllib.parse import urlsplit

from labelkit.ground import door
from labelkit.ground.errors import Fault, Refused

ANSWER_S = 10.0
"""Seconds in which a name is found, a scheduler answers, or its first worker is there."""


class ExecutorRefused(Refused):
    """No work can be given to the scheduler at this address. Exit status 1."""

    def __init__(self, address: str, wrong: str, mend: str) -> None:
        super().__init__([Fault(f"--executor {address}", "", "", wrong, mend)])


@contextmanager
def executor_at(address: str) -> Iterator[Executor]:
    """The executor that a scheduler's address names, as long as the block lasts.

    Raises ExecutorRefused where ``distributed`` isn't installed, nobody answers, there are no
    workers, or one of them has another labelkit or several threads.
    """
    try:
        distributed = import_module("distributed")
    except ModuleNotFoundError as error:
        raise ExecutorRefused(
            address,
            "the package that speaks with a scheduler isn't installed",
            'install labelkit with its extra: pip install "labelkit[distributed]"',
        ) from error
    _find(address)
    try:
        client = distributed.Client(address, timeout=ANSWER_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise _silent(address) from error
    try:
        _know(address, client)
        # Not pure: the same order again is made again, not looked up.
        yield client.get_executor(pure=False)
    finally:
        # Where the scheduler is gone, so is what would be closed.
        with suppress(TimeoutError, OSError):
            client.close(timeout=ANSWER_S)


def _find(address: str) -> None:
    """Raise ExecutorRefused unless it is an address whose host has a name that is found."""
    try:
        parts = urlsplit(address if "://" in address else f"tcp://{address}")
        host, port = parts.hostname, parts.port
    except ValueError:
        host, port = None, None
    if not host or not port:
        raise ExecutorRefused(
            address, "this isn't an address", "name host and port, as tcp://localhost:8786"
        )
    # A search for a name can't be given a time, nor be ended.
    found = _within(ANSWER_S, lambda: socket.getaddrinfo(host, port))
    if not found:
        raise _silent(address)


def _within(seconds: float, work: Callable[[], object]) -> object:
    """What `work` gives; None where it fails with an OSError, or takes longer and is left."""
    given: list[object] = []

    def do() -> None:
        with suppress(OSError):
            given.append(work())

    thread = Thread(target=do, daemon=True)
    thread.start()
    thread.join(seconds)
    return given[0] if given else None


def _know(address: str, client: Any) -> None:
    """Raise ExecutorRefused unless there are workers, each with the labelkit that asks and with
    one thread."""
    try:
        client.wait_for_workers(1, timeout=ANSWER_S)
    except TimeoutError as error:
        raise ExecutorRefused(
            address,
            "the scheduler has no workers",
            f"start one: dask worker {address} (docs/distributed.md)",
        ) from error
    own = door.code_digest()
    for worker, found in client.run(door.code_digest, on_error="return").items():
        if found != own:
            raise ExecutorRefused(
                address,
                f"the worker at {worker} has another labelkit, or none",
                "install the same labelkit there, and start the worker again",
            )
    # "None of the PDFium APIs are thread-safe" (PDFium, public/fpdfview.h).
    for worker, threads in client.nthreads().items():
        if threads > 1:
            raise ExecutorRefused(
                address,
                f"the worker at {worker} works in {threads} threads at once",
                "start it with --nthreads 1, and with --nworkers for several processes",
            )


def _silent(address: str) -> ExecutorRefused:
    return ExecutorRefused(
        address,
        "no scheduler answers there",
        "look whether it runs and is reached from here (docs/distributed.md)",
    )
