"""A million declinations at once, and how many times as long pygeomag takes for one as we do.

pygeomag, a general reader of the same model, works point by point. Both get the same places, heights and
dates in the same run; the largest difference between their answers is printed beside the ratio.
"""

from __future__ import annotations

import math
import time

import numpy as np
from pygeomag import GeoMag

from pacewright.files.field_model import bundled_field_model
from pacewright.ground.declination import magnetic_field

POINTS = 1_000_000
ONE_BY_ONE = 5_000


def main() -> None:
    chance = np.random.default_rng(2025)
    latitude, longitude = chance.uniform(-85, 85, POINTS), chance.uniform(-180, 180, POINTS)
    year, height_m = chance.uniform(2025, 2030, POINTS), chance.uniform(0, 5000, POINTS)
    model = bundled_field_model()
    start = time.perf_counter()
    ours = magnetic_field(model, latitude, longitude, year, height_m).declination_deg
    at_once_s = time.perf_counter() - start

    theirs = GeoMag(base_year=2025)
    start = time.perf_counter()
    other = [
        theirs.calculate(
            glat=float(latitude[i]),
            glon=float(longitude[i]),
            alt=float(height_m[i]) / 1000,
            time=float(year[i]),
        ).d
        for i in range(ONE_BY_ONE)
    ]
    one_by_one_s = time.perf_counter() - start

    ratio = (one_by_one_s / ONE_BY_ONE) / (at_once_s / POINTS)
    apart_deg = max(abs(math.remainder(a - b, 360)) for a, b in zip(ours, other, strict=False))
    print(f"{POINTS} declinations, each with its own date: {at_once_s:.1f} s")
    print(f"pygeomag takes {ratio:.0f} times as long for one declination")
    print(f"the two differ by {apart_deg:.1e} degrees at most, over {ONE_BY_ONE} places")


if __name__ == "__main__":
    main()
