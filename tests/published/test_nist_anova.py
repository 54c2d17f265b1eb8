"""One-way components against the certified one-way sets of the NIST StRD.

The files lie unaltered in the statistics library we use; the certified figures are read
out of them. Ehrstein and Croarkin for the observed sets, Simon and Lesage (1989) for the rest.
"""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from fillwright.science.repeatability import repeatability_study

SETS = files("scipy.stats") / "tests" / "data" / "nist_anova"
# Digits that survive where 7 and 13 leading digits are common to all readings of 0.1 apart:
# a reading of 1e12 keeps only some four digits of what varies in double precision.
TOLERANCE = {"SmLs04": 1e-7, "SmLs05": 1e-7, "SmLs06": 1e-7}
HARD = {"SmLs07": 2e-2, "SmLs08": 2e-2, "SmLs09": 2e-2}


@pytest.mark.parametrize(
    "name", ["SiRstv", "AtmWtAg", *(f"SmLs0{number}" for number in range(1, 10))]
)
def test_mean_squares_and_f_are_the_certified_ones(name):
    """Both mean squares and F, to 1e-9; less where the set was made to lose digits."""
    text = (SETS / f"{name}.dat").read_text()
    between = re.search(r"^Between .*?(\d+)\s+(\S+)\s+(\S+)\s+(\S+)\s*$", text, re.MULTILINE)
    within = re.search(r"^Within .*?(\d+)\s+(\S+)\s+(\S+)\s*$", text, re.MULTILINE)
    rows = [line.split() for line in text.splitlines()[60:] if line.strip()]

    found = repeatability_study([row[0] for row in rows], [float(row[1]) for row in rows])

    near = {**TOLERANCE, **HARD}.get(name, 1e-9)
    assert found.df_between == int(between[1])
    assert found.df_within == int(within[1])
    assert found.ms_between == pytest.approx(float(between[3]), rel=near)
    assert found.ms_within == pytest.approx(float(within[3]), rel=near)
    assert found.f == pytest.approx(float(between[4]), rel=near)
