"""Each kind of wandering again, for doses whose noise has heavy tails.

The readings are drawn in so that Student noise of four degrees of freedom becomes normal, and
the same patterns are tried on them; otherwise a few far doses hide a weak pattern. Own model.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_grid import HEAVY_DF, heavy_fit
from fillwright.science.signature_kinds import DoseKind
from fillwright.science.signature_models import (
    alternate_scan,
    autocorr_scan,
    creep_scan,
    level_scan,
    level_unknown_scan,
    purge_scan,
    scatter_scan,
    steady_scan,
    step_scan,
)
from fillwright.science.signature_scan import Scan, one_pattern

__all__ = ["heavy_scans"]

_Floats = NDArray[np.float64]

_LEAST = 1e-3


def heavy_scans(z: _Floats, height: _Floats | None) -> dict[DoseKind, Scan]:
    """Return the patterns of the kinds under noise with heavy tails.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]
    height : ndarray, shape (n,) or None
        Hopper level less its mean, over its range; none where not known. [1]

    Returns
    -------
    dict of DoseKind to Scan
        All kinds but short doses, which are told from heavy tails by their side.

    Notes
    -----
    With level µ and scale s of the best heavy fit, z becomes µ + σ Φ⁻¹(T((z - µ)/s)), T the
    Student distribution. What that change of variables adds to every evidence alike is set so
    that the steady run keeps the evidence of `heavy_fit`, where nothing is plugged in. Exact
    for patterns small beside the noise, and those are the ones that far doses hide.
    """
    from scipy.special import ndtri, stdtr  # noqa: PLC0415  heavy library, loaded when asked

    whole = heavy_fit(z)
    sd = max(math.sqrt(whole.noise), _LEAST)
    far = (z - whole.level) / (sd * math.sqrt((HEAVY_DF - 2.0) / HEAVY_DF))
    drawn_in = whole.level - sd * np.sign(far) * ndtri(stdtr(HEAVY_DF, -np.abs(far)))
    added = whole.log_evidence - float(steady_scan(drawn_in).log_joint[0])
    scans = {
        DoseKind.STEP: step_scan(drawn_in),
        DoseKind.CREEP: creep_scan(drawn_in),
        DoseKind.SCATTER: scatter_scan(drawn_in),
        DoseKind.PURGE: purge_scan(drawn_in),
        DoseKind.ALTERNATE: alternate_scan(drawn_in),
        DoseKind.LEVEL: level_unknown_scan(drawn_in)
        if height is None
        else level_scan(drawn_in, height),
        DoseKind.AUTOCORR: autocorr_scan(drawn_in),
    }
    return {
        DoseKind.STEADY: one_pattern(whole),
        **{kind: replace(scan, log_joint=scan.log_joint + added) for kind, scan in scans.items()},
    }
