"""Stations and legs of a placed log to GPX 1.1."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from pacewright.answers.placing import PlacedLog
from pacewright.core.pace.tally import whole_count
from pacewright.core.way.regions import ellipse_axes, reach_of

GPX_NAMESPACE: Final = "http://www.topografix.com/GPX/1/1"


def write_gpx(title: str, placed: PlacedLog, probability: float, doubts: Sequence[str] = ()) -> bytes:
    """Write a placed log as GPX 1.1: a waypoint for every named station, and the legs as one track.

    A name met again stands once, where it was met first. How sure it is stands in its comment; what may
    be wrong with all of it in the descriptions of the file and of the track.

    References
    ----------
    GPX 1.1 schema documentation (2004): the order of elements (from memory).
    """
    doubt = f"<desc>{_text(' '.join(doubts))}</desc>" if doubts else ""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="pacewright" xmlns="{GPX_NAMESPACE}">',
        f"<metadata><name>{_text(title)}</name>{doubt}</metadata>",
    ]
    first = {name: k for k, name in reversed(list(enumerate(placed.names))) if name}
    for name, k in sorted(first.items(), key=lambda item: item[1]):
        comment = _how_sure(placed, k, probability)
        lines.append(f"<wpt {_at(placed, k)}><name>{_text(name)}</name><cmt>{comment}</cmt></wpt>")
    lines.append(f"<trk><name>{_text(title)}</name>{doubt}<trkseg>")
    lines += [f"<trkpt {_at(placed, k)}></trkpt>" for k in range(placed.last + 1)]
    lines += ["</trkseg></trk>", "</gpx>", ""]
    return "\n".join(lines).encode("utf-8")


def _how_sure(placed: PlacedLog, station: int, probability: float) -> str:
    long_sd, short_sd, axis_deg = ellipse_axes(placed.covariance_m2[station])
    along_m, across_m = (whole_count(reach_of(probability) * sd_m) for sd_m in (long_sd, short_sd))
    return (
        f"station {station}; {100 * probability:g} times in 100 within {along_m} m along "
        f"grid azimuth {axis_deg:.0f} and {across_m} m across it"
    )


def _at(placed: PlacedLog, station: int) -> str:
    latitude, longitude = placed.latitude_deg[station], placed.longitude_deg[station]
    return f"lat={quoteattr(f'{latitude:.7f}')} lon={quoteattr(f'{longitude:.7f}')}"


def _text(content: str) -> str:
    # XML 1.0 has no place for control characters and half letters.
    return escape(
        "".join(c for c in content if c >= " " and not "\ud800" <= c <= "\udfff" and c not in "\ufffe\uffff")
    )
