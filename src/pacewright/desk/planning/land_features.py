"""Keep what a member knows of the land: files of lines, points and areas, as plain shapes in degrees."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Final

from django.core.files.uploadedfile import UploadedFile

from pacewright.core.plain_text import clean_line
from pacewright.desk.models import LONGEST_NAME, LandFeatures, Member
from pacewright.desk.serving.file_names import handed_in, shown_file_name
from pacewright.exceptions import Complaint, ValueComplaint

LARGEST_FILE: Final = 20_000_000
_MOST_TEXT: Final = 5_000_000
_KINDS: Final = (".geojson", ".json", ".gpkg", ".gpx")


def keep_features(owner: Member, name: str, sent: UploadedFile) -> LandFeatures:
    """Keep the shapes of a file that was handed in.

    Raises
    ------
    Complaint
        It is too large, or holds no lines, points or areas that can be read.
    """
    from pacewright.files.plan_features import features_geojson

    title = shown_file_name(sent)
    ending = Path(title).suffix.lower()
    if ending not in _KINDS:
        raise ValueComplaint(
            f"{title[:40]} is no file of lines and areas", "Hand in GeoJSON, GeoPackage or GPX"
        )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"features{ending}"
        path.write_bytes(handed_in(sent, LARGEST_FILE))
        try:
            text = features_geojson(str(path))
        except Complaint as complaint:
            # Where the file lay here is nobody's matter.
            raise type(complaint)(complaint.what, complaint.do) from None
    if len(text) > _MOST_TEXT:
        raise ValueComplaint("this file holds too many places", "Cut it to the land you walk in")
    bare = clean_line(name or title)[:LONGEST_NAME]
    return LandFeatures.objects.create(owner=owner, name=bare or "Lines", geojson=text)
