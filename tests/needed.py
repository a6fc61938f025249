"""Tools that tests need beside the package's own."""

import os

import pytest


def need(missing: list[str]) -> None:
    """Skip where tools are missing on a laptop; under CI they must be there."""
    if missing and os.environ.get("CI") == "true":
        pytest.fail(f"missing under CI: {', '.join(missing)}; tools/apt-packages installs them")
    if missing:
        pytest.skip(f"not installed here: {', '.join(missing)} (tools/apt-packages)")
