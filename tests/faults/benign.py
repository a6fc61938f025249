"""What another program may do to a file without harm: none of it may raise an alarm."""

from collections.abc import Callable

import pikepdf
from injecting import Released, Work


def _saved(released: Released, **how: object) -> bytes:
    return Work(released).saved(**how)


def _dissolved(released: Released) -> bytes:
    """Forms written into their pages: what every harm to a sheet does first."""
    work = Work(released)
    for sheet in work.sheets:
        assert sheet.steps
    return work.saved()


BENIGN: dict[str, Callable[[Released], bytes]] = {
    "untouched": lambda released: released.pdf,
    "saved anew": lambda released: _saved(released),
    "forms dissolved": _dissolved,
    "object streams": lambda released: _saved(
        released, object_stream_mode=pikepdf.ObjectStreamMode.generate
    ),
    "linearised": lambda released: _saved(released, linearize=True),
    "uncompressed": lambda released: _saved(
        released, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.generalized
    ),
    "content normalised": lambda released: _saved(released, normalize_content=True),
}
"""Ways to rewrite a file that leave every page as it was."""
