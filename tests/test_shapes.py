import numpy as np

from guiding.gauges.hydrology.record import pack_paths, unpack_paths


def test_paths_come_back_to_the_millimetre_and_gaps_stay_gaps():
    paths = np.array([[0.301, np.nan], [2.4, -0.5]])

    back = unpack_paths(pack_paths(paths))

    np.testing.assert_allclose(back, paths, atol=1e-9)
