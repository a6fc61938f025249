"""Work that is done apart: it is imported there by its name, so it imports little."""

import ctypes
import os
import threading

from labelkit.ground.errors import CheckRefused, Fault


def spin() -> None:
    """Never ends, and uses the processor."""
    while True:
        pass


def wait() -> None:
    """Never ends, and uses nothing."""
    threading.Event().wait()


def fill() -> bytes:
    """Takes a gigabyte."""
    return b"x" * (1 << 30)


def die() -> None:
    """Leaves without a word."""
    os._exit(3)


def fall() -> None:
    """Reads where nothing is, as a library does that falls."""
    ctypes.string_at(0)


def refuse(faults: list[Fault]) -> None:
    """Refuses with these."""
    raise CheckRefused(faults)


def divide() -> int:
    """Has a defect."""
    return 1 // 0


def print_and_give() -> str:
    """Says something on standard output before it gives its answer."""
    print("a banner")
    os.write(1, b"another\n")
    return "given"
