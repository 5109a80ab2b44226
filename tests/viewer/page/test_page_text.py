"""The page as a text: what is in it, what must not be, and that names are never markup."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from typing import Final

import pytest

from optimizer.errors import DrawingError
from optimizer.plan import Candidate, Piece
from optimizer.units import format_money
from tests.viewer.page.made_job import WILD_NAME, build_pictures, made_plan, made_site
from viewer.page.client_page import MOST_BYTES, PageWish, build_page
from viewer.page.pictures import PAGE_VIEWS, Picture
from viewer.page.words import read_words

BOTH: Final = PageWish(("en", "es"))
VOID: Final = {"meta", "link", "input", "img"}


class Reader(HTMLParser):
    """Elements, what stands in them, and whether all are closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.starts: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.starts.append((tag, dict(attrs)))
        if tag not in VOID and not tag.startswith("path"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.starts.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.texts.append((self.open[-1] if self.open else "", data))


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


@pytest.fixture(scope="module")
def text() -> str:
    return build_page(made_plan(), made_site(), BOTH, build_pictures(3)).text


@pytest.fixture(scope="module")
def reader(text: str) -> Reader:
    return read(text)


def find_facts(reader: Reader) -> dict[str, object]:
    (found,) = [data for tag, data in reader.texts if tag == "script" and data.startswith('{"words"')]
    facts: dict[str, object] = json.loads(found)
    return facts


def test_the_same_plan_gives_the_same_page(text: str) -> None:
    assert build_page(made_plan(), made_site(), BOTH, build_pictures(3)).text == text


def test_nothing_is_asked_of_anybody(reader: Reader) -> None:
    for tag, attributes in reader.starts:
        for name in ("src", "href"):
            assert (attributes.get(name) or "#").startswith(("data:", "#")), (tag, attributes)
    (policy,) = [a["content"] for _, a in reader.starts if a.get("http-equiv") == "Content-Security-Policy"]
    script = next(data for tag, data in reader.texts if tag == "script" and "three" in data.lower())
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert policy == (
        f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-{digest}'"
    )


def test_the_licence_of_what_is_bundled_stands_in_the_file(text: str) -> None:
    notice = r"@license[\s*]+Copyright 2010-\d{4} Three\.js Authors[\s*]+SPDX-License-Identifier: MIT"
    assert re.search(notice, text)


def test_no_name_of_the_site_goes_in_unasked(text: str) -> None:
    assert "Nook" not in text
    titled = build_page(made_plan(), made_site(), PageWish(("en",), title="For <b>you</b>"), ()).text
    assert "<h1>For &lt;b&gt;you&lt;/b&gt;</h1>" in titled
    assert "<title>For &lt;b&gt;you&lt;/b&gt;</title>" in titled


def test_a_name_with_markup_is_a_name(text: str, reader: Reader) -> None:
    ways = find_facts(reader)["ways"]
    assert isinstance(ways, list)
    cards = ways[0]["cards"]
    assert cards[f"obstacle: {WILD_NAME}"]["name"] == WILD_NAME
    assert [tag for tag, attributes in reader.starts if "onerror" in attributes] == []
    assert text.count("</script") == 3
    assert "<img src=x" not in text


def test_every_candidate_has_its_figures_in_both_languages_without_a_script(text: str) -> None:
    plain = text.partition('id="facts"')[0]
    for number, candidate in enumerate(made_plan().candidates, start=1):
        article = plain[plain.index(f'<article id="way-{number}"') :].partition("</article>")[0]
        assert format_money(candidate.price_cents, "USD") in article
        assert "1 up for 12 along" in article
        assert "sube 1 en 12 de largo" in article
    for word in ("Straight", "Recta", "Folded back", "De ida y vuelta", "One turn", "Una vuelta"):
        assert f">{word}</span>" in plain


def test_no_number_has_more_than_two_decimals(reader: Reader) -> None:
    shown = " ".join(data for tag, data in reader.texts if tag not in ("script", "style"))
    assert re.findall(r"\d+[.,]\d{4,}", shown) == []


def test_a_way_that_misses_a_limit_says_so(text: str) -> None:
    articles = text.partition('id="facts"')[0].split("<article ")[1:]
    failed = [sum(f.verdict == "fails" for f in candidate.findings) for candidate in made_plan().candidates]
    said = [re.search(r"misses (\d+) of the limits", article) for article in articles]
    assert [0 if match is None else int(match.group(1)) for match in said] == failed


def test_heights_that_are_not_sure_are_told() -> None:
    plan = made_plan()
    ground = plan.ground.model_copy(update={"warning": "two marks only"})
    unsure = build_page(plan.model_copy(update={"ground": ground}), made_site(), PageWish(("en",)), ()).text
    sentence = read_words("en").say("heights_unsure")
    assert unsure.partition('id="facts"')[0].count(sentence) == 3


def test_it_is_no_approval_and_the_crew_is_warned(text: str) -> None:
    plain = text.partition('id="facts"')[0]
    for word in ("not an approval", "local code", "licensed professionals", "gloves", "eye protection"):
        assert word in plain
    assert not re.search(r"\b(compliant|certified|guaranteed|approved)\b", plain)


def test_one_language_alone_has_no_switch() -> None:
    alone = build_page(made_plan(), made_site(), PageWish(("es",)), ()).text
    assert '<html lang="es">' in alone
    assert "Su rampa" in alone
    assert "Your ramp" not in alone
    assert 'class="languages"' not in alone


def test_without_pictures_the_page_says_so(text: str) -> None:
    sentence = read_words("en").say("no_pictures")
    assert sentence not in text.partition('id="facts"')[0]
    bare = build_page(made_plan(), made_site(), BOTH, ()).text
    assert sentence in bare.partition('id="facts"')[0]
    assert "<img" not in bare.partition('id="facts"')[0]


def test_north_is_drawn_only_where_it_was_told(text: str) -> None:
    assert 'id="north"' not in text.partition('id="facts"')[0]
    told = build_page(made_plan(), made_site(), PageWish(("en",), north_deg=90.0), ()).text
    assert 'id="north"' in told
    assert '"north":1.5707963267948966' in told


def test_pictures_give_way_before_the_file_is_too_large() -> None:
    large = bytes(1_100_000)
    pictures = tuple(Picture(0, view, large) for view in PAGE_VIEWS)
    page = build_page(made_plan(), made_site(), BOTH, pictures)
    assert len(page.text.encode()) <= MOST_BYTES
    assert page.notes == ("pictures left out to keep the file small: 1",)
    assert page.text.count("data:image/webp") == 2


def test_a_plan_without_candidates_is_refused() -> None:
    with pytest.raises(DrawingError, match="no candidate"):
        build_page(made_plan().model_copy(update={"candidates": ()}), made_site(), BOTH, ())


def lengthen(candidate: Candidate, pieces: int) -> Candidate:
    """The same candidate with copies of its pieces, legs and rails further out, to so many pieces."""
    times = -(-pieces // len(candidate.pieces))
    every: list[Piece] = []
    legs, rails = [], []
    for copy in range(times):
        off = 1.5 * copy

        def move(point: tuple[float, float, float], off: float = off) -> tuple[float, float, float]:
            return point[0] + 0.1 * off, point[1] + off, point[2]

        for piece in candidate.pieces:
            corners = tuple(move(corner) for corner in piece.corners_m)
            every.append(piece.model_copy(update={"id": f"{piece.id}-{copy}", "corners_m": corners}))
        for leg in candidate.legs:
            x, y, _ = move((leg.x_m, leg.y_m, 0.0))
            moved = {"id": f"{leg.id}-{copy}", "piece": f"{leg.piece}-{copy}", "x_m": x, "y_m": y}
            legs.append(leg.model_copy(update=moved))
        for rail in candidate.rails:
            line = tuple(move(end) for end in rail.line_m)
            moved_rail = {"id": f"{rail.id}-{copy}", "piece": f"{rail.piece}-{copy}", "line_m": line}
            rails.append(rail.model_copy(update=moved_rail))
    return candidate.model_copy(update={"pieces": tuple(every), "legs": tuple(legs), "rails": tuple(rails)})


def test_sixty_pieces_in_four_candidates_fit_into_the_file() -> None:
    plan = made_plan()
    long = tuple(lengthen(one, 60) for one in (*plan.candidates, plan.candidates[0]))
    assert min(len(one.pieces) for one in long) >= 60
    page = build_page(plan.model_copy(update={"candidates": long}), made_site(), BOTH, build_pictures(4))
    assert len(page.text.encode()) < MOST_BYTES
    assert page.notes == ()
