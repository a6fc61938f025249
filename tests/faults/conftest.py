"""The files to damage, made once for each worker."""

import pytest
import released
from injecting import Released


@pytest.fixture(scope="session")
def files() -> tuple[Released, ...]:
    """Each kind of artwork, both languages, drafts."""
    return released.some()
