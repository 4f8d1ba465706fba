from __future__ import annotations

import numpy as np
import shapely

from firstpiece.planning.cell_walk import RowSettings
from firstpiece.planning.fill import fill_area


def test_the_largest_group_is_sewn_last_so_that_it_covers_the_way_to_the_others():
    # A neck thinner than the rows' spacing lies between two rows: the halves do not hang together.
    big, small = shapely.box(0, 0, 20, 20), shapely.box(25, 8, 29, 12)
    area = shapely.union_all([big, small, shapely.box(20, 10.05, 25, 10.15)])
    settings = RowSettings(angle_rad=0.0, spacing_mm=0.4, length_mm=3.0, edge_mm=0.2)
    paths = fill_area(area, settings, entry_mm=np.array([0.0, 0.0]))
    sizes = [len(path) for path in paths]
    assert len(paths) >= 2
    assert sizes[-1] == max(sizes) > 2 * sizes[0]
