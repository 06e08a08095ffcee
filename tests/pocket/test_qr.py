"""The QR codes of the page against segno, a general library, module for module."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import pytest
import segno
import segno.encoder

from pacewright.pocket.modules import join_modules


@pytest.fixture(scope="module")
def qr(browser: Any) -> Iterator[Any]:
    """`qr(text)`: the code that the page makes of a text."""
    page = browser.new_page()
    source = files("pacewright.pocket").joinpath("page", "screen", "qr.js").read_text(encoding="utf-8")
    page.add_script_tag(content=join_modules({"screen/qr.js": source}))
    yield lambda text: page.evaluate("(text) => $screen_qr.qrCode(text)", text)
    page.close()


def standard_padding(buff: Any, version: int, length: int) -> None:
    """ISO/IEC 18004:2015, 7.4.10: no bit where the last codeword is whole; segno puts eight there."""
    buff.extend([0] * (-length % 8))


CAPACITIES = [17, 32, 53, 78, 106, 134, 154, 192, 230, 271, 586, 1003, 1732, 2953]
"""Bytes of versions 1 to 10, 16, 22, 30 and 40 at level L, which need no padding (Table 7)."""


@pytest.mark.parametrize("length", CAPACITIES)
def test_a_full_code_is_the_one_that_the_library_makes(browser: Any, qr: Any, length: int) -> None:
    text = ("305,240,[at Split oak]\n" * 200)[:length]
    made = qr(text)
    # Every mask is right; which of the eight is the most legible the two weigh a little differently.
    expected = segno.make_qr(text, error="L", boost_error=False, mode="byte", mask=made["mask"])
    assert made["version"] == expected.version
    assert made["modules"] == [[bool(module) for module in row] for row in expected.matrix]


@pytest.mark.parametrize("length", [0, 17, 18, 53, 100, 230, 271, 500, 700, 1003, 1600, 2191, 2900])
def test_a_code_with_padding_is_the_one_that_the_library_makes(
    browser: Any, qr: Any, length: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(segno.encoder, "write_padding_bits", standard_padding)
    text = ("305,240,[at Split oak] ° ü\n" * 200).encode("utf-8")[:length].decode("utf-8", "ignore")
    made = qr(text)
    data = text.encode("utf-8")
    expected = segno.make_qr(data, error="L", boost_error=False, mode="byte", mask=made["mask"])
    assert made["version"] == expected.version
    assert made["modules"] == [[bool(module) for module in row] for row in expected.matrix]


def test_a_text_that_no_code_holds_gets_none(browser: Any, qr: Any) -> None:
    assert qr("x" * 2954) is None
