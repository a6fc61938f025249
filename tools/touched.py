"""A pytest plugin that writes which functions of labelkit each test enters.

``pytest -p touched`` with TOUCHED naming the file to write. A function is told by its file and
qualified name; what runs in another process isn't seen.
"""

import json
import os
import sys
import time
from collections.abc import Generator
from pathlib import Path
from types import CodeType, FrameType

import pytest

_ROOT = str(Path(__file__).parents[1] / "labelkit") + os.sep
_entered: set[CodeType] = set()
_tests: dict[str, dict[str, object]] = {}


def _enter(frame: FrameType, event: str, _: object) -> None:
    if event == "call":
        _entered.add(frame.f_code)


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, None, None]:
    """Watch one test, its fixtures included."""
    _entered.clear()
    started = time.perf_counter()
    sys.setprofile(_enter)
    yield
    sys.setprofile(None)
    functions = {
        f"labelkit/{code.co_filename.removeprefix(_ROOT)}:{_plain(code.co_qualname)}"
        for code in _entered
        if code.co_filename.startswith(_ROOT)
    }
    seconds = round(time.perf_counter() - started, 2)
    _tests[item.nodeid] = {"seconds": seconds, "functions": sorted(functions), "passed": True}


def _plain(qualified: str) -> str:
    """``outer.<locals>.<genexpr>`` is part of ``outer``."""
    return qualified.partition(".<locals>")[0].partition(".<")[0]


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Remember a failure: a test that fails on sound code tells nothing."""
    if report.failed:
        _failed.add(report.nodeid)


_failed: set[str] = set()


def pytest_sessionfinish() -> None:
    """Write what was seen."""
    for name in _failed & _tests.keys():
        _tests[name]["passed"] = False
    Path(os.environ["TOUCHED"]).write_text(json.dumps(_tests), "utf-8")
