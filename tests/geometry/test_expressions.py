"""Expressions in layout fields: facts go in, nothing else is reachable."""

import pytest

from labelkit.geometry.expressions import names_in, render


def test_names_are_found_and_filled_in() -> None:
    """An expression names its facts and takes their text as it is, markup included."""
    assert names_in("{{ drug }} {{ strength }}") == {"drug", "strength"}
    assert render("{{ drug }}, {{ lot }}", {"drug": "<b>x</b>", "lot": "A1"}) == "<b>x</b>, A1"


@pytest.mark.parametrize(
    "expression",
    [
        "{{ drug",
        "{{ missing }}",
        "{{ drug.__class__.__mro__ }}",
        "{{ range(9) }}",
        "{% include 'x' %}",
        "{{ ''.join.__globals__ }}",
        "{{ drug * 999999999 }}",
        "{% for x in drug %}{{ x }}{% endfor %}",
        "{{ drug | upper }}",
    ],
)
def test_what_is_no_fact_is_refused(expression: str) -> None:
    """A broken expression, an unknown name and every way out of the sandbox raise ValueError."""
    with pytest.raises(ValueError, match="can't be"):
        render(expression, {"drug": "d"})
