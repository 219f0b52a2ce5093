"""Parameters of a notebook: a misspelt one is refused."""

from __future__ import annotations

import pytest

from kit.views import ParameterError, refuse_unknown_parameters

OWN = 'unit: str = "inputs/made"  # the folder\ntag: str = "FV-1"  # the tag'


def test_a_known_parameter_is_accepted() -> None:
    refuse_unknown_parameters(["", OWN, '# Parameters\ntag = "FV-2"\n', "now"])


def test_a_misspelt_parameter_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ParameterError, match=r"no parameter 'tga'\. It has 'unit', 'tag'"):
        refuse_unknown_parameters(["", OWN, '# Parameters\ntga = "FV-2"\n', "now"])


def test_a_notebook_run_by_hand_has_nothing_to_refuse() -> None:
    refuse_unknown_parameters(["", OWN, "now"])
