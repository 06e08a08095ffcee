"""A course among posts in a real browser: on a phone, without scripts, and over a power cut."""

from __future__ import annotations

from typing import Any

import pytest

from support.made_posts import thrown_posts

pytestmark = pytest.mark.slow

LONG_MS = 60_000


def fill_in(page: Any, posts: int, side_m: float, learners: int, legs: int) -> None:
    page.goto("/class/courses/new/posts")
    rows = [
        f"{post.name},{post.place_m[0]:.0f},{post.place_m[1]:.0f}" for post in thrown_posts(posts, 5, side_m)
    ]
    page.fill("#posts", "\n".join(["name,east_m,north_m", *rows]))
    page.fill("#learners", str(learners))
    page.fill("#legs", str(legs))


@pytest.mark.parametrize("with_scripts", [True, False])
def test_the_page_goes_on_to_the_course_by_itself(browser_page, with_scripts):
    page = browser_page(390, java_script_enabled=with_scripts)
    fill_in(page, posts=14, side_m=2500.0, learners=4, legs=3)
    page.click("main summary")
    page.fill("#shortest_lane_m", "1000")
    assert page.locator("body").bounding_box()["width"] <= 390
    page.click("button:has-text('Set the course')")
    page.wait_for_selector("h2:has-text('Plan')", timeout=LONG_MS)
    assert "A posts course of 4 cards and 14 posts" in page.inner_text("main")


def test_a_course_that_a_power_cut_interrupts_is_gone_and_the_page_says_so(browser_page, new_desk):
    server = new_desk()
    page = browser_page(1440, server=server)
    fill_in(page, posts=40, side_m=4000.0, learners=60, legs=8)
    page.click("button:has-text('Set the course')")
    page.wait_for_selector("#setting")
    server.kill()
    again = new_desk(port=server.port)
    page.wait_for_selector("text=This course is not being set any more", timeout=LONG_MS)
    page.click("main a:has-text('Class')")
    page.wait_for_selector("h1:text-is('Class')")
    assert "Posts course" not in page.inner_text("main")
    assert again.process.poll() is None
