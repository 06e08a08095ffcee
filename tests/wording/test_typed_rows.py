"""What stands in the margin beside a typed row."""

from __future__ import annotations

from pacewright.core.log.travel_log import Cells
from pacewright.core.log.typed_page import read_typed
from pacewright.wording.typed_rows import say_typed


def margin(*rows):
    page = read_typed(["start: Gate"], [Cells(*row) for row in rows])
    return say_typed(page.rows, "degrees", "Gate")


def test_a_back_azimuth_copied_forward_is_asked_about_beside_its_row():
    assert margin(("105", "60", "[back 105]"), ("20", "50", "[back 200]")) == [
        "leg 1; read back as 105; was it read backward? From the leg's end, about 285",
        "leg 2; read back as 200",
    ]
