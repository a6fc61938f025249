"""PDFium's functions called with plain addresses: what a sheet's thousands of characters need.

The binding's own form of a call converts each argument, which takes longer than the call.
"""

import ctypes
from collections.abc import Callable

import pypdfium2.raw as pdfium

ADDRESS, NUMBER = ctypes.c_void_p, ctypes.c_int

HANDLE = ctypes.c_size_t
"""An address as an answer: a number, 0 for none."""


def bound(name: str, answer: type, *given: type) -> Callable[..., int]:
    """A function of PDFium's, called without giving up the interpreter's lock: only for those that
    take less time than giving it up."""
    prototype = ctypes.PYFUNCTYPE(answer, *given)
    return prototype(ctypes.cast(getattr(pdfium, name), ctypes.c_void_p).value or 0)
