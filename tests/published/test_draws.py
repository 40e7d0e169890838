"""The fixed draws against the Sobol sequence and the normal quantile of a reference library."""

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from app.science.draws import COUNT, Axis, scores
from tests.published.row import Published

SCIPY = "SciPy, scipy.stats.qmc.Sobol and scipy.special.ndtri, The SciPy community, 2025"


def test_every_draw_is_a_sobol_point_of_the_reference_library():
    published = Published(0.0, 1e-9, SCIPY, "all 1,024 points, all dimensions", "exact points")
    points = qmc.Sobol(len(Axis), scramble=False).random(COUNT) + 0.5 / COUNT
    theirs = points[np.lexsort(points.T)]
    expected = ndtri(theirs)
    ours = scores().T[np.lexsort(scores())]
    assert ours.shape == (COUNT, len(Axis))
    assert published.agrees(float(np.abs(ours - expected).max()))
