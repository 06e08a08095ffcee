"""Lines of the land that a desk keeps, made for tests."""

from __future__ import annotations

import json
from typing import Any

LANE = {"type": "LineString", "coordinates": [[-119.2, 37.4], [-119.1, 37.4]]}
LANES = {"features": [{"properties": {"kind": "lane", "name": ""}, "geometry": LANE}]}


def kept_lanes(owner: Any) -> Any:
    """One file of lanes, as it is kept."""
    from pacewright.desk.models import LandFeatures

    return LandFeatures.objects.create(owner=owner, name="Fen lanes", geojson=json.dumps(LANES))
