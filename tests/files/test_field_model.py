"""The coefficient file of the magnetic model."""

from __future__ import annotations

import datetime

import numpy as np
import pytest

from pacewright.exceptions import FormatComplaint
from pacewright.files.bundled import bundled
from pacewright.files.field_model import FIELD_MODEL, bundled_field_model, read_field_model

OFFICIAL = bundled(FIELD_MODEL)


def test_the_file_is_the_model_of_2025_from_its_release_for_five_years():
    model = bundled_field_model()
    assert (model.name, model.epoch) == ("WMM-2025", 2025.0)
    assert (model.valid_from, model.valid_to) == (datetime.date(2024, 11, 13), datetime.date(2030, 1, 1))


def test_the_coefficients_at_2027_5_are_those_of_the_report():
    """WMM2025 technical report (2024), table 3b: g10, g11 and h11 at 2027.5."""
    model = bundled_field_model()
    g, h = model.g_nt + 2.5 * model.g_change_nt, model.h_nt + 2.5 * model.h_change_nt
    assert (g[1, 0], g[1, 1], h[1, 1]) == pytest.approx((-29321.8, -1386.55, 4491.65), abs=1e-9)


def test_there_are_ninety_coefficients_up_to_degree_twelve():
    model = bundled_field_model()
    assert model.g_nt.shape == (13, 13)
    assert np.count_nonzero(model.g_nt) == 90
    assert not np.triu(model.g_nt, 1).any()


def test_the_model_cannot_be_changed_by_accident():
    with pytest.raises(ValueError, match="read-only"):
        bundled_field_model().g_nt[1, 0] = 0.0


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"azimuth,count,notes\n305,240,\n",
        OFFICIAL[: len(OFFICIAL) // 2],
        OFFICIAL.replace(b"  3  2    1243.8", b"  3  2     one  "),
        OFFICIAL.replace(b"11/13/2024", b"13/13/2024"),
        b"\n".join(OFFICIAL.split(b"\n")[:20] + OFFICIAL.split(b"\n")[21:]),
        b"\xff\xfe\x00",
    ],
)
def test_a_damaged_file_is_refused(data):
    with pytest.raises(FormatComplaint, match=r"^spoilt\.cof: this is not the whole coefficient file"):
        read_field_model(data, "spoilt.cof")
