"""Layouts are judged on names and streets they were not tuned to.

What fits is made and read back; what doesn't is refused by the field that is too small, with
its millimetres. Nothing is cut, and nothing else happens.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from command_line import SAMPLE
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from labelkit.jobs.making import make_one
from labelkit.jobs.orders import orders
from labelkit.jobs.results import Made, NotMade
from labelkit.jobs.wishes import Wish
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace

SYLLABLES = ("Ma", "ri", "schwarz", "Öst", "łow", "ski", "Nguy", "ên", "d'", "Ibn", "ova", "McL")
WORDS = st.lists(st.sampled_from(SYLLABLES), min_size=1, max_size=6).map("".join)
NAMES = st.lists(WORDS, min_size=1, max_size=5).map(" ".join)

ORDINARY = (
    ("Bo Li", "Quay Rx", "2 Elm St"),
    ("Alexandra Montgomery-Fitzgerald", "Harbour & Hill Compounding", "1184 Cartwright Boulevard"),
    ("Juan Carlos Rodríguez Hernández", "Saltmarsh Community Pharmacy", "90210 North Ridge Road"),
    ("Wilhelmina Konstantinopoulou", "The Old Customs House Pharmacy", "77 Lower Saint Anne Lane"),
    ("Chukwuemeka Oluwaseun Adeyemi", "Larkspur Compounding Centre", "Unit 12, 4 Granary Square"),
)
"""Patient, pharmacy and street as long as ordinary ones get (common practice, no source)."""


def changed(patient: str, pharmacy: str, street: str) -> Workspace:
    """The sample with one prescription, of another patient at another pharmacy."""
    sample = read_workspace(SAMPLE)
    rx = next(rx for rx in sample.prescriptions if rx.lidding == "patient")
    other = rx.model_copy(update={"patient": rx.patient.model_copy(update={"name": patient})})
    shop = sample.pharmacy.model_copy(
        update={"name": pharmacy, "address": (street, "Port Quill, OR 00000")}
    )
    return sample.model_copy(update={"pharmacy": shop, "prescriptions": (other,)})


def results(workspace: Workspace) -> list[Made | NotMade]:
    """What becomes of every file of the one prescription."""
    with TemporaryDirectory() as folder:
        wanted = orders(workspace, Wish(rx=(workspace.prescriptions[0].number,)))
        assert not wanted.refused
        return [make_one(order, Path(folder)) for order in wanted.orders]


@pytest.mark.parametrize(("patient", "pharmacy", "street"), ORDINARY)
def test_ordinary_names_fit(patient: str, pharmacy: str, street: str) -> None:
    """Lidding, sleeves and leaflet are made and read back for names as people have them."""
    for result in results(changed(patient, pharmacy, street)):
        assert isinstance(result, Made), result


@settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],  # shrinking would make hundreds of files
    suppress_health_check=[HealthCheck.too_slow],
)
@given(NAMES, NAMES, NAMES)
def test_any_name_is_made_whole_or_refused_by_its_field(
    patient: str, pharmacy: str, street: str
) -> None:
    """Whatever the lengths, a file is whole, or its refusal gives field and millimetres."""
    for result in results(changed(patient, pharmacy, street)):
        if isinstance(result, NotMade):
            assert all(fault.field and " mm" in fault.wrong for fault in result.faults), result


def test_a_name_of_200_characters_is_refused() -> None:
    """Far too long is said as such, for each artwork that shows the name."""
    refused = results(changed("Wolfeschlegel" * 16, "Quay Rx", "2 Elm St"))
    named = [r for r in refused if isinstance(r, NotMade)]
    assert {r.artwork for r in named} == {"lidding", "sleeve"}
    assert all(any(f.field == "patient" for f in r.faults) for r in named)
