"""Sizes are read from the names that printers give their media."""

import pytest

from labelkit.jobs.ipp import size_of


@pytest.mark.parametrize(
    ("name", "size"),
    [
        # PWG 5101.1, table of sizes: names and their sides.
        ("na_letter_8.5x11in", (215.9, 279.4)),
        ("na_legal_8.5x14in", (215.9, 355.6)),
        ("iso_a4_210x297mm", (210.0, 297.0)),
        ("iso_a5_148x210mm", (148.0, 210.0)),
        ("custom_label_297x210mm", (210.0, 297.0)),
    ],
)
def test_self_describing_names(name: str, size: tuple[float, float]) -> None:
    """Inches and millimetres, whichever side comes first."""
    assert size_of(name) == pytest.approx(size)


@pytest.mark.parametrize(
    "name", ["a4", "", "na_letter", "custom_max_9999999x9999999mm", "x_y_1e9x1mm", "a_b_-1x2mm"]
)
def test_other_names_say_no_size(name: str) -> None:
    """What isn't such a name decides nothing."""
    assert size_of(name) is None
