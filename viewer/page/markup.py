"""The plain part of the client's page: pictures, figures and cautions, which need no script.

Every text stands in every language; a radio button says which is seen, by style alone.  All that
comes from files is escaped.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from html import escape
from typing import Final

from optimizer.brief.site import Site
from optimizer.fit_words import show_leg_height
from optimizer.plan import Candidate, Plan
from optimizer.units import format_money
from viewer.facts import build_words
from viewer.page.key_figures import KeyFigures, format_long, format_run
from viewer.page.pictures import PAGE_VIEWS, PageView, Picture
from viewer.page.words import Words

VIEW_BUTTONS: Final = ("all", "street", "door", "above")
CAUTIONS: Final = ("caution_approval", "caution_measured", "caution_push", "caution_crew")


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the plain page tells of: a plan on its site, the languages, the first one shown first."""

    plan: Plan
    site: Site
    words: tuple[Words, ...]
    title: str
    figures: tuple[KeyFigures, ...]
    pictures: tuple[Picture, ...]
    has_north: bool
    is_coarse: bool


def tell(words: tuple[Words, ...], key: str, value: str = "") -> str:
    """One text in every language, each in an element that says which."""
    return "".join(
        f'<span class="t" lang="{one.language}">{escape(one.say(key, value))}</span>' for one in words
    )


def draw_body(sheet: Sheet) -> str:
    """Everything inside ``body`` but the scripts."""
    ways = "".join(_draw_way(sheet, number) for number in range(len(sheet.figures)))
    return (
        _draw_language_choices(sheet.words)
        + _draw_header(sheet)
        + f"<main>{_draw_stage(sheet)}"
        + f'<div class="side">{_draw_choice(sheet)}{ways}</div></main>'
        + _draw_cautions(sheet)
    )


def draw_language_style(words: tuple[Words, ...]) -> str:
    """Which texts are hidden under which choice."""
    hidden = [
        f"#language-{shown.language}:checked~* .t[lang={other.language}]"
        for shown in words
        for other in words
        if other is not shown
    ]
    chosen = [
        f'#language-{one.language}:checked~header label[for="language-{one.language}"]' for one in words
    ]
    focused = [rule.replace(":checked", ":focus-visible") for rule in chosen]
    style = (
        f"{','.join(chosen)}{{background:#1f5c85;color:#fff}}{','.join(focused)}{{outline:3px solid #2b3138}}"
    )
    return f"{','.join(hidden)}{{display:none}}{style}" if hidden else style


def _draw_language_choices(words: tuple[Words, ...]) -> str:
    return "".join(
        f'<input class="unseen" type="radio" name="language" value="{one.language}" '
        f'id="language-{one.language}"{" checked" if one is words[0] else ""}>'
        for one in words
    )


def _draw_header(sheet: Sheet) -> str:
    title = escape(sheet.title) if sheet.title else tell(sheet.words, "title")
    labels = "".join(
        f'<label for="language-{one.language}" lang="{one.language}">{escape(one.say("language"))}</label>'
        for one in sheet.words
    )
    switch = f'<div class="languages">{labels}</div>' if len(sheet.words) > 1 else ""
    return f"<header><h1>{title}</h1>{switch}</header>"


def _draw_stage(sheet: Sheet) -> str:
    buttons = "".join(
        f'<button type="button" data-view="{view}" aria-pressed="false">'
        f"{tell(sheet.words, f'view_{view}')}</button>"
        for view in VIEW_BUTTONS
    )
    north = ""
    if sheet.has_north:
        arrow = (
            '<svg viewBox="-10 -24 20 30" width="20" height="30" aria-hidden="true">'
            '<path d="M0-22 9 4 0-2-9 4Z" fill="#2b3138"/></svg>'
        )
        north = f'<div id="north"><b>{tell(sheet.words, "north")}</b>{arrow}</div>'
    picture = _draw_picture(sheet, 0, "all")
    notes = "" if picture else f"<p>{tell(sheet.words, 'no_pictures')}</p>"
    coarse = f"<p>{tell(sheet.words, 'coarse_ground')}</p>" if sheet.is_coarse else ""
    return (
        '<section class="seen">'
        f'<div id="stage">{picture}<canvas tabindex="-1"></canvas><div id="labels"></div>{north}'
        '<aside id="card" hidden><button type="button">&#215;</button><h3></h3><p></p><dl></dl></aside></div>'
        f'<div class="views">{buttons}</div>'
        f'<p class="hint turning-only">{tell(sheet.words, "hint")}</p>'
        f'<p id="no-turning" hidden>{tell(sheet.words, "no_turning")}</p>'
        f"<noscript><p>{tell(sheet.words, 'no_scripts')}</p></noscript>{notes}{coarse}</section>"
    )


def _draw_picture(sheet: Sheet, number: int, view: PageView) -> str:
    """A picture as an element, empty where there is none."""
    for one in sheet.pictures:
        if one.candidate == number and one.view == view:
            content = base64.b64encode(one.content).decode("ascii")
            alt = escape(sheet.words[0].say(f"alt_{view}", str(number + 1)))
            return f'<img src="data:image/webp;base64,{content}" alt="{alt}" width="1200" height="800">'
    return ""


def _draw_choice(sheet: Sheet) -> str:
    count = len(sheet.figures)
    ways = tell(sheet.words, "ways_one") if count == 1 else tell(sheet.words, "ways", str(count))
    rows = "".join(_draw_choice_row(sheet, number) for number in range(count))
    return f'<nav><h2>{ways}</h2><div class="choices">{rows}</div></nav>'


def _draw_choice_row(sheet: Sheet, number: int) -> str:
    figures = sheet.figures[number]
    alike = sum(one.shape == figures.shape and one.turns == figures.turns for one in sheet.figures)
    # Where two ways have one name, how each goes tells them apart.
    route = f'<span class="route">{_tell_way(sheet.words, figures.way)}</span>' if alike > 1 else ""
    return (
        f'<a href="#way-{number + 1}" data-way="{number}"><b class="number">{number + 1}</b>'
        f'<span class="shape">{_tell_shape(sheet, figures)}</span>'
        f'<span class="price">{format_money(figures.price_cents, sheet.plan.currency)}</span>'
        f'<span class="short">{_tell_slope(sheet, figures)} &#183; '
        f"{format_long(figures.walk_m, sheet.site)}</span>{route}</a>"
    )


def _tell_shape(sheet: Sheet, figures: KeyFigures) -> str:
    return tell(sheet.words, figures.shape, str(figures.turns))


def _tell_slope(sheet: Sheet, figures: KeyFigures) -> str:
    run = format_run(figures.slope)
    return tell(sheet.words, "slope_value", run) if run else tell(sheet.words, "level")


def _tell_way(words: tuple[Words, ...], way: tuple[str, ...]) -> str:
    """How it leaves the door and turns: 'Straight out from the door, then left.'."""
    return "".join(
        f'<span class="t" lang="{one.language}">{escape(", ".join(one.say(key) for key in way))}.</span>'
        for one in words
    )


def _draw_way(sheet: Sheet, number: int) -> str:
    figures, candidate = sheet.figures[number], sheet.plan.candidates[number]
    views = PAGE_VIEWS if number else PAGE_VIEWS[1:]
    drawn = [(view, _draw_picture(sheet, number, view)) for view in views]
    pictures = "".join(
        f"<figure>{picture}<figcaption>{tell(sheet.words, f'view_{view}')}</figcaption></figure>"
        for view, picture in drawn
        if picture
    )
    return (
        f'<article id="way-{number + 1}" data-way="{number}">'
        f'<h2><b class="number">{number + 1}</b> {_tell_shape(sheet, figures)}</h2>'
        f"<p>{_tell_way(sheet.words, figures.way)}<small>{tell(sheet.words, 'as_seen')}</small></p>"
        f"{_draw_warnings(sheet, figures)}"
        f"<dl>{_draw_figures(sheet, candidate, figures)}</dl>{pictures}</article>"
    )


def _draw_warnings(sheet: Sheet, figures: KeyFigures) -> str:
    warnings = []
    if figures.unmet:
        warnings.append(tell(sheet.words, "unmet", str(figures.unmet)))
    if sheet.plan.ground.warning:
        warnings.append(tell(sheet.words, "heights_unsure"))
    return "".join(f'<p class="warning">{warning}</p>' for warning in warnings)


def _draw_figures(sheet: Sheet, candidate: Candidate, figures: KeyFigures) -> str:
    words, currency = sheet.words, sheet.plan.currency
    units = build_words(sheet.site, candidate)
    rows = [(tell(words, "price"), f"<strong>{format_money(figures.price_cents, currency)}</strong>")]
    if figures.tax_cents:
        kind = "price_with_delivery" if figures.has_delivery else "price_without_delivery"
        before = figures.price_cents - figures.tax_cents
        rows.append((tell(words, kind), format_money(before, currency)))
        rows.append((tell(words, "price_tax"), format_money(figures.tax_cents, currency)))
    slope = f"<strong>{_tell_slope(sheet, figures)}</strong><small>{tell(words, figures.push)}</small>"
    rows += [
        (tell(words, "steepness"), slope),
        (tell(words, "steps"), tell(words, figures.steps)),
        (tell(words, "walk"), format_long(figures.walk_m, sheet.site)),
        (tell(words, "stretch"), format_long(figures.stretch_m, sheet.site)),
        (tell(words, "rise"), units.length(figures.rise_m)),
        (tell(words, "landings"), str(figures.landings)),
    ]
    if figures.tallest is not None:
        leg = figures.tallest
        button = (
            f'<button type="button" class="turning-only" data-part="{escape(leg.id)}">'
            f"{tell(words, 'show_it')}</button>"
        )
        rows.append((tell(words, "tallest"), f"{show_leg_height(sheet.site, leg)} {button}"))
    drawn = "".join(f"<dt>{label}</dt><dd>{value}</dd>" for label, value in rows)
    dated = tell(words, "price_dated", sheet.plan.site.rates_dated)
    return f"{drawn}<dt></dt><dd><small>{dated}</small></dd>" if sheet.plan.site.rates_dated else drawn


def _draw_cautions(sheet: Sheet) -> str:
    lines = "".join(f"<li>{tell(sheet.words, key)}</li>" for key in CAUTIONS)
    return f"<footer><h2>{tell(sheet.words, 'cautions')}</h2><ul>{lines}</ul></footer>"
