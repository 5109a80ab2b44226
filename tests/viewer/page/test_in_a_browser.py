"""The client's page as a telephone shows it: offline, with fingers, without scripts, asked by a stranger.

The browser is Debian's Chromium with software drawing.  What is tapped is compared with the plan itself,
printed by ``format_length``, never with the page's own JSON.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser

from optimizer.fit_words import show_leg_height
from optimizer.plan import Candidate
from optimizer.units import format_length, format_money
from tests.viewer.page.browser import Phone, open_browser, open_page
from tests.viewer.page.made_job import WILD_NAME, build_pictures, made_plan, made_site
from viewer.page.client_page import PageWish, build_page

pytestmark = pytest.mark.needs_browser


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "ramp.html"
    page = build_page(made_plan(), made_site(), PageWish(("en", "es"), north_deg=0.0), build_pictures(3))
    path.write_text(page.text, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with open_browser() as opened:
        yield opened


@pytest.fixture
def phone(browser: Browser, file: Path) -> Iterator[Phone]:
    with open_page(browser, file) as opened:
        yield opened


@pytest.fixture(scope="module")
def straight() -> Candidate:
    return made_plan().candidates[0]


def show_length(length_m: float) -> str:
    display = made_site().display
    return format_length(length_m, display.system, display.step_m)


def tallest(candidate: Candidate) -> tuple[str, str]:
    leg = max((leg for leg in candidate.legs if leg.kind == "leg"), key=lambda leg: leg.height_m)
    return leg.id, show_leg_height(made_site(), leg)


def middle_of_stage(phone: Phone) -> tuple[float, float]:
    box = phone.page.locator("#stage canvas").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0


def tap_something_empty(phone: Phone) -> None:
    box = phone.page.locator("#stage canvas").bounding_box()
    assert box is not None
    phone.touch(((box["x"] + 4.0, box["y"] + 4.0),))


def test_it_asks_nobody_and_complains_of_nothing(phone: Phone, file: Path) -> None:
    for view in ("street", "door", "above", "all"):
        phone.page.tap(f'[data-view="{view}"]')
    for number in range(3):
        phone.page.tap(f'nav [data-way="{number}"]')
    phone.page.tap('label[for="language-es"]')
    phone.page.wait_for_timeout(300)
    assert phone.requests == [file.as_uri()]
    assert phone.complaints == []


def test_one_finger_turns_and_the_page_stays(phone: Phone) -> None:
    x, y = middle_of_stage(phone)
    before = phone.eye()
    phone.touch(tuple((x + 12.0 * step, y) for step in range(9)))
    after = phone.eye()
    assert math.dist(before[:2], after[:2]) > 0.5
    assert abs(before[2] - after[2]) < 1e-6
    assert phone.page.evaluate("window.scrollY") == 0
    assert phone.page.locator("#card").is_hidden()


def test_two_fingers_come_nearer(phone: Phone) -> None:
    x, y = middle_of_stage(phone)
    target = "(() => window.evenfall.eye())()"
    before = phone.page.evaluate(target)
    apart = tuple((x - 20.0 - 10.0 * step, y) for step in range(8))
    phone.touch(apart, tuple((2.0 * x - px, y) for px, _ in apart))
    after = phone.page.evaluate(target)
    # The eye came down and nearer along its line of sight: seen from above and in front, it is lower.
    assert after[2] < before[2] - 0.3
    assert phone.page.evaluate("window.visualViewport.scale") == 1


def test_a_tap_tells_the_part_with_the_plans_numbers(phone: Phone, straight: Candidate) -> None:
    found = 0
    for leg in straight.legs:
        spot = phone.spot(leg.id)
        if spot is None:
            continue
        phone.touch((spot,))
        assert phone.page.get_attribute("#card", "data-shown") == leg.id
        word = "Leg" if leg.kind == "leg" else "Low support"
        assert phone.page.inner_text("#card h3") == f"{word} {leg.id}"
        assert phone.page.inner_text("#card dd") == show_leg_height(made_site(), leg)
        tap_something_empty(phone)
        found += 1
    assert found >= 3


def test_every_section_and_landing_can_be_tapped_from_above(phone: Phone) -> None:
    phone.page.tap('[data-view="above"]')
    for number, candidate in enumerate(made_plan().candidates):
        phone.page.tap(f'nav [data-way="{number}"]')
        phone.page.wait_for_timeout(250)
        for piece in candidate.pieces:
            if piece.kind not in ("section", "landing"):
                continue
            spot = phone.spot(piece.id)
            assert spot is not None, piece.id
            phone.touch((spot,))
            assert phone.page.get_attribute("#card", "data-shown") == piece.id
            upper, side, _, lower = piece.corners_m
            numbers = phone.page.locator("#card dd").all_inner_texts()
            assert numbers[:2] == [show_length(math.dist(upper, lower)), show_length(math.dist(upper, side))]
            phone.page.tap("#card button")
            assert phone.page.locator("#card").is_hidden()


def test_a_name_with_markup_is_shown_as_it_was_written(phone: Phone) -> None:
    spot = phone.spot(f"obstacle: {WILD_NAME}")
    if spot is None:
        phone.page.tap('[data-view="above"]')
        phone.page.wait_for_timeout(300)
        x, y = middle_of_stage(phone)
        phone.touch(*(tuple((x + side * (90.0 - 9.0 * step), y) for step in range(8)) for side in (-1, 1)))
        spot = phone.spot(f"obstacle: {WILD_NAME}")
    assert spot is not None
    phone.touch((spot,))
    assert phone.page.inner_text("#card h3") == WILD_NAME
    assert phone.page.locator("#card img").count() == 0
    assert phone.complaints == []


def test_words_over_the_picture_never_lie_on_each_other(phone: Phone) -> None:
    seen = 0
    for number in range(3):
        phone.page.tap(f'nav [data-way="{number}"]')
        for view in ("all", "street", "door", "above"):
            phone.page.tap(f'[data-view="{view}"]')
            phone.page.wait_for_timeout(400)
            boxes = phone.page.evaluate(
                "[...document.querySelectorAll('#labels > span')]"
                ".filter(l => getComputedStyle(l).visibility === 'visible')"
                ".map(l => l.getBoundingClientRect()).map(b => [b.left, b.top, b.right, b.bottom])"
            )
            seen += len(boxes)
            for place, (left, top, right, bottom) in enumerate(boxes):
                assert left >= 0
                assert right <= 390
                for other in boxes[:place]:
                    apart = right <= other[0] or left >= other[2] or bottom <= other[1] or top >= other[3]
                    assert apart
    assert seen >= 12


def test_a_stranger_finds_the_cheaper_one_at_a_glance(phone: Phone) -> None:
    # No action at all: both prices stand on the first page, beside their shape.
    rows = [re.split(r"\n+", text) for text in phone.page.locator("nav a").all_inner_texts()]
    prices = {row[1]: row[2] for row in rows}
    plan = made_plan()
    assert prices["Straight"] == format_money(plan.candidates[0].price_cents, "USD")
    assert prices["Folded back"] == format_money(plan.candidates[1].price_cents, "USD")


def test_a_stranger_finds_the_tallest_leg_in_three_actions(phone: Phone) -> None:
    folded = made_plan().candidates[1]
    leg, height = tallest(folded)
    phone.page.tap('nav a:has-text("Folded back")')
    phone.page.tap('article.chosen button:has-text("show it")')
    assert phone.page.get_attribute("#card", "data-shown") == leg
    assert phone.page.inner_text("#card dd") == height


def test_a_stranger_finds_how_steep_in_one_action(phone: Phone) -> None:
    phone.page.tap('nav a:has-text("One turn")')
    figures = phone.page.inner_text("article.chosen dl")
    assert re.search(r"How steep\s+1 up for 12 along", figures)


def test_the_other_language_is_one_tap_away_also_on_an_open_card(phone: Phone, straight: Candidate) -> None:
    leg, height = tallest(straight)
    phone.page.tap("article.chosen [data-part]")
    phone.page.evaluate("window.scrollTo(0, 0)")
    phone.page.tap('label[for="language-es"]')
    assert phone.page.inner_text("h1") == "Su rampa"
    assert phone.page.inner_text("#card h3") == f"Pata {leg}"
    assert phone.page.inner_text("#card dd") == height
    assert phone.page.get_attribute("html", "lang") == "es"
    assert "Your ramp" not in phone.page.inner_text("body")


def test_the_door_view_shows_the_ramp_and_not_the_wall(phone: Phone) -> None:
    phone.page.tap('[data-view="door"]')
    phone.page.wait_for_timeout(400)
    picture = Image.open(io.BytesIO(phone.page.locator("#stage").screenshot())).convert("RGB")
    pixels = np.asarray(picture, dtype=np.int64)
    # Decks are blue, landings ochre, the wall is plaster: told apart by their hues.
    blue = (pixels[:, :, 2] > pixels[:, :, 0] + 30).mean()
    ochre = (pixels[:, :, 0] > pixels[:, :, 2] + 70).mean()
    assert blue + ochre > 0.08


def test_without_scripts_figures_and_pictures_are_there(browser: Browser, file: Path) -> None:
    with open_page(browser, file, scripts=False) as plain:
        body = plain.page.inner_text("body")
        for candidate in made_plan().candidates:
            assert body.count(format_money(candidate.price_cents, "USD")) == 2
            assert tallest(candidate)[1] in body
        assert body.count("1 up for 12 along") == 6
        assert "Your ramp" in body
        assert "Su rampa" not in body
        assert plain.page.locator("#stage img").is_visible()
        assert plain.page.locator("#stage canvas").is_hidden()
        assert plain.page.locator("article").count() == 3
        for article in plain.page.locator("article").all():
            assert article.is_visible()
        plain.page.tap('label[for="language-es"]')
        assert "Su rampa" in plain.page.inner_text("body")
        assert "Your ramp" not in plain.page.inner_text("body")
        assert plain.requests == [file.as_uri()]


@pytest.mark.parametrize("size", [(390, 844), (1366, 800)])
def test_nothing_reaches_beyond_the_screen(browser: Browser, file: Path, size: tuple[int, int]) -> None:
    with open_page(browser, file, size) as opened:
        assert opened.page.evaluate("document.documentElement.scrollWidth") <= size[0]
        for button in opened.page.locator("button:visible, nav a, .languages label").all():
            box = button.bounding_box()
            assert box is not None
            assert min(box["width"], box["height"]) >= 44
