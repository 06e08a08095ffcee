"""A log goes to a phone as one page, a row is written there, and it comes back to the desk."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from support.pocket_page import turn_to, type_row

pytestmark = pytest.mark.browser


def test_a_row_written_on_the_phone_comes_back_to_the_log(
    browser_page: Callable[..., Any], tmp_path: Path
) -> None:
    page = browser_page(390)
    page.get_by_text("example", exact=False).first.click()
    page.wait_for_url("**/logs/**")
    log = page.url
    page.wait_for_selector(".rows .row")
    rows = page.locator(".rows .row").count()
    page.goto(f"{log}/sheets")
    with page.expect_download() as handed:
        page.get_by_role("link", name="Pocket page for a phone").click()
    file = tmp_path / "pocket.html"
    handed.value.save_as(file)
    phone = page.context.new_page()
    phone.goto(file.as_uri())
    type_row(phone, "52", "330", "[at Far bank]")
    turn_to(phone, "more")
    phone.get_by_role("button", name="Send to the desk").click()
    phone.wait_for_url("**/from-phone**")
    assert "rows came" in phone.inner_text("#phone-told")
    phone.get_by_role("button", name="Keep it").click()
    phone.wait_for_url("**/logs/**")
    assert phone.url == log
    assert "1 new row taken in" in phone.inner_text("main")
    page.goto(log)
    page.wait_for_selector(".rows .row")
    assert rows > 3 and page.locator(".rows .row").count() == rows + 1
