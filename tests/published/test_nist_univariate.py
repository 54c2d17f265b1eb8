"""Mean, sd and lag-1 autocorrelation of the reference sets of NIST, cancellation ones included.

Data and certified values: NIST Statistical Reference Datasets, univariate summary statistics
(Michelso, Mavro, Lew, Lottery, NumAcc1 and NumAcc4 read in copies of the published files,
NumAcc2 and NumAcc3 from memory). PiDigits is left out: its certified mean needs a sum of 22,674,
and the first 5,000 digits, computed by two formulas, sum to 22,679.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fillwright.science.charts import individuals_chart
from fillwright.science.order import order_tests
from fillwright.science.proof import prove
from fillwright.science.watch import watch_start, watch_take

MICHELSO = [
    (29_900 + hundredth) / 100
    for hundredth in (
        *(85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96),
        *(96, 94, 96, 94, 88, 80, 85, 88, 90, 84, 83, 79, 81, 88, 88, 83, 80, 79, 76, 80),
        *(88, 88, 88, 86, 72, 72, 62, 86, 97, 95, 88, 91, 85, 87, 84, 84, 85, 84, 84, 84),
        *(89, 81, 81, 82, 80, 77, 76, 74, 75, 76, 91, 92, 89, 86, 88, 72, 84, 85, 85, 78),
        *(89, 84, 78, 81, 76, 81, 79, 81, 82, 85, 87, 87, 81, 74, 81, 94, 95, 80, 81, 87),
    )
]
MAVRO = [
    (20_000 + tenthousandth) / 10_000
    for tenthousandth in (
        *(18, 17, 18, 19, 18, 17, 15, 14, 15, 15, 17, 18, 18, 19, 19, 21, 20, 16, 14, 13),
        *(13, 15, 15, 16, 15, 14, 13, 14, 15, 14, 15, 16, 15, 16, 19, 20, 20, 21, 22, 23),
        *(24, 25, 27, 26, 26, 26, 27, 26, 25, 24),
    )
]
LEW = [
    *(-213, -564, -35, -15, 141, 115, -420, -360, 203, -338, -431, 194, -220, -513, 154, -125),
    *(-559, 92, -21, -579, -52, 99, -543, -175, 162, -457, -346, 204, -300, -474, 164, -107),
    *(-572, -8, 83, -541, -224, 180, -420, -374, 201, -236, -531, 83, 27, -564, -112, 131),
    *(-507, -254, 199, -311, -495, 143, -46, -579, -90, 136, -472, -338, 202, -287, -477, 169),
    *(-124, -568, 17, 48, -568, -135, 162, -430, -422, 172, -74, -577, -13, 92, -534, -243),
    *(194, -355, -465, 156, -81, -578, -64, 139, -449, -384, 193, -198, -538, 110, -44, -577),
    *(-6, 66, -552, -164, 161, -460, -344, 205, -281, -504, 134, -28, -576, -118, 156, -437),
    *(-381, 200, -220, -540, 83, 11, -568, -160, 172, -414, -408, 188, -125, -572, -32, 139),
    *(-492, -321, 205, -262, -504, 142, -83, -574, 0, 48, -571, -106, 137, -501, -266, 190),
    *(-391, -406, 194, -186, -553, 83, -13, -577, -49, 103, -515, -280, 201, 300, -506, 131),
    *(-45, -578, -80, 138, -462, -361, 201, -211, -554, 32, 74, -533, -235, 187, -372, -442),
    *(182, -147, -566, 25, 68, -535, -244, 194, -351, -463, 174, -125, -570, 15, 72, -550),
    *(-190, 172, -424, -385, 198, -218, -536, 96),
]
LOTTERY = [
    *(162, 671, 933, 414, 788, 730, 817, 33, 536, 875, 670, 236, 473, 167, 877, 980, 316, 950),
    *(456, 92, 517, 557, 956, 954, 104, 178, 794, 278, 147, 773, 437, 435, 502, 610, 582, 780),
    *(689, 562, 964, 791, 28, 97, 848, 281, 858, 538, 660, 972, 671, 613, 867, 448, 738, 966),
    *(139, 636, 847, 659, 754, 243, 122, 455, 195, 968, 793, 59, 730, 361, 574, 522, 97, 762),
    *(431, 158, 429, 414, 22, 629, 788, 999, 187, 215, 810, 782, 47, 34, 108, 986, 25, 644),
    *(829, 630, 315, 567, 919, 331, 207, 412, 242, 607, 668, 944, 749, 168, 864, 442, 533, 805),
    *(372, 63, 458, 777, 416, 340, 436, 140, 919, 350, 510, 572, 905, 900, 85, 389, 473, 758),
    *(444, 169, 625, 692, 140, 897, 672, 288, 312, 860, 724, 226, 884, 508, 976, 741, 476, 417),
    *(831, 15, 318, 432, 241, 114, 799, 955, 833, 358, 935, 146, 630, 830, 440, 642, 356, 373),
    *(271, 715, 367, 393, 190, 669, 8, 861, 108, 795, 269, 590, 326, 866, 64, 523, 862, 840),
    *(219, 382, 998, 4, 628, 305, 747, 247, 34, 747, 729, 645, 856, 974, 24, 568, 24, 694),
    *(608, 480, 410, 729, 947, 293, 53, 930, 223, 203, 677, 227, 62, 455, 387, 318, 562, 242),
    *(428, 968),
]


def _between(base):
    """One value in the middle, then 500 pairs a tenth below and above it."""
    return [base + 0.2, *([base + 0.1, base + 0.3] * 500)]


# Name, data, certified mean, sd and lag-1 autocorrelation, digits that doubles can hold.
SETS = {
    "Michelso": (MICHELSO, 299.852400000000, 0.0790105478190518, 0.535199668621283, 1e-11),
    "Mavro": (MAVRO, 2.00185600000000, 0.000429123454003053, 0.937989183438248, 1e-11),
    "Lew": (LEW, -177.435000000000, 277.332168044316, -0.307304800605679, 1e-13),
    "Lottery": (LOTTERY, 518.958715596330, 291.699727470969, -0.120948622967393, 1e-12),
    "NumAcc1": ([10000001, 10000003, 10000002], 10000002, 1.0, -0.5, 1e-13),
    "NumAcc2": (_between(1.0), 1.2, 0.1, -0.999, 1e-12),
    "NumAcc3": (_between(1e6), 1000000.2, 0.1, -0.999, 1e-8),
    "NumAcc4": (_between(1e7), 10000000.2, 0.1, -0.999, 1e-7),
}


@pytest.mark.parametrize("name", sorted(SETS))
def test_order_tests_give_the_certified_autocorrelation(name):
    """Sum of products of neighbours over the sum of squares, both about the mean."""
    row, _, _, lag1, digits = SETS[name]
    row = [*row, row[-1]] if len(row) < 4 else row
    if name == "NumAcc1":
        # The set of three is shorter than any order test; the definition by hand.
        off = np.array(row[:3]) - np.mean(row[:3])
        assert off[:-1] @ off[1:] / (off @ off) == lag1
        return

    assert order_tests(row).lag1 == pytest.approx(lag1, rel=10 * digits)


@pytest.mark.parametrize("name", sorted(SETS))
def test_a_proof_gives_the_certified_mean_and_sd(name):
    """The largest sets of a proof, values about ten million and a tenth apart included."""
    row, mean, sd, _, digits = SETS[name]
    target = abs(mean)
    found = prove(row, target=target, tolerance=0.5 * target)

    assert found.mean == pytest.approx(mean, rel=1e-14)
    assert found.sd == pytest.approx(sd, rel=digits)


@pytest.mark.parametrize("name", ["Michelso", "Mavro", "NumAcc2", "NumAcc3", "NumAcc4"])
def test_the_live_watch_learns_the_certified_mean_and_sd(name):
    """One reading at a time, no cancellation: the same figures as over the whole row."""
    row, mean, sd, _, digits = SETS[name]
    state = watch_start(k=50.0, h=1e6, known_after=10_000)
    for place, value in enumerate(row):
        state = watch_take(state, value, position=float(place)).state
    assert not state.alarmed

    assert state.mean == pytest.approx(mean, rel=1e-14)
    assert math.sqrt(state.m2 / (state.count - 1)) == pytest.approx(sd, rel=10 * digits)


@pytest.mark.parametrize("name", ["NumAcc2", "NumAcc3", "NumAcc4"])
def test_a_moving_range_keeps_its_digits(name):
    """One step of a tenth, then 999 of two tenths: mean moving range 0.1999."""
    row, _, _, _, digits = SETS[name]

    assert individuals_chart(row).mean_moving_range == pytest.approx(0.1999, rel=10 * digits)
